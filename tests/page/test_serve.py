"""The page's own server: for this computer only, and asking nobody outside."""

from __future__ import annotations

import tomllib

from riskmodel.page.serve import script


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
