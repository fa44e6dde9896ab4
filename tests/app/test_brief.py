"""What a user asks for becomes a run, for every door alike."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from briefing.app.assembly import App
from briefing.app.brief import Asked, next_day, run_of
from briefing.errors import InputError, NotFoundError
from briefing.profile.paths import Home

LAKE = """
schema_version = 1
name = "Quillmere Pond"
latitude = 30.61
longitude = -84.22
time_zone = "America/New_York"
craft = "kayak"
"""
NOW = datetime(2026, 4, 18, 2, 0, tzinfo=UTC)  # the evening of the 17th at the lake


@pytest.fixture
def app(tmp_path: Path) -> App:
    made = App(home=Home.from_environment({"BRIEFING_HOME": str(tmp_path)}), clock=lambda: NOW)
    path = made.home.lakes_dir / "quillmere.toml"
    path.parent.mkdir(parents=True)
    path.write_text(LAKE, encoding="utf-8")
    made.home.settings_file.write_text('schema_version = 1\ncontact = "tests@example.org"\n', encoding="utf-8")
    return made


def test_without_a_contact_no_service_is_asked_and_the_page_says_why(app: App) -> None:
    app.home.settings_file.unlink()
    run = run_of(app, Asked())
    assert not run.asks
    assert run.unasked_why == "no contact is set in settings.toml"
    assert run_of(app, Asked(offline=True)).unasked_why == "the run was off line"


def test_the_day_and_the_hours_are_the_lakes(app: App) -> None:
    run = run_of(app, Asked(launch="06:30", back="11:30"))
    assert run.day == date(2026, 4, 17)
    assert run.launch == datetime(2026, 4, 17, 10, 30, tzinfo=UTC)
    assert run.back == datetime(2026, 4, 17, 15, 30, tzinfo=UTC)
    assert run.asks


def test_no_service_is_asked_off_line_or_with_conditions_of_ones_own(app: App) -> None:
    assert not run_of(app, Asked(offline=True)).asks
    app.offline = True
    assert not run_of(app, Asked()).asks
    with app.fetcher() as fetcher:
        assert fetcher is None


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(day="tomorow"), "--date 'tomorow' is no date"),
        (Asked(launch="half six"), "'half six' is no clock time"),
        (Asked(back="11:30"), "--return needs --launch"),
        (Asked(launch="11:30", back="06:30"), "--return 06:30 is not after --launch 11:30"),
    ],
)
def test_what_can_not_be_read_is_refused_in_one_sentence(app: App, asked: Asked, words: str) -> None:
    with pytest.raises(InputError, match=words):
        run_of(app, asked)


def test_a_lake_that_is_not_there_is_named(app: App) -> None:
    with pytest.raises(NotFoundError, match="heron"):
        run_of(app, Asked("heron"))
    with pytest.raises(NotFoundError, match="no such file"):
        run_of(app, Asked(conditions=Path("nowhere.toml")))


def test_a_profile_is_read_again_when_its_file_changes(app: App) -> None:
    path = app.lake_path("quillmere")
    first = app.profile_at(path)
    assert app.profile_at(path) is first
    path.write_text(LAKE.replace("kayak", "canoe"), encoding="utf-8")
    assert app.profile_at(path).craft != first.craft


def test_the_day_to_rig_for_turns_at_noon_by_the_lakes_clock(app: App) -> None:
    profile = app.lake("quillmere")
    noon = datetime(2026, 4, 18, 16, 0, tzinfo=UTC)
    assert next_day(noon - timedelta(minutes=1), profile) == date(2026, 4, 18)
    assert next_day(noon + timedelta(minutes=1), profile) == date(2026, 4, 19)
