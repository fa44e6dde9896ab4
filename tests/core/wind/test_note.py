import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from briefing import knowledge
from briefing.core.alerts import AlertFeed
from briefing.core.wind.alerts import resolve_alerts
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.note import NoteKind, NoteSignature, PlannedOuting, decide_note
from briefing.core.wind.note_text import (
    NOT_ALL_CLEAR,
    FloatPlan,
    _fitting,
    _hour_lines,
    float_plan_text,
    next_check_text,
    note_text,
)
from briefing.vocabulary import Level

RULES = knowledge.load_safety_rules().note


class Watch:
    """Evaluates an outing again and again, as the service does, and keeps what was sent and evaluated."""

    def __init__(self, morning, alerts: Sequence = ()) -> None:
        self.morning = morning
        self.start = morning.inputs().hours.start
        self.outing = PlannedOuting(
            "lake/2026-06-03", "Quiet Lake", self.start + timedelta(hours=1), self.start + timedelta(hours=8)
        )
        self.sent: list[NoteSignature] = []
        self.evaluated: list[NoteSignature] = []
        self.alerts = tuple(alerts)

    def check(
        self, hours_before: float, cycle: int, *, lost: bool = False, thunder=None, wind=None, gust=None, note=True
    ):
        """Evaluate ``hours_before`` the series starts with a forecast of issue number ``cycle``."""
        if wind is not None:
            self.morning.values["wind_mps"] = wind
        if gust is not None:
            self.morning.values["gust_mps"] = gust
        now = self.start - timedelta(hours=hours_before)
        decision = decide_note(
            self.sent,
            self.evaluated,
            self.morning.levels(),
            resolve_alerts(AlertFeed(self.alerts, now, "a", "a"), None, (), now),
            self.outing,
            now,
            RULES,
            issued=self.start - timedelta(hours=24 - 6 * cycle),
            forecast_lost=lost,
            last_thunder=thunder,
            units="us",
        )
        self.evaluated.append(decision.signature)
        if decision.kind is not NoteKind.NONE and note:
            self.sent.append(decision.signature)
        return decision


@pytest.fixture
def watch(morning) -> Watch:
    return Watch(morning)


STRONG = np.where(np.arange(12) >= 5, 9.0, 2.0)
EARLY = np.where(np.arange(12) >= 3, 9.0, 2.0)
LATE = np.where(np.arange(12) >= 7, 9.0, 2.0)


def test_nothing_is_sent_while_the_outing_is_within_limits(watch) -> None:
    decision = watch.check(9, 0)
    assert decision.kind is NoteKind.NONE
    assert decision.quiet


def test_a_first_stop_gives_a_first_note_once(watch) -> None:
    assert watch.check(9, 0, wind=STRONG).kind is NoteKind.FIRST
    assert watch.check(8, 0).kind is NoteKind.NONE
    assert watch.check(3, 1).kind is NoteKind.NONE


def test_a_stop_outside_the_outing_is_left_aside(watch) -> None:
    wind = np.full(12, 2.0)
    wind[[0, 9, 10, 11]] = 9.0, 9.0, 9.0, 9.0
    assert watch.check(9, 0, wind=wind, gust=3.0).kind is NoteKind.FIRST  # hour 1 is held at stop by hour 0
    other = Watch(watch.morning)
    assert other.check(9, 0, wind=np.where(np.arange(12) >= 9, 9.0, 2.0)).kind is NoteKind.NONE


def test_a_stop_in_the_hour_after_the_planned_return_counts(watch) -> None:
    assert watch.check(9, 0, wind=np.where(np.arange(12) >= 8, 9.0, 2.0)).kind is NoteKind.FIRST


def test_a_failed_hand_over_is_tried_again(watch) -> None:
    assert watch.check(9, 0, wind=STRONG, note=False).kind is NoteKind.FIRST
    assert watch.check(8, 0).kind is NoteKind.FIRST


def test_an_onset_an_hour_earlier_goes_out_at_once(watch) -> None:
    watch.check(9, 0, wind=STRONG)
    decision = watch.check(8.9, 1, wind=EARLY)
    assert decision.kind is NoteKind.EARLIER


def test_a_new_limit_or_a_stronger_gust_goes_out_at_once(watch) -> None:
    watch.check(9, 0, wind=STRONG, gust=10.0)
    assert watch.check(8, 1, gust=12.0).kind is NoteKind.STRONGER
    assert watch.check(7, 1, gust=13.9).kind is NoteKind.NONE
    decision = watch.check(6, 1, gust=14.4)
    assert decision.kind is NoteKind.STRONGER
    assert "33 mph" in " ".join(decision.changes)


def test_a_gust_must_rise_by_five_mph_and_fifteen_percent(watch) -> None:
    watch.check(9, 0, wind=STRONG, gust=20.0)
    assert watch.check(8, 1, gust=22.5).kind is NoteKind.NONE
    assert watch.check(7, 1, gust=23.1).kind is NoteKind.STRONGER


def test_a_new_or_upgraded_warning_goes_out(watch, alert) -> None:
    watch.check(9, 0, wind=STRONG)
    advisory = alert(onset=watch.start + timedelta(hours=2), ends=watch.start + timedelta(hours=6))
    watch.alerts = (advisory,)
    watch.morning.feed = replace(watch.morning.feed, alerts=watch.alerts)
    assert watch.check(8, 0).kind is NoteKind.STRONGER
    assert watch.check(7, 0).kind is NoteKind.NONE
    watch.alerts = (replace(advisory, severity="Severe"),)
    assert watch.check(6, 0).kind is NoteKind.STRONGER


def test_unknown_and_lost_data_are_told_once_an_onset(watch) -> None:
    wind = np.where(np.arange(12) >= 4, np.nan, 2.0)
    assert watch.check(9, 0, wind=wind).kind is NoteKind.FIRST
    assert watch.check(8, 0).kind is NoteKind.NONE
    assert watch.check(7, 1, wind=2.0).kind is NoteKind.NONE
    assert watch.check(6, 2, wind=wind).kind is NoteKind.DATA_LOST
    assert watch.check(5, 2).kind is NoteKind.NONE
    other = Watch(watch.morning)
    assert other.check(9, 0, wind=2.0, lost=True).kind is NoteKind.DATA_LOST
    assert other.check(8, 0, lost=True).kind is NoteKind.NONE


def test_standing_unknowns_give_no_note(watch) -> None:
    watch.morning.values["thunder_pct"] = None
    watch.morning.changes["thunder_service"] = False
    assert watch.check(9, 0).kind is NoteKind.NONE


def test_easing_needs_two_cycles_clearly_below(watch) -> None:
    watch.check(20, 0, wind=STRONG, gust=10.0)
    assert watch.check(19, 1, wind=2.0, gust=3.0).kind is NoteKind.NONE
    assert watch.check(18, 1).kind is NoteKind.NONE  # the same forecast again
    decision = watch.check(13, 2)
    assert decision.kind is NoteKind.EASED
    assert "below the limits you set" in decision.changes[0]
    assert watch.check(12, 3).kind is NoteKind.NONE


def test_just_below_the_limit_is_not_eased(watch) -> None:
    watch.check(20, 0, wind=STRONG, gust=10.0)
    for hour, cycle in ((19, 1), (13, 2), (7, 3)):
        assert watch.check(hour, cycle, wind=7.5, gust=8.5).kind is NoteKind.NONE


def test_easing_waits_for_thunder_to_be_half_an_hour_ago(watch) -> None:
    watch.check(20, 0, wind=STRONG, gust=10.0)
    watch.check(13, 1, wind=2.0, gust=3.0)
    now = watch.start - timedelta(hours=7)
    assert watch.check(7, 2, thunder=now - timedelta(minutes=29)).kind is NoteKind.NONE
    assert watch.check(6.9, 2, thunder=now - timedelta(minutes=31)).kind is NoteKind.EASED


def test_a_later_onset_is_told_after_two_cycles(watch) -> None:
    watch.check(20, 0, wind=STRONG, gust=10.0)
    assert watch.check(13, 1, wind=LATE).kind is NoteKind.NONE
    assert watch.check(7, 2).kind is NoteKind.LATER


def test_at_most_two_easings_two_hours_apart(watch) -> None:
    kinds = []
    hour, cycle = 40.0, 0
    for _ in range(5):
        kinds.append(watch.check(hour, cycle, wind=STRONG, gust=10.0).kind)
        watch.check(hour - 1.0, cycle + 1, wind=2.0, gust=3.0)
        kinds.append(watch.check(hour - 1.5, cycle + 2).kind)
        hour, cycle = hour - 3.0, cycle + 3
    assert kinds.count(NoteKind.EASED) == 2
    eased = [one.evaluated_at for one in watch.sent if one.kind == "eased"]
    assert eased[1] - eased[0] >= timedelta(hours=2)


def test_a_forecast_dancing_around_the_limit_gives_one_note(watch) -> None:
    dancing = np.random.default_rng(5)
    kinds = []
    for step in range(30):
        wind = np.where(np.arange(12) >= 4, 8.0 * (1.0 + dancing.uniform(-0.09, 0.09, 12)), 2.0)
        kinds.append(
            watch.check(
                30 - step,
                step,
                wind=np.maximum(wind, [8.05 if n == 4 and step == 0 else 0 for n in range(12)]),
                gust=10.0,
            ).kind
        )
    assert [kind for kind in kinds if kind is not NoteKind.NONE][:1] == [NoteKind.FIRST]
    assert sum(kind in (NoteKind.FIRST, NoteKind.STRONGER, NoteKind.EASED) for kind in kinds) == 1


def test_after_the_outing_nothing_is_sent(watch) -> None:
    assert watch.check(-9.5, 0, wind=9.0).kind is NoteKind.NONE


def test_hours_outside_the_forecast_are_not_known(watch) -> None:
    watch.outing = replace(
        watch.outing, launch=watch.start + timedelta(days=3), planned_return=watch.start + timedelta(days=3, hours=4)
    )
    assert watch.check(9, 0).kind is NoteKind.FIRST


def test_an_outing_longer_than_the_forecast_is_partly_not_known(watch) -> None:
    watch.outing = replace(watch.outing, planned_return=watch.start + timedelta(hours=14))
    signature = watch.check(9, 0).signature
    assert signature.first_unknown == watch.start + timedelta(hours=12)
    assert signature.unknown == ("sustained_wind",)
    assert signature.level == "unknown"


def test_signatures_go_through_json_unchanged(watch) -> None:
    signature = watch.check(9, 0, wind=STRONG).signature
    assert NoteSignature.from_mapping(json.loads(json.dumps(signature.to_mapping()))) == signature


def test_the_decision_is_pure(watch) -> None:
    first = watch.check(9, 0, wind=STRONG, note=False)
    watch.evaluated.clear()
    assert watch.check(9, 0) == first


@pytest.mark.parametrize("wind", [STRONG, np.where(np.arange(12) >= 5, np.nan, 2.0)])
def test_note_text_has_source_hazard_place_time_action(watch, wind) -> None:
    decision = watch.check(9, 0, wind=wind)
    text = note_text(
        decision,
        watch.morning.levels(),
        watch.outing,
        now=watch.start - timedelta(hours=9),
        zone=ZoneInfo("America/Chicago"),
        off_water_by=watch.start + timedelta(hours=4, minutes=30),
        then=next_check_text(watch.start - timedelta(hours=8), ZoneInfo("America/Chicago")),
        longest=RULES.first_paragraph,
    )
    assert len(text.first) <= 360
    for part in ("Quiet Lake", "Wed 03 Jun", "from 10:00", "Be off the water by 09:30"):
        assert part in text.first
    assert ("Wind" in text.first) or ("not known" in text.first)
    assert "Why:" in text.body  # nothing was looked at before
    assert "Next check at 21:00" in text.body
    assert NOT_ALL_CLEAR in text.whole


def test_a_long_alert_text_is_shortened_not_the_action(watch, alert) -> None:
    long = alert(
        "Special Weather Statement " + "and much more " * 30,
        urgency="Immediate",
        onset=watch.start + timedelta(hours=3),
        ends=watch.start + timedelta(hours=6),
    )
    watch.alerts = (long,)
    watch.morning.feed = replace(watch.morning.feed, alerts=(long,))
    decision = watch.check(9, 0)
    text = note_text(
        decision,
        watch.morning.levels(),
        watch.outing,
        now=watch.start - timedelta(hours=9),
        zone=UTC,
        off_water_by=watch.start + timedelta(hours=2, minutes=30),
        then=next_check_text(None, UTC),
        longest=360,
    )
    assert len(text.first) <= 360
    assert "Be off the water by 12:30." in text.first
    assert "Official warning: stop." in text.first


def test_no_text_without_a_note(watch) -> None:
    with pytest.raises(ValueError, match="nothing"):
        note_text(
            watch.check(9, 0),
            watch.morning.levels(),
            watch.outing,
            now=watch.start,
            zone=UTC,
            off_water_by=None,
            then=next_check_text(None, UTC),
        )


def test_float_plan_names_times_and_call(watch) -> None:
    start = watch.start
    plan = FloatPlan(
        "Pat",
        "Quiet Lake",
        "sit-on-top kayak",
        "north ramp",
        start,
        start + timedelta(hours=4),
        start + timedelta(hours=5),
        emergency="112 or 999",
        rescue_area="Nearest town",
    )
    text = float_plan_text(plan, UTC)
    for part in (
        "Quiet Lake",
        "north ramp",
        "10:00",
        "off the water by 14:00",
        "Overdue at 15:00: call me",
        "call 112 or 999 and",
    ):
        assert part in text
    assert "Nearest town: ____." in text
    assert "911" not in text
    assert "County" not in text
    assert "Places" not in text
    placed = replace(plan, spots=(("east reeds", start),), position=(45.5, -93.25))
    assert "Places: east reeds 10:00." in float_plan_text(placed, UTC)
    assert "north ramp (45.5000, -93.2500)" in float_plan_text(placed, UTC)
    assert Level.STOP.value not in text


@pytest.mark.parametrize("longest", [60, 90, 130, 200, 360])
def test_the_first_paragraph_of_a_note_ends_with_a_full_stop_however_short_it_must_be(longest: int) -> None:
    text = _fitting("Wind note: Sedgemary Lake, Sat 28 Feb, from 11:00. Do not launch as planned. " * 9, longest)
    assert len(text) <= longest
    assert text.endswith(".")
    assert not text.endswith("..")
    words = _fitting("a name without any end " * 30, longest)
    assert len(words) <= longest
    assert words.endswith(".")


def test_hours_in_a_row_are_one_line_with_the_worst_of_them() -> None:
    begin = datetime(2026, 6, 3, 15, 0, tzinfo=UTC)

    def hour(number: int, level: Level, name: str, value: float | None, text: str) -> HourLevel:
        factor = Factor(name, level, value, 10.0, "m/s", "forecast grid", text)
        return HourLevel(begin + timedelta(hours=number), level, (factor,))

    hours = [
        hour(0, Level.STOP, "gust", 11.0, "Gusts 11 m/s."),
        hour(1, Level.STOP, "gust", 14.0, "Gusts 14 m/s."),
        hour(2, Level.STOP, "gust", 12.0, "Gusts 12 m/s."),
        hour(3, Level.UNKNOWN, "gust", None, "Gusts are not known."),
        hour(4, Level.UNKNOWN, "gust", None, "Gusts are not known."),
        hour(6, Level.UNKNOWN, "gust", None, "Gusts are not known."),
    ]
    assert _hour_lines(hours, UTC) == [
        "15:00 to 18:00 stop, worst at 16:00: Gusts 14 m/s.",
        "18:00 to 20:00 not known: Gusts are not known.",
        "21:00 not known: Gusts are not known.",
    ]
    assert _hour_lines([], UTC) == []
