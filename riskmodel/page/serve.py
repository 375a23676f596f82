"""Starts the page's own server, from the source tree or installed."""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).resolve().parent
THIS_MACHINE = ("127.0.0.1", "::1", "localhost")


def beyond_this_machine() -> bool:
    """Whether the server listens where other machines can reach it (no address: everywhere)."""
    import streamlit as st

    return st.get_option("server.address") not in THIS_MACHINE


def script() -> Path:
    """The script that the server runs; its settings lie in .streamlit beside it."""
    packed = _HERE / "app.py"
    return packed if packed.exists() else _HERE.parents[1] / "app.py"


def serve(port: int | None = None) -> None:
    """Runs the server in this process until it is stopped."""
    from streamlit.web import cli

    arguments = ["run", str(script())]
    if port is not None:
        arguments += ["--server.port", str(port)]
    cli.main(arguments, standalone_mode=False)
