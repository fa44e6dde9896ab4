"""Wind notes of planned outings: when they go out, in which thread, and that a failed check is itself one."""

from __future__ import annotations

import contextlib
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from briefing.app.brief import Asked
from briefing.app.wind import check_the_wind
from briefing.core.wind.note import NoteKind
from briefing.errors import SourceError
from briefing.service.tick import run_round
from briefing.service.world import World
from briefing.tools.compose import Weather, compose
from tests.service.conftest import Desk
from tests.service.post_office import PostOffice

DAY = date(2026, 4, 18)
CALM = Weather(seed=3, breeze_mps=0.8, peak_mps=2.0, cloud_pct=20, issued_h=1.0)


class Sky:
    """The weather that the next retrieval finds; ``fails`` makes it raise."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.weather, self.fails = desk, CALM, False

    def gather(self, request: object, fetcher: object) -> object:
        if self.fails:
            raise SourceError("The weather service can't be reached.", retryable=True)
        world = self.desk.world
        lake = world.lakes(world.service_settings())[0]
        day = self.desk.at.astimezone(lake.profile.zone).date()
        return compose(lake.profile, world.normals(lake.profile), day, self.desk.at, self.weather, "composed")

    def wind(self, peak_mps: float, peak_clock: str) -> None:
        """Strongest wind of the outing's day at a wall time."""
        peak = datetime.fromisoformat(f"{DAY} {peak_clock}").replace(tzinfo=ZoneInfo("America/New_York"))
        hours = (peak.astimezone(UTC) - self.desk.at) / timedelta(hours=1)
        self.weather = Weather(seed=3, breeze_mps=0.8, peak_mps=peak_mps, peak_h=hours, issued_h=1.0)


@pytest.fixture
def sky(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Sky:
    found = Sky(desk)
    desk.world.offline = False
    monkeypatch.setattr(World, "fetcher", lambda _, **__: contextlib.nullcontext(object()))
    monkeypatch.setattr("briefing.pipeline.run.gather", found.gather)
    return found


def notes(desk: Desk) -> list[tuple[str, str]]:
    return [(row.slot, str(row.detail.get("note"))) for row in desk.rows() if row.kind == "check"]


def test_a_calm_outing_is_checked_and_stays_without_a_note(desk: Desk, sky: Sky) -> None:
    with PostOffice() as office:
        desk.mail(office.port)
        desk.set_clock("2026-04-17 19:00")
        run_round(desk.world)
        desk.plan(DAY, "06:30", "09:30")
        for clock in ("2026-04-17 20:00", "2026-04-18 05:00", "2026-04-18 06:30", "2026-04-18 07:30"):
            desk.set_clock(clock)
            run_round(desk.world)
    assert {note for _, note in notes(desk)} == {"none"}
    assert len(notes(desk)) == 4
    subjects = [letter["Subject"] for letter in office.letters()]
    assert len(subjects) == 1, "the morning's briefing alone"
    assert "Wind notes come when the forecast crosses your limits" in " ".join(
        office.letters()[0].get_body(("plain",)).get_content().split()
    )


def test_wind_over_the_limits_brings_a_note_and_worse_wind_another_in_the_same_thread(desk: Desk, sky: Sky) -> None:
    with PostOffice() as office:
        desk.mail(office.port, to=("one@example.org", "two@example.org"))
        desk.set_clock("2026-04-17 19:00")
        run_round(desk.world)
        desk.plan(DAY, "06:30", "09:30")
        desk.set_clock("2026-04-17 20:00")
        sky.wind(11.0, "09:00")
        run_round(desk.world)
        desk.later(minutes=30)
        run_round(desk.world)
        assert notes(desk) == [("0418T0000Z", "first")]
        desk.set_clock("2026-04-18 05:00")
        sky.wind(16.0, "09:00")
        run_round(desk.world)
        desk.set_clock("2026-04-18 06:30")
        sky.wind(16.0, "09:00")
        run_round(desk.world)
    found = [letter for letter in office.letters() if letter["To"] == "one@example.org"]
    found = [letter for letter in found if "ind" in letter["Subject"] or "Stronger" in letter["Subject"]]
    first, second = (letter for letter in found if "Within" not in letter["Subject"] and "Quill" in letter["Subject"]
                     and ("Wind note" in letter["Subject"] or "Stronger" in letter["Subject"]))  # fmt: skip
    assert second["In-Reply-To"] == first["Message-ID"]
    assert second["References"] == first["Message-ID"]
    assert "No note is not an all-clear" in first.get_body(("plain",)).get_content()
    others = {letter["Message-ID"] for letter in office.letters() if letter["To"] == "two@example.org"}
    assert first["Message-ID"] not in others
    assert notes(desk)[-1] == ("0418T1030Z", "none"), "nothing new, no note"


def test_a_check_that_fails_is_a_note_once(desk: Desk, sky: Sky) -> None:
    with PostOffice() as office:
        desk.mail(office.port)
        desk.set_clock("2026-04-18 05:30")
        run_round(desk.world)
        desk.plan(DAY, "06:30", "09:30")
        sky.fails = True
        for _ in range(110):
            run_round(desk.world)
            desk.later(minutes=1)
    lost = [letter for letter in office.letters() if "Not known any more" in letter["Subject"]]
    assert len(lost) == 1
    text = " ".join(lost[0].get_body(("plain",)).get_content().split())
    assert "The wind could not be checked" in text
    assert "do not launch on an older forecast" in text
    assert [note for _, note in notes(desk)].count("lost") >= 2


def test_who_asks_at_the_terminal_is_told_what_changed_since_the_note_that_was_mailed(desk: Desk, sky: Sky) -> None:
    asked = Asked("quillmere", day=DAY.isoformat())
    desk.home.settings_file.write_text('schema_version = 1\ncontact = "tests@example.org"\n', encoding="utf-8")
    with PostOffice() as office:
        desk.mail(office.port)
        desk.set_clock("2026-04-17 19:00")
        run_round(desk.world)
        desk.plan(DAY, "06:30", "09:30")
        desk.set_clock("2026-04-17 20:00")
        sky.wind(11.0, "09:00")
        run_round(desk.world)
        assert notes(desk) == [("0418T0000Z", "first")]
        desk.later(minutes=10)
        sky.wind(11.0, "09:00")
        same = check_the_wind(desk.world, asked).check
        assert same.decision.kind is NoteKind.NONE, "the mailed note said it already"
        desk.later(minutes=10)
        sky.wind(16.0, "09:00")
        worse = check_the_wind(desk.world, asked).check
        assert worse.decision.kind is NoteKind.STRONGER
        assert worse.decision.changes
        # what was only shown here was read by no one else: the worse wind is mailed all the same
        desk.set_clock("2026-04-18 05:00")
        sky.wind(16.0, "09:00")
        run_round(desk.world)
    assert [note for _, note in notes(desk)] == ["first", "stronger"]


def test_a_note_that_was_refused_does_not_count_as_sent(desk: Desk, sky: Sky) -> None:
    with PostOffice() as office:
        desk.mail(office.port)
        desk.set_clock("2026-04-17 19:00")
        run_round(desk.world)
        desk.plan(DAY, "06:30", "09:30")
        office.answers["rcpt"] = "550 no"
        desk.set_clock("2026-04-17 20:00")
        sky.wind(12.0, "09:00")
        run_round(desk.world)
        desk.later(minutes=10)
        sky.wind(12.0, "09:00")
        shown = check_the_wind(desk.world, Asked("quillmere", day=DAY.isoformat())).check
        assert shown.decision.kind is NoteKind.FIRST, "nor at the terminal"
        office.answers.clear()
        desk.set_clock("2026-04-18 05:00")
        sky.wind(12.0, "09:00")
        run_round(desk.world)
    assert [note for _, note in notes(desk)] == ["first", "first"]


def test_a_called_off_outing_is_checked_no_more(desk: Desk, sky: Sky) -> None:
    from briefing.store.ledger import Ledger

    desk.set_clock("2026-04-17 19:00")
    run_round(desk.world)
    desk.plan(DAY, "06:30", "09:30")
    desk.set_clock("2026-04-17 20:00")
    run_round(desk.world)
    with desk.world.store() as store:
        Ledger(store).cancel_outing(1, desk.at)
    desk.set_clock("2026-04-18 06:31")
    run_round(desk.world)
    assert [slot for slot, _ in notes(desk)] == ["0418T0000Z"]


def test_an_outing_planned_in_the_middle_of_its_checks_misses_none(desk: Desk, sky: Sky) -> None:
    desk.set_clock("2026-04-18 05:40")
    run_round(desk.world)
    desk.plan(DAY, "06:30", "09:30")
    run_round(desk.world)
    desk.set_clock("2026-04-18 10:31")
    run_round(desk.world)
    states = [(row.slot, row.state.value) for row in desk.rows() if row.kind == "check"]
    assert states[0] == ("0418T0900Z", "done"), "the check before the launch is made at once"
    assert "0418T0000Z" not in dict(states), "the one of the evening before was over when the outing was entered"


def test_a_habit_of_the_profile_is_an_outing_and_can_be_skipped(desk: Desk, sky: Sky) -> None:
    from briefing.store.ledger import Ledger
    from briefing.store.ledger_records import NewOuting

    desk.add_lake(extra='[[outings]]\ndays = ["saturday"]\nlaunch = "sunrise -30 min"\nreturn = "10:30"\n')
    desk.set_clock("2026-04-17 19:00")
    run_round(desk.world)
    desk.set_clock("2026-04-17 20:00")
    run_round(desk.world)
    assert len(notes(desk)) == 1
    with desk.world.store() as store:
        Ledger(store).skip_day("quillmere", NewOuting(DAY, desk.at, desk.at), desk.at)
    desk.set_clock("2026-04-18 06:00")
    run_round(desk.world)
    assert len(notes(desk)) == 1
