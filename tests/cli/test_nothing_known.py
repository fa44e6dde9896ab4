"""A first page without any network: what is not known is told once, in few words, with what to do about it."""

from pathlib import Path

from tests.cli.conftest import Run


def _page(run: Run) -> str:
    result = run("today", "--offline", "--all")
    assert result.exit_code == 0, result.stderr
    return " ".join(result.stdout.split())


def test_one_reason_is_told_once_for_wind_gusts_and_waves(run: Run, pond: Path) -> None:
    page = _page(run)
    assert "Wind, gusts and waves are not known: no source gave a value." in page
    assert "Gusts are not known" not in page
    assert "age of the forecast" not in page.lower(), "a forecast that is not there has no age"


def test_the_missing_forecast_is_one_entry_that_names_all_it_would_tell(run: Run, pond: Path) -> None:
    page = _page(run)
    assert "the forecast of wind, gusts, waves, thunder, heat, visibility" in page
    assert "newer weather" not in page
    assert "a newer forecast" not in page


def test_what_to_do_about_it_is_told(run: Run, pond: Path) -> None:
    page = _page(run)
    assert "What you read elsewhere you can type: briefing conditions add." in page
    assert "Don't launch until that is known" in page


def test_no_place_is_refused_and_named_on_a_condition_at_once(run: Run, pond: Path) -> None:
    page = _page(run)
    assert "Too much is not known for a plan by the clock." in page
    assert "Ashore in these hours: no fishing advice." not in page
    assert "Once that is known and within your limits, places in order" in page


def test_wind_that_was_typed_without_gusts_says_which_is_missing(run: Run, pond: Path) -> None:
    assert run("conditions", "add", "wind S 8 mph; 60 to 70 F; cloud 50%").exit_code == 0
    page = _page(run)
    assert "Wind, gusts and waves are not known" not in page
    assert "Not in what you typed" in page
