from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from briefing.core.wind.inputs import DayLight
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.windows import Deadlines, Window
from briefing.sections.clock import rounded_down, rounded_up
from briefing.sections.day import Answer, DaySection, Names, fill_day
from briefing.sections.words import DAY_WORD, LEVEL_SHAPE
from briefing.vocabulary import Level

ZONE = ZoneInfo("America/Chicago")
DAY = date(2026, 4, 18)
SIX = datetime(2026, 4, 18, 11, tzinfo=UTC)  # 06:00 on the clock
HOUR = timedelta(hours=1)
UNKNOWN_ALL = (
    "? Not known: no hours can be given. Gusts are not known in any of your hours. "
    "Don't launch until that is known: make the briefing again."
)

WITHIN, CAUTION, UNKNOWN, STOP = Level.WITHIN_LIMITS, Level.CAUTION, Level.UNKNOWN, Level.STOP


def level(number: int, what: Level, name: str = "gust") -> HourLevel:
    factor = Factor(name, what, 12.0, 10.0, "m/s", "made", "Gusts 27 mph.")
    return HourLevel(SIX + number * HOUR, what, (factor,))


def window(first: int, last: int, what: Level = WITHIN) -> Window:
    return Window(SIX + first * HOUR, SIX + last * HOUR, what, SIX + last * HOUR - 2 * HOUR, "gusts", STOP)


def ends(hour: float, kind: str = "stop", headway: bool = True) -> Deadlines:
    off = SIX + hour * HOUR
    return Deadlines(
        off_water_by=off,
        start_back_by=off - timedelta(minutes=32) if headway else None,
        call_at=off + HOUR,
        because="Gusts 27 mph; your stop is 23 mph.",
        kind=kind,
        time_back_min=25.4,
        leg="Reeds to ramp",
        headway=headway,
        assumed="",
    )


def day(levels: list[Level], windows: list[Window], deadlines: Deadlines | None = None, **change: object) -> DaySection:
    asked: dict[str, object] = {
        "launch": SIX,
        "back": SIX + len(levels) * HOUR,
        "fixed_launch": False,
        "now": SIX - HOUR,
        "zone": ZONE,
        "day": DAY,
    } | change
    return fill_day([level(n, what) for n, what in enumerate(levels)], windows, deadlines, **asked)


def test_a_day_within_limits_is_said_with_both_instants() -> None:
    found = day([WITHIN] * 5, [window(0, 5)], ends(5, "return"))
    assert found.line().startswith("○ Within your limits. Out 06:00. Off the water by 11:00.")
    assert (found.begin, found.off) == (SIX, SIX + 5 * HOUR)
    assert found.level is WITHIN
    assert not any(one.startswith("Off by 11:00") for one in found.sentences), "told with the hours"
    assert "Start back by 10:25" in found.sentences[0]


def test_a_window_that_closes_names_what_closes_it() -> None:
    found = day([WITHIN, WITHIN, CAUTION, STOP, STOP], [window(0, 3, CAUTION)], ends(2.5))
    assert found.hours_text == "Out 06:00. Off the water by 08:30."
    assert found.why == "Gusts pass your stop at 09:00. Care: gusts from 08:00."
    assert found.because == ("gusts",)
    assert found.sentences[0] == ("Off by 08:30, half an hour before 09:00: gusts 27 mph; your stop is 23 mph.")


def test_no_window_is_said_first_and_holds_no_deadline() -> None:
    found = day([STOP] * 4, [], ends(0))
    assert found.line() == (
        "■ Stay ashore. No hours within your limits, 06:00 to 10:00. Gusts pass your stop at 06:00."
    )
    assert (found.begin, found.off) == (None, None)
    assert found.off_water_by is None
    assert found.sentences == ()


def test_hours_not_known_before_a_stop_are_named() -> None:
    found = day([UNKNOWN, UNKNOWN, STOP], [])
    assert found.why == "Gusts are not known from 06:00. Gusts pass your stop at 08:00."


def test_all_unknown_is_never_a_window() -> None:
    found = day([UNKNOWN] * 3, [])
    assert found.line() == UNKNOWN_ALL
    assert found.level is UNKNOWN


@pytest.mark.parametrize(
    ("what", "words", "why"),
    [
        (STOP, "At your fixed launch, 06:00, you are over your limits.", "Gusts pass your stop."),
        (UNKNOWN, "Whether your fixed launch at 06:00 is within your limits is not known.", "Gusts are not known."),
    ],
)
def test_a_fixed_launch_outside_the_limits_is_the_first_sentence(what: Level, words: str, why: str) -> None:
    found = day([what, WITHIN, WITHIN, WITHIN], [window(1, 4)], ends(4, "return"), fixed_launch=True)
    assert found.fixed_launch_outside
    assert found.told() == f"{words} {why}"
    assert found.begin is None
    assert found.level is what


def test_no_forecast_at_all_is_said() -> None:
    found = fill_day([], [], None, launch=SIX, back=SIX + 5 * HOUR, fixed_launch=False, now=SIX, zone=ZONE, day=DAY)
    assert found.line() == "? Not known: no hours can be given. The forecast misses 06:00 to 11:00."
    assert found.level is UNKNOWN


def test_a_way_back_that_can_not_be_made_is_said_in_place_of_a_time() -> None:
    found = day([WITHIN] * 4, [window(0, 4)], ends(4, "stop", headway=False))
    assert found.start_back_by is None
    assert any("may not make headway" in sentence for sentence in found.sentences)


def test_a_late_briefing_shows_only_what_is_left() -> None:
    found = day([WITHIN] * 6, [window(0, 2), window(4, 6)], ends(6, "return"), now=SIX + 3 * HOUR)
    assert [one.begin for one in found.windows] == [SIX + 4 * HOUR]


def test_printed_instants_are_never_on_the_wrong_side() -> None:
    at = datetime(2026, 4, 18, 11, 32, 41, 7, tzinfo=UTC)
    assert rounded_down(at) == datetime(2026, 4, 18, 11, 30, tzinfo=UTC)
    assert rounded_up(at) == datetime(2026, 4, 18, 11, 33, tzinfo=UTC)
    assert rounded_up(rounded_up(at)) == rounded_up(at)


def hour(number: int, *factors: tuple[str, Level], ref: str = "") -> HourLevel:
    made = tuple(Factor(name, what, 12.0, 10.0, "m/s", "made", f"{name}.", ref=ref) for name, what in factors)
    return HourLevel(SIX + number * HOUR, max((one.level for one in made), key=lambda one: one.rank), made)


def told(levels: list[HourLevel], windows: list[Window], deadlines: Deadlines, **change: object) -> DaySection:
    asked: dict[str, object] = {
        **{"launch": SIX, "back": SIX + len(levels) * HOUR, "fixed_launch": False},
        **{"now": SIX - HOUR, "zone": ZONE, "day": DAY},
    }
    return fill_day(levels, windows, deadlines, **(asked | change))


COLD = ("cold_water", CAUTION)
BREEZY = [hour(0, COLD), hour(1, COLD), hour(2, COLD, ("sustained_wind", CAUTION)), hour(3, COLD, ("gust", CAUTION))]


def test_every_caution_of_the_outing_is_named_with_its_hour_wind_first() -> None:
    found = told(BREEZY, [window(0, 4, CAUTION)], ends(4, "return"))
    assert "Care: wind from 08:00 to 09:00; gusts from 09:00; cold water." in found.why
    assert found.because == ("wind", "gusts", "cold water")


def test_an_official_warning_is_named_in_the_headline() -> None:
    levels = [hour(0, ("gust", WITHIN)), hour(1, ("gust", WITHIN)), hour(2, ("alerts", STOP), ref="a1")]
    names = Names(events={"a1": "Lake Wind Advisory"})
    found = told(levels, [window(0, 2)], ends(1.5), names=names)
    assert found.why.startswith("Lake Wind Advisory from 08:00.")


def test_a_warning_after_the_hour_that_ends_the_outing_is_named_too() -> None:
    levels = [hour(0, ("gust", WITHIN)), hour(1, ("gust", STOP)), hour(2, ("gust", STOP), ("alerts", STOP), ref="a1")]
    found = told(levels, [window(0, 1)], ends(0.5), names=Names(events={"a1": "Lake Wind Advisory"}))
    assert found.why == "Gusts pass your stop at 07:00. Lake Wind Advisory from 08:00."


def test_calm_hours_are_told_with_their_strongest_gust_and_the_stop() -> None:
    gust = Factor("gust", WITHIN, 6.2, 7.2, "m/s", "made", "Gusts 14 mph.", stop_limit=10.06)
    levels = [HourLevel(SIX + n * HOUR, WITHIN, (gust,)) for n in range(3)]
    found = told(levels, [window(0, 3)], ends(3, "return"))
    assert found.why.endswith("Strongest gust forecast 14; your stop is 22 mph.")
    metric = told(levels, [window(0, 3)], ends(3, "return"), system="metric")
    assert metric.why.endswith("Strongest gust forecast 6.2; your stop is 10.0 m/s.")


def test_darkness_alone_does_not_raise_the_day_and_any_other_care_does() -> None:
    dark = [hour(0, ("darkness", CAUTION)), hour(1, ("gust", WITHIN))]
    assert told(dark, [window(0, 2, CAUTION)], ends(2, "return")).answer is WITHIN
    breezy = [hour(0, ("darkness", CAUTION), ("gust", CAUTION)), hour(1, ("gust", WITHIN))]
    assert told(breezy, [window(0, 2, CAUTION)], ends(2, "return")).answer is CAUTION
    held = [HourLevel(SIX, UNKNOWN, dark[0].factors), dark[1]]
    assert told(held, [window(0, 2, CAUTION)], ends(2, "return")).answer is UNKNOWN


@pytest.mark.parametrize(("dawn_min", "words"), [(30, "dark until 06:30"), (-5, "white light until 06:25"), (-60, "")])
def test_darkness_is_told_by_the_sun_not_by_whole_hours(dawn_min: int, words: str) -> None:
    dawn = SIX + timedelta(minutes=dawn_min)
    light = DayLight(dawn, dawn + timedelta(minutes=30), SIX + 12 * HOUR, SIX + 13 * HOUR)
    found = told([hour(0, ("darkness", CAUTION)), hour(1, ("gust", WITHIN))], [window(0, 2, CAUTION)],
                 ends(2, "return"), names=Names(light=light))  # fmt: skip
    assert words in found.why
    assert "dark" not in found.why.replace(words, "")


def test_what_does_not_lie_on_the_way_is_not_in_the_headline() -> None:
    levels = [hour(n, ("tailwater", CAUTION)) for n in range(3)]
    found = told(levels, [window(0, 3, CAUTION)], ends(3, "return"), names=Names(off_route=frozenset({"tailwater"})))
    assert "tailwater" not in found.line()
    assert found.because == ()


def test_an_answer_stands_first_and_the_hours_under_its_condition() -> None:
    answer = Answer("Alone, and the water may be 45 F.", "Only with a second person", "cold water")
    found = told(BREEZY, [window(0, 4, CAUTION)], ends(4, "return"), answer=answer)
    assert found.line() == (
        "■ Stay ashore. Alone, and the water may be 45 F. Only with a second person: out 06:00. Off the water by 10:00."
    )
    assert found.sentences[0].endswith("Care: wind from 08:00 to 09:00; gusts from 09:00; cold water.")
    assert found.because == ("cold water",)
    closed = told([hour(n, ("gust", STOP)) for n in range(3)], [], ends(0), answer=answer)
    assert closed.hours_text.startswith("No hours within your limits")
    assert closed.why.endswith(answer.why)


def test_a_planned_return_after_the_stop_is_called_too_late() -> None:
    found = day([WITHIN, WITHIN, WITHIN, STOP, STOP], [window(0, 3)], ends(2.5))
    assert "our return at 11:00 is too late today." in found.sentences[-1]


def test_why_to_stay_ashore_is_said_whatever_the_hours_are() -> None:
    answer = Answer("Alone, and the water may be 45 F.", "Only with a second person", "cold water")
    fixed = day([STOP, WITHIN, WITHIN], [window(1, 3)], ends(3, "return"), answer=answer, fixed_launch=True)
    assert fixed.hours_text.startswith("At your fixed launch")
    none = day([STOP] * 3, [], None, answer=answer)
    whole = day([WITHIN] * 3, [window(0, 3)], ends(3, "return"), answer=answer)
    for found in (fixed, none, whole):
        assert answer.why in found.told()
        assert found.answer is STOP


def test_what_ends_the_day_hides_no_caution_before_it() -> None:
    levels = [
        hour(0, ("sustained_wind", CAUTION)),
        hour(1, ("sustained_wind", CAUTION)),
        hour(2, ("sustained_wind", STOP)),
    ]
    found = told(levels, [window(0, 2, CAUTION)], ends(1.5))
    assert found.why == "Wind passes your stop at 08:00. Care: wind."


@pytest.mark.parametrize(
    ("levels", "open_until", "change", "shown"),
    [
        ([WITHIN] * 4, 4, {}, "○ Within your limits. Out 06:00."),
        ([WITHIN, CAUTION, WITHIN, WITHIN], 4, {}, "△ Within your limits, with care. Out 06:00."),
        ([STOP] * 4, 0, {}, "■ Stay ashore. No hours within your limits, 06:00 to 10:00."),
        (
            [UNKNOWN] * 4,
            0,
            {},
            UNKNOWN_ALL,
        ),
        (
            [UNKNOWN, STOP, STOP, STOP],
            0,
            {},
            "■ Stay ashore. No hours within your limits, 06:00 to 10:00. Gusts are not known from 06:00.",
        ),
        (
            [CAUTION] * 4,
            0,
            {},
            "■ Stay ashore. Of 06:00 to 10:00 too little daylight is left for an outing.",
        ),
        (
            [STOP, WITHIN, WITHIN, WITHIN],
            4,
            {"fixed_launch": True},
            "■ Stay ashore. At your fixed launch, 06:00, you are over",
        ),
        (
            [UNKNOWN, WITHIN, WITHIN, WITHIN],
            4,
            {"fixed_launch": True},
            "? Not known: no hours can be given. Whether your fixed launch at 06:00 is within",
        ),
        (
            [WITHIN] * 4,
            4,
            {"answer": Answer("Alone.", "Only with two", "cold water")},
            "■ Stay ashore. Alone. Only with two: out 06:00.",
        ),
    ],
)
def test_the_top_says_its_level_by_shape_and_word(
    levels: list[Level], open_until: int, change: dict[str, object], shown: str
) -> None:
    windows = [window(0, open_until)] if open_until else []
    found = day(levels, windows, ends(open_until, "return") if open_until else None, **change)
    assert found.line().startswith(shown)
    assert found.shape == LEVEL_SHAPE[found.answer]
    assert found.word == DAY_WORD[found.answer]


@pytest.mark.parametrize(("launch_h", "now_h", "out"), [(1.5, -1.0, True), (1.75, -1.0, False), (1.75, 1.8, True)])
def test_a_remnant_of_a_window_is_no_outing_but_who_is_out_is_told_until_when(
    launch_h: float, now_h: float, out: bool
) -> None:
    levels = [CAUTION, CAUTION, STOP, STOP, STOP]
    launch, now = SIX + launch_h * HOUR, SIX + now_h * HOUR
    made = day(levels, [window(0, 2, CAUTION)], ends(2.0), launch=launch, now=now)
    assert (made.begin is not None) == out
    assert out or "Too little time within your limits" in made.line()


def test_cares_at_different_hours_are_told_apart() -> None:
    from_the_start = HourLevel(SIX, CAUTION, (Factor("gust", CAUTION, 9.0, 8.0, "m/s", "made", "Gusts 20 mph."),))
    later = HourLevel(
        SIX + HOUR,
        CAUTION,
        (
            Factor("gust", CAUTION, 9.0, 8.0, "m/s", "made", "Gusts 20 mph."),
            Factor("sustained_wind", CAUTION, 7.0, 6.0, "m/s", "made", "Wind 15 mph."),
            Factor("waves", CAUTION, 0.3, 0.2, "m", "made", "Waves 1 ft."),
        ),
    )
    text = told([from_the_start, later], [window(0, 2, CAUTION)], ends(2.0, "return")).line()
    assert "Care: wind and waves from 07:00; gusts." in text
