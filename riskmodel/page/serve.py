"""Starts the page's own server, from the source tree or installed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

_HERE = Path(__file__).resolve().parent


def script() -> Path:
    """The script that the server runs; its settings lie in .streamlit beside it."""
    packed = _HERE / "app.py"
    return packed if packed.exists() else _HERE.parents[1] / "app.py"


def serve(port: int | None = None) -> int:
    """Runs the server until it is stopped; its exit status."""
    command = [sys.executable, "-m", "streamlit", "run", str(script())]
    if port is not None:
        command += ["--server.port", str(port)]
    return subprocess.call(command)
