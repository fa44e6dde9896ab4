"""What a terminal shows while services are asked, and that nothing else sees it."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from briefing.app.assembly import App
from briefing.cli.progress import Waiting, told_while_asking
from briefing.profile.paths import Home


def test_the_line_names_who_is_waited_for_and_counts_who_is_done() -> None:
    waiting = Waiting()
    assert waiting.tell("NWS grid", False) == "Waiting for NWS grid ..."
    assert waiting.tell("Open-Meteo", False) == "Waiting for NWS grid, Open-Meteo ..."
    assert waiting.tell("USGS", False) == "Waiting for NWS grid, Open-Meteo and 1 more ..."
    assert waiting.tell("NWS grid", True) == "Waiting for Open-Meteo, USGS (1 done) ..."
    waiting.tell("Open-Meteo", True)
    assert waiting.tell("USGS", True) == "Asked the weather services (3 done); computing ..."


def test_two_requests_of_one_source_are_waited_for_until_both_are_done() -> None:
    waiting = Waiting()
    waiting.tell("NWS alerts", False)
    waiting.tell("NWS alerts", False)
    assert waiting.tell("NWS alerts", True) == "Waiting for NWS alerts (1 done) ..."


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("terminal", [True, False])
def test_only_a_terminal_is_told(terminal: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen() if terminal else io.StringIO()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    app = App(home=Home.from_environment({"BRIEFING_HOME": str(tmp_path)}))
    with told_while_asking(app):
        assert (app.progress is not None) is terminal
        if app.progress is not None:
            app.progress("NWS grid", False)
    assert app.progress is None
    assert ("Waiting for NWS grid" in screen.getvalue()) is terminal


def test_without_standard_error_nothing_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", None)
    app = App(home=Home.from_environment({"BRIEFING_HOME": str(tmp_path)}))
    with told_while_asking(app):
        assert app.progress is None
