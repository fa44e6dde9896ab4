"""One round after another: due, made once, handed over once, late, missed, told."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from briefing.app.owner import Owner
from briefing.delivery.folder import FolderChannel
from briefing.service import tick
from briefing.service.serve import Health
from briefing.service.tick import make_due, run_round
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import MessageState, OccurrenceState
from tests.service.conftest import Desk
from tests.service.post_office import PostOffice, dead_port

pytestmark = pytest.mark.long


def mornings(desk: Desk) -> list[tuple[date, OccurrenceState]]:
    return [(row.day, row.state) for row in desk.rows() if row.kind == "morning"]


def test_a_morning_is_saved_and_mailed_once(desk: Desk) -> None:
    with PostOffice() as office:
        desk.mail(office.port)
        run_round(desk.world)
        assert office.taken == []
        desk.set_clock("2026-04-17 04:45")
        report = run_round(desk.world)
        assert (report.made, report.sent) == (1, 2)
        for _ in range(3):
            desk.later(seconds=20)
            assert run_round(desk.world).made == 0
    assert [to for to, _ in office.taken] == ["reader@example.org"]
    letter = office.letters()[0]
    assert letter["Message-ID"] == desk.messages()[1].message_id or desk.messages()[0].message_id
    assert mornings(desk) == [(date(2026, 4, 17), OccurrenceState.DONE)]
    saved = sorted(path.name for path in desk.home.briefings_dir.iterdir())
    assert saved == ["quillmere-2026-04-17.html", "quillmere-2026-04-17.json", "quillmere-2026-04-17.txt",
                     "quillmere-latest.html"]  # fmt: skip
    assert "reader@example.org" not in desk.lines.getvalue()


def test_without_mail_the_folder_is_a_full_way_out(desk: Desk) -> None:
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:46")
    run_round(desk.world)
    assert mornings(desk) == [(date(2026, 4, 17), OccurrenceState.DONE)]


def test_a_late_briefing_says_so_and_why(desk: Desk) -> None:
    run_round(desk.world)
    desk.set_clock("2026-04-17 06:52")
    run_round(desk.world)
    text = (desk.home.briefings_dir / "quillmere-2026-04-17.txt").read_text(encoding="utf-8")
    assert "Prepared 06:52, planned 04:45: this computer was asleep" in " ".join(text.split())


def test_days_asleep_are_missed_with_a_reason_and_told_in_the_next_one_only(desk: Desk) -> None:
    run_round(desk.world)
    desk.set_clock("2026-04-20 04:50")
    run_round(desk.world)
    assert mornings(desk) == [
        (date(2026, 4, 17), OccurrenceState.MISSED),
        (date(2026, 4, 18), OccurrenceState.MISSED),
        (date(2026, 4, 19), OccurrenceState.MISSED),
        (date(2026, 4, 20), OccurrenceState.DONE),
    ]
    text = " ".join((desk.home.briefings_dir / "quillmere-2026-04-20.txt").read_text(encoding="utf-8").split())
    assert "3 briefings for 17 April to 19 April were missed: this computer was asleep" in text
    desk.set_clock("2026-04-21 04:50")
    run_round(desk.world)
    text = (desk.home.briefings_dir / "quillmere-2026-04-21.txt").read_text(encoding="utf-8")
    assert "missed" not in text


def test_a_lake_added_today_has_missed_nothing(desk: Desk) -> None:
    desk.set_clock("2026-04-17 14:00")
    run_round(desk.world)
    assert desk.rows() == []


def test_a_refused_recipient_is_not_tried_again_and_the_next_briefing_tells(desk: Desk) -> None:
    with PostOffice() as office:
        desk.mail(office.port)
        office.answers["rcpt"] = "550 no such user <reader@example.org>"
        run_round(desk.world)
        desk.set_clock("2026-04-17 04:45")
        run_round(desk.world)
        desk.later(hours=1)
        assert run_round(desk.world).refused == 0
        row = next(row for row in desk.rows() if row.kind == "morning")
        assert row.state is OccurrenceState.MISSED
        assert "saved in the folder, but not delivered" in row.reason
        assert "reader@example.org" not in row.reason
        office.answers.clear()
        desk.set_clock("2026-04-18 04:45")
        run_round(desk.world)
    assert "550" in office.letters()[0].get_body(("plain",)).get_content()


def test_a_server_that_is_down_is_tried_until_it_is_up_and_what_has_aged_is_made_anew(desk: Desk) -> None:
    with dead_port() as port:
        desk.mail(port)
        run_round(desk.world)
        desk.set_clock("2026-04-17 04:45")
        run_round(desk.world)
        for _ in range(30):
            desk.later(minutes=3)
            run_round(desk.world)
        before = [row for row in desk.messages() if row.channel == "mail"]
        assert [row.state for row in before] == [MessageState.READY]
    assert next(row for row in desk.rows() if row.kind == "morning").revision >= 2, "made anew with newer data"
    with PostOffice() as office:
        desk.mail(office.port)
        for _ in range(14):
            desk.later(minutes=3)
            run_round(desk.world)
    assert len(office.taken) == 1
    assert "Prepared 0" in office.letters()[0].get_body(("plain",)).get_content()


def test_a_broken_lake_file_does_not_stop_the_other_lakes(desk: Desk) -> None:
    desk.add_lake("broken", "Broken", "no_such_field = 1\n")
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:45")
    assert run_round(desk.world).made == 1
    assert [event["lake"] for event in desk.events() if event["event"] == "lake_unreadable"] == ["broken"]


def test_a_clock_that_is_behind_what_was_made_sends_nothing(desk: Desk) -> None:
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:45")
    run_round(desk.world)
    desk.set_clock("2026-04-16 04:45")
    report = run_round(desk.world)
    assert "clock" in report.problem.lower()
    assert report.made == 0


def test_a_clock_stepped_back_an_hour_repeats_nothing(desk: Desk) -> None:
    run_round(desk.world)
    desk.set_clock("2026-04-17 05:00")
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:01")
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:45")
    assert run_round(desk.world).made == 0
    assert len(mornings(desk)) == 1


def test_a_build_that_fails_is_tried_again_and_said(desk: Desk, tmp_path: Path) -> None:
    path = desk.add_lake(extra='shoreline = "missing.geojson"\n')
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:45")
    assert run_round(desk.world).failed == 1
    assert run_round(desk.world).failed == 0, "not before its time"
    desk.later(minutes=2)
    path.write_text(path.read_text().replace('shoreline = "missing.geojson"\n', ""), encoding="utf-8")
    assert run_round(desk.world).made == 1


def test_a_saved_file_that_a_dying_process_left_is_written_by_the_next(
    desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class DiesError(BaseException):
        """The process ends."""

    def dies(*_: object) -> None:
        raise DiesError

    run_round(desk.world)
    desk.set_clock("2026-04-17 04:45")
    with monkeypatch.context() as patch:
        patch.setattr(FolderChannel, "hand_over", dies)
        with Owner(tmp_path / "owners") as first, pytest.raises(DiesError):
            run_round(replace(desk.world, owner=first))
    assert [row.state for row in desk.messages()] == [MessageState.OPENING]
    assert not desk.home.briefings_dir.exists()
    run_round(desk.world)
    assert [row.state for row in desk.messages()] == [MessageState.SENT]
    assert (desk.home.briefings_dir / "quillmere-2026-04-17.html").exists()
    assert [row.state for row in desk.rows() if row.kind == "morning"] == [OccurrenceState.DONE]


def test_a_folder_that_is_full_is_tried_again(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    run_round(desk.world)
    desk.set_clock("2026-04-17 04:45")
    with monkeypatch.context() as patch:
        patch.setattr("briefing.delivery.folder.write_all", full)
        run_round(desk.world)
    (row,) = desk.messages()
    assert row.state is MessageState.READY
    assert "No space left" in row.reply
    desk.later(minutes=5)
    run_round(desk.world)
    assert [row.state for row in desk.messages()] == [MessageState.SENT]


def test_each_lake_is_a_sign_of_life(desk: Desk) -> None:
    desk.add_lake("second", "Second Lake")
    make_due(desk.world)
    desk.set_clock("2026-04-17 04:45")
    health = Health(lambda: desk.at, 30)
    steps: list[bool] = []

    def step() -> None:
        desk.later(minutes=1)
        health.step("make")
        steps.append(health.state()[0])

    make_due(desk.world, step)
    assert steps == [True] * 3  # before the lakes are asked for together, and after each
    desk.later(minutes=2)
    assert not health.state()[0]


def test_a_check_is_dropped_when_its_outing_is_called_off_during_the_round(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.set_clock("2026-04-17 12:00")
    desk.plan(date(2026, 4, 18), "06:30", "11:30")
    make_due(desk.world)
    monkeypatch.setattr(tick, "standing_outing", lambda *_: None)  # called off after the round looked
    desk.set_clock("2026-04-18 05:00")
    made = make_due(desk.world)
    with desk.world.store() as store:
        rows = Ledger(store).of_outing("quillmere", date(2026, 4, 18), "check")
    assert rows == [] or all(row.state not in (OccurrenceState.BUILT, OccurrenceState.DONE) for row, _ in rows)
    assert made.failed == 0


def test_transactions_of_one_thread_join(desk: Desk) -> None:
    with desk.world.store() as store:
        with store.together():
            with store.together():
                store.set_learned("quillmere", "a", 1, desk.at)
            store.set_learned("quillmere", "b", 2, desk.at)
        assert (store.learned("quillmere", "a"), store.learned("quillmere", "b")) == (1, 2)
