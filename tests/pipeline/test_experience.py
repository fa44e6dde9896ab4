"""The log and the checks in a whole morning: advice moves, limits are raised, and both say why."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from briefing.core.gathered_json import observed_from_json, to_json
from briefing.core.hours import HourSeries
from briefing.core.log.checks import Check
from briefing.core.log.learning import learn
from briefing.core.log.records import Condition, Fish, Mark, MarkKind, Segment
from briefing.core.readings import Sign, WaterReading, WindReading
from briefing.pipeline.build import Built, build
from briefing.pipeline.experience import merged, read_experience, trial_of
from briefing.pipeline.inputs import Entered, MorningInputs
from briefing.pipeline.log_conditions import around
from briefing.pipeline.made import render
from briefing.pipeline.run import Run, make
from briefing.pipeline.tables import load_tables
from briefing.resources import config_path
from briefing.store import NewReading, ReadingKind, Store, open_store
from briefing.store.log import LogBook
from briefing.tools.compose import Weather, compose
from briefing.vocabulary import SignKind
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

TABLES = load_tables()
MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def morning() -> MorningInputs:
    return inputs_of(SCENARIOS["north_summer_calm"])


@pytest.fixture(scope="module")
def plain(morning: MorningInputs) -> Built:
    return build(morning, TABLES)


@pytest.fixture
def store(tmp_path: Path, morning: MorningInputs) -> Store:
    return open_store(tmp_path / "briefing.sqlite", morning.now)


def kept(morning: MorningInputs, checks: Sequence[Check] = (), segments: Sequence[Segment] = ()) -> MorningInputs:
    return replace(morning, kept=replace(morning.kept, checks=tuple(checks), segments=tuple(segments)))


def checks(morning: MorningInputs, error: float, count: int = 30) -> list[Check]:
    """Mornings on which the wind from every direction came in with one error."""
    times = [morning.now - timedelta(days=1 + n) for n in range(count)]
    return [
        Check("wind_mps", at - k * MINUTE, "at launch", 3.0, 4.0, 4.0 + error, "station", "x", from_deg=45.0 * k)
        for at in times
        for k in range(8)
    ]


def notes(built: Built) -> str:
    return " ".join(built.briefing.hours.notes)


def test_a_wind_that_comes_in_stronger_raises_what_limits_are_judged_by(morning: MorningInputs, plain: Built) -> None:
    raised = build(kept(morning, checks(morning, 2.5)), TABLES)
    assert (raised.hazards.wind_factor >= 1.0).all()
    assert raised.hazards.wind_factor.max() > 1.2
    ranks = [(a.level.rank, b.level.rank) for a, b in zip(plain.hazards.levels, raised.hazards.levels, strict=True)]
    assert all(after >= before for before, after in ranks)
    assert any(after > before for before, after in ranks)
    assert "too low from the" in notes(raised)
    assert "Your limits are judged by stronger wind than forecast" in notes(raised)
    rows = zip(plain.briefing.hours.rows, raised.briefing.hours.rows, strict=True)
    assert all((a.wind_mps, a.gust_mps) == (b.wind_mps, b.gust_mps) for a, b in rows if not b.gust_estimated)
    assert (raised.hazards.sea.hs_m >= plain.hazards.sea.hs_m - 1e-9).all()


def test_a_wind_that_comes_in_weaker_lowers_nothing(morning: MorningInputs, plain: Built) -> None:
    lower = build(kept(morning, checks(morning, -2.0)), TABLES)
    assert (lower.hazards.wind_factor == 1.0).all()
    assert lower.hazards.levels == plain.hazards.levels
    assert "too high from the" in notes(lower)
    assert "by the checks at this lake rather" in notes(lower)
    assert "Your limits are judged" not in notes(lower)


def test_wind_felt_low_over_the_water_hides_no_station(morning: MorningInputs) -> None:
    station = checks(morning, 2.0)
    felt = [replace(one, kind="user", observed=max(0.0, one.forecast - 2.0)) for one in station]
    alone, both = (build(kept(morning, found), TABLES).hazards.wind_factor for found in (station, [*station, *felt]))
    assert both == pytest.approx(alone)
    assert both.max() > 1.2


def test_how_sure_uses_the_checks(morning: MorningInputs, plain: Built) -> None:
    water = [
        Check("water_c", morning.now - timedelta(days=n), "at launch", 3.0, 20.0, 20.5, "user", "you", 19.0, 21.0)
        for n in range(1, 8)
    ]
    checked = build(kept(morning, [*checks(morning, 1.0), *water]), TABLES)
    before, after = (one.briefing.sureness.parts for one in (plain, checked))
    assert "nothing has checked it at your lake" in before[0].because
    assert "on 30 checked mornings at your lake it was off by 1.0 m/s on average" in after[0].because
    assert "its range held 100% of 7 readings" in after[1].because


def log_of(morning: MorningInputs, best: str, others: Sequence[str]) -> list[Segment]:
    """Thirty outings on which one presentation caught far more than the others."""
    out = []
    for n in range(30):
        for k, name in enumerate((best, *others)):
            begin = morning.now - timedelta(days=3 * n + 2, hours=2 * k)
            out.append(
                Segment(
                    outing=n, start=begin, end=begin + timedelta(hours=1), minutes=60.0, effort="clocked", spot="",
                    cover=None, depth_m=None, presentation=name, weight_g=None,
                    fish=(Fish(0.4),) * (4 if name == best else int(n % 3 == 0)), contacts=0, follows=0, marks=(n, k),
                    planned=None, prior=None, conditions={},
                )
            )  # fmt: skip
    return out


def test_the_log_moves_the_advice_and_says_so(morning: MorningInputs, plain: Built) -> None:
    first, second, *_ = [choice.id for choice in plain.advised.plan.stops[0].choices]
    learned = build(kept(morning, segments=log_of(morning, second, [first])), TABLES)
    leading = [stop.choices[0] for stop in learned.advised.plan.stops if stop.choices[0].id == second]
    assert leading
    said = [[reason for reason in one.reasons if reason.startswith("Your log: ")] for one in leading]
    assert all(len(one) == 1 for one in said)
    assert said[0][0].startswith("Your log: 120 of 130 fish, 30 of 60 hours on this lure; moved from ")
    assert any(one[0].endswith(" to first here.") for one in said)
    assert not any(reason.startswith("Your own log speaks") for reason in leading[0].reasons)
    page = render(learned, morning.gathered)
    assert "Your log: 120 of 130 fish" in page.html


def test_a_kept_log_is_offered_a_trial_and_nobody_else_is(morning: MorningInputs, plain: Built) -> None:
    plan, first = plain.advised.plan, plain.advised.plan.stops[0].choices[0].id
    assert plain.advised.trial == ""
    learned = learn(log_of(morning, first, ["popper"]), {}, TABLES.log, morning.day)
    text = trial_of(learned, plan, 0.2)
    assert text.startswith("For the log: ")
    minutes = sum((stop.leave - stop.arrive).total_seconds() / 60.0 for stop in plan.stops)
    assert f" {TABLES.log.learning.try_share * minutes:.0f} minutes " in text
    shown = {choice.name.lower() for stop in plan.stops for choice in stop.choices}
    assert any(name in text.lower() for name in shown)
    assert trial_of(learned, plan, -0.8) == ""
    assert trial_of(learned, replace(plan, blocks=()), 0.2) == ""


def test_the_trades_scores_are_kept_without_the_log(morning: MorningInputs, plain: Built) -> None:
    stop = plain.advised.plan.stops[0]
    names = [choice.id for choice in plain.advised.plan.blocks[0].stops[0].choices]
    learned = build(kept(morning, segments=log_of(morning, names[1], names[:1])), TABLES)
    before, after = (one.advised.trade_scores[stop.spot_id] for one in (plain, learned))
    assert before.keys() == after.keys()
    assert max(before.values()) == 1.0
    assert [after[name] for name in before] == pytest.approx(list(before.values()), abs=2e-4)


def test_the_same_inputs_give_the_same_bytes(morning: MorningInputs, plain: Built) -> None:
    names = [choice.id for choice in plain.advised.plan.blocks[0].stops[0].choices]
    inputs = kept(morning, checks(morning, 1.0), log_of(morning, names[1], names[:1]))
    mixed = kept(morning, inputs.kept.checks[::-1], inputs.kept.segments[::-1])
    first, second = (render(build(one, TABLES), morning.gathered) for one in (inputs, mixed))
    assert (first.text, first.json, first.html) == (second.text, second.json, second.html)


# --- checks out of the store -----------------------------------------------------------------------------------------


def stored(store: Store, morning: MorningInputs, made: datetime, wind: float) -> None:
    """Inputs that were stored earlier, with one wind over all hours."""
    series = morning.gathered.hours
    fields = {**series.fields, "wind_mps": replace(series["wind_mps"], values=np.full(series.hours, wind))}
    earlier = replace(
        morning.gathered, hours=HourSeries(series.start, series.hours, fields), retrieved_at=made, wind_now=()
    )
    store.save_gathered(morning.profile.id, made, to_json(earlier))


def test_what_was_stored_is_held_against_what_came(store: Store, morning: MorningInputs) -> None:
    now = morning.now.astimezone(UTC)
    stored(store, morning, now - timedelta(hours=24), 3.0)
    stored(store, morning, now - timedelta(hours=4), 4.0)
    station = WindReading(now - timedelta(minutes=20), 6.0, 9.0, 200.0, "nws_station", "a station", distance_km=8.0)
    own = WindReading(now - timedelta(hours=1), 7.0, None, 210.0, "user", "wind you saw")
    gathered = replace(morning.gathered, wind_now=(station,))
    entered = Entered(winds=(own,))
    found = read_experience(store, morning.profile, gathered, entered, now, TABLES.log).checks
    wind = {(one.lead, one.kind): (one.forecast, one.observed) for one in found if one.element == "wind_mps"}
    assert wind == {
        ("at launch", "station"): (4.0, 6.0),
        ("day before", "station"): (3.0, 6.0),
        ("at launch", "user"): (4.0, 7.0),
        ("day before", "user"): (3.0, 7.0),
    }
    LogBook(store).add_checks(morning.profile.id, found, now, now - timedelta(days=800))
    again = read_experience(store, morning.profile, gathered, entered, now + timedelta(hours=1), TABLES.log).checks
    assert again == found


def test_water_nests_and_thunder_are_held_against_readings_signs_and_outings(
    store: Store, morning: MorningInputs, plain: Built
) -> None:
    now, lake = morning.now, morning.profile.id
    body = json.loads(render(plain, morning.gathered).json)
    body["season"][0]["dates"] = [
        {"name": "nest_start", "p10": "2026-05-20", "p50": "2026-05-28", "p90": "2026-06-05", "text": ""}
    ]
    store.save_briefing(lake, morning.day, now, json.dumps(body))
    store.save_briefing(lake, morning.day, now + timedelta(minutes=1), "{}")
    store.save_gathered(lake, now, to_json(morning.gathered))
    book = LogBook(store)
    begun = book.add(lake, Mark(MarkKind.START, now + timedelta(hours=1)), "", now)
    book.add(lake, Mark(MarkKind.END, now + timedelta(hours=4), outing=begun.mark.id), "", now)
    later = now + timedelta(hours=6)
    entered = Entered(
        water=(WaterReading("r", now + timedelta(hours=2), 24.4),),
        signs=(Sign("s", now + timedelta(hours=3), SignKind.BEDS_WITH_FISH),),
        thunder_heard=(now + timedelta(hours=2),),
    )
    found = read_experience(store, morning.profile, morning.gathered, entered, later, TABLES.log).checks
    by = {one.element: one for one in found}
    assert by["water_c"].observed == 24.4
    assert by["water_c"].forecast == pytest.approx(plain.briefing.water.temperature.value)
    assert by["nest_start_day"].error == 44.0
    assert by["thunder_pct"].observed == 100.0


def test_damaged_stored_inputs_are_passed_over(store: Store, morning: MorningInputs) -> None:
    for text in ("{}", "not json", '{"schema": 99}'):
        store.save_gathered(morning.profile.id, morning.now - timedelta(hours=3), text)
        assert observed_from_json(text) is None
    found = read_experience(store, morning.profile, morning.gathered, Entered(), morning.now, TABLES.log)
    assert found.checks == ()


def test_a_check_that_is_known_is_not_replaced(morning: MorningInputs) -> None:
    (known, *_) = checks(morning, 1.0, 1)
    assert merged([known], [replace(known, observed=9.0)]) == (known,)


def test_conditions_of_an_entry_come_from_the_stored_morning(
    store: Store, morning: MorningInputs, plain: Built
) -> None:
    lake = morning.profile.id
    store.save_briefing(lake, morning.day, morning.now, render(plain, morning.gathered).json)
    store.save_gathered(lake, morning.now, to_json(morning.gathered))
    store.set_learned(
        lake, "trade_scores", {"day": morning.day.isoformat(), "spots": plain.advised.trade_scores}, morning.now
    )
    stop = plain.advised.plan.stops[0]
    time = stop.arrive + timedelta(minutes=5)
    near = around(store, morning.profile, time)
    index = morning.gathered.hours.index_of(time)
    assert near.conditions["air_c"].value == pytest.approx(float(morning.gathered.hours.values("air_c")[index]))
    assert near.conditions["air_c"].kind == "forecast"
    assert near.conditions["phase"] == Condition("summer", "modelled", "the day's briefing")
    assert near.conditions["water_c"].value == pytest.approx(plain.briefing.water.temperature.value)
    name = morning.profile.spot(stop.spot_id)
    assert near.stop == (name.name if name else "")
    chosen = plain.advised.plan.blocks[0].stops[0].choices[0].id
    assert near.was_planned(near.stop, chosen) is True
    assert near.was_planned(near.stop, "umbrella_rig") is False
    assert near.was_planned("", "") is None
    assert near.prior(stop.spot_id, chosen) == plain.advised.trade_scores[stop.spot_id][chosen]
    assert near.prior("nowhere", "no such lure") is None
    old = around(store, morning.profile, time + timedelta(days=4))
    assert "phase" not in old.conditions


def test_two_weeks_of_mornings_end_in_a_line_and_a_raise(store: Store, morning: MorningInputs) -> None:
    """A forecast is stored each morning, the user reads the wind at the water, the next morning holds them together.

    The last two mornings are whole runs, so that what a run keeps is what the next one reads.
    """
    profile, first, lake = morning.profile, morning.now.astimezone(UTC), morning.profile.id
    path, book, days = config_path(f"lakes/{lake}.toml"), LogBook(store), 17
    weather = Weather(seed=11, breeze_mps=3.0, peak_mps=3.0, wind_from_deg=225.0, veer_deg_h=0.0, wind_now=False)
    readings: list[WindReading] = []
    for day in range(days):
        now, local = first + timedelta(days=day), morning.day + timedelta(days=day)
        gathered = compose(profile, morning.normals, local, now, weather, "x")
        store.save_gathered(lake, now - timedelta(minutes=30), to_json(gathered))
        if day >= days - 2:
            made = make(Run(profile, path, local, now, offline=True), TABLES, morning.normals, store, None)
        else:
            entered = Entered(winds=tuple(readings))
            found = read_experience(store, profile, gathered, entered, now, TABLES.log).checks
            book.add_checks(lake, found, now, now - timedelta(days=800))
        later = now + timedelta(hours=4)
        wind = float(gathered.hours.values("wind_mps")[gathered.hours.index_of(later)]) + 2.0
        store.add_reading(lake, NewReading(ReadingKind.WIND, later, {"wind_mps": wind}), later)
        readings.append(WindReading(later, wind, None, None, "user", "wind you saw"))
    seen = [one for one in book.checks(lake) if one.lead == "at launch"]
    assert len(seen) == days - 1
    assert {round(one.error, 6) for one in seen} == {2.0}
    text = " ".join(made.text.split())
    assert "Wind: last 14 mornings 2.0 m/s too low from the south-west (14 mornings)." in text
    assert "Your limits are judged by stronger wind than forecast" in text
    assert made.built.hazards.wind_factor.max() > 1.2
