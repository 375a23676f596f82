"""The page's own server: for this computer only, and asking nobody outside."""

from __future__ import annotations

import tomllib

import pytest
import streamlit as st

from riskmodel.page.serve import beyond_this_machine, script
from riskmodel.words import screen
from tests.page.conftest import Page


def test_the_script_and_its_settings_lie_side_by_side() -> None:
    assert script().is_file()
    assert (script().parent / ".streamlit" / "config.toml").is_file()


def test_the_settings_keep_the_page_private() -> None:
    settings = tomllib.loads((script().parent / ".streamlit" / "config.toml").read_text())
    assert settings["server"]["address"] == "127.0.0.1"
    assert set(settings["server"]["allowedHosts"]) == {"127.0.0.1", "localhost"}
    assert settings["browser"]["gatherUsageStats"] is False
    assert settings["client"]["showErrorDetails"] == "none"
    assert settings["client"]["showErrorLinks"] is False


@pytest.mark.parametrize("address", ["0.0.0.0", "192.0.2.7", None, "127.0.0.1", "localhost"])
def test_a_page_that_others_can_reach_says_so(
    address: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = st.get_option

    def option(name: str) -> object:
        return address if name == "server.address" else asked(name)

    monkeypatch.setattr(st, "get_option", option)
    assert beyond_this_machine() is (address not in ("127.0.0.1", "localhost"))
    assert (screen.SERVED_BEYOND in Page().text) is beyond_this_machine()
