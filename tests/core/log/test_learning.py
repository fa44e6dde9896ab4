"""What the log says for and against a lure."""

import random
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from briefing.core.log.learning import (
    LogLearned,
    learn,
    log_words,
    order_changes,
    place_word,
    planned_words,
    try_words,
)
from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import Segment
from briefing.vocabulary import Cover, Phase
from tests.core.log.conftest import segment

GROUPS = {"tube": "bottom", "texas_worm": "bottom", "spinnerbait": "skirted_moving", "popper": "topwater"}
TODAY = date(2026, 8, 1)


def season(rates: dict[str, int], days: int = 12, hours: float = 2.0, **more: object) -> list[Segment]:
    """Segments with a number of fish in every ``hours`` on each lure, on days a week apart."""
    return [
        segment(10 * day + n, lure, hours, fish, day=7 * day, **more)  # type: ignore[arg-type]
        for day in range(days)
        for n, (lure, fish) in enumerate(rates.items())
    ]


def test_a_lure_that_catches_more_gains_and_the_others_lose(parameters: LogParameters) -> None:
    learned = learn(season({"tube": 3, "spinnerbait": 1, "popper": 1}), GROUPS, parameters, TODAY)
    factors = learned.factors(Cover.DOCK, Phase.SUMMER, "stained")
    assert factors["tube"] > 0.3 > 0.0 > factors["spinnerbait"]
    assert learned.effect("tube").stated == "better"


def test_no_factor_passes_two(parameters: LogParameters) -> None:
    learned = learn(season({"tube": 9, "spinnerbait": 0, "popper": 0}, days=40), GROUPS, parameters, TODAY)
    factors = np.exp(list(learned.factors(Cover.DOCK, Phase.SUMMER, "stained").values()))
    assert np.all((factors <= 2.0) & (factors >= 0.5))
    assert learned.effect("tube", Cover.DOCK, Phase.SUMMER, "stained").log == pytest.approx(np.log(2.0), abs=0.01)


def test_equal_catch_teaches_nothing(parameters: LogParameters) -> None:
    learned = learn(season({"tube": 1, "spinnerbait": 1, "popper": 1}), GROUPS, parameters, TODAY)
    assert max(abs(value) for value in learned.factors().values()) < 0.05


def test_what_is_thrown_most_does_not_win_by_being_thrown(parameters: LogParameters) -> None:
    rows = [segment(day, "tube", 8.0, 4, day=day) for day in range(10)]
    rows += [segment(100 + day, "spinnerbait", 2.0, 1, day=day) for day in range(10)]
    learned = learn(rows, GROUPS, parameters, TODAY)
    assert abs(learned.effect("tube").log) < 0.05


def test_a_good_day_is_not_the_lures_doing(parameters: LogParameters) -> None:
    """On the days it is thrown everything bites: the lures beside it catch as much in the same hours."""
    rows = []
    for day in range(12):
        good = day % 2 == 0
        rows.append(segment(2 * day, "tube" if good else "popper", 2.0, 3 if good else 1, day=day))
        rows.append(replace(segment(2 * day, "spinnerbait", 2.0, 3 if good else 1, day=day), marks=(500 + day,)))
    learned = learn(rows, GROUPS, parameters, TODAY)
    naive = np.log(3.0)
    assert abs(learned.effect("tube").log - learned.effect("popper").log) < 0.5 * naive
    assert learned.effect("tube").stated == ""


def test_a_good_spot_is_not_the_lures_doing(parameters: LogParameters) -> None:
    """The tube is thrown where everything bites; the popper beside it there catches as much."""
    rows = []
    for day in range(20):
        good, poor = ("Inlet", 3), ("Dam", 1)
        for n, (lure, (spot, fish)) in enumerate((("tube", good), ("popper", good if day % 4 == 0 else poor))):
            rows.append(replace(segment(day, lure, 2.0, fish, day=day), spot=spot, marks=(2 * day + n, 900)))
    learned = learn(rows, GROUPS, parameters, TODAY)
    blind = learn([replace(one, spot="") for one in rows], GROUPS, parameters, TODAY)

    def lead(one: LogLearned) -> float:
        return one.effect("tube").log - one.effect("popper").log

    assert lead(learned) < 0.6 * lead(blind)
    assert (blind.effect("tube").stated, learned.effect("tube").stated) == ("better", "")


def test_entries_of_a_date_without_an_outing_share_its_day(parameters: LogParameters) -> None:
    """A table of catches has no outings: its lines of a date are compared with each other all the same."""
    loose = [segment(n, "tube" if n % 2 else "popper", 2.0, 3 if n % 2 else 1, day=n // 2) for n in range(20)]
    outings = [replace(one, outing=one.outing // 2, marks=(one.outing, 900)) for one in loose]
    learned, same_day = learn(loose, GROUPS, parameters, TODAY), learn(outings, GROUPS, parameters, TODAY)
    assert learned.effect("tube").log == pytest.approx(same_day.effect("tube").log, abs=1e-9)


def test_what_is_said_changes_only_after_every_tenth_outing(parameters: LogParameters) -> None:
    rows = season({"tube": 3, "spinnerbait": 1, "popper": 1}, days=20, hours=2.0)
    cut = [learn([one for one in rows if one.outing < 10 * days], GROUPS, parameters, TODAY) for days in range(21)]
    assert [one.effect("tube").stated for one in cut] == [""] * 10 + ["better"] * 11
    late = rows[:30] + [replace(one, fish=()) if one.presentation == "tube" else one for one in rows[30:57]]
    assert (
        learn(late, GROUPS, parameters, TODAY).effect("tube").stated
        == learn(late[:30], GROUPS, parameters, TODAY).effect("tube").stated
    )
    assert learn(late, GROUPS, parameters, TODAY).effect("tube").log < cut[10].effect("tube").log


def test_a_small_difference_is_never_worth_a_word(parameters: LogParameters) -> None:
    """A tenth more in a very long log ranks higher, and is not called better."""
    rows = season({"tube": 11, "popper": 10}, days=100, hours=20.0)
    rows = [replace(one, start=one.start - (end := timedelta(days=690)), end=one.end - end) for one in rows]
    learned = learn(rows, GROUPS, parameters, TODAY)
    assert learned.effect("tube").log > 0.0
    assert learned.effect("tube").better > 0.9
    assert learned.effect("tube").stated == ""


def test_better_over_all_is_not_said_where_it_is_not_likely(parameters: LogParameters) -> None:
    """With covers that differ more than is taken to be usual."""
    wide = replace(parameters, learning=replace(parameters.learning, sd_cell=0.3))
    rows = season({"tube": 6, "spinnerbait": 1, "popper": 1}, days=24, cover=Cover.ROCK) + [
        replace(one, outing=one.outing + 5000, marks=(one.outing + 5000,))
        for one in season({"tube": 0, "spinnerbait": 2, "popper": 2}, days=8, cover=Cover.PADS)
    ]
    learned = learn(rows, GROUPS, wide, TODAY)
    assert learned.effect("tube").stated == learned.effect("tube", Cover.ROCK).stated == "better"
    assert learned.effect("tube", Cover.PADS).stated == ""


def test_a_trial_goes_to_what_is_little_known_and_may_be_good(parameters: LogParameters) -> None:
    box = dict.fromkeys(("tube", "spinnerbait", "popper"), 1.0)
    assert learn([], GROUPS, parameters, TODAY).to_try(box) == "popper"  # of equals the first by name
    rows = season({"tube": 2, "spinnerbait": 2}, days=20)
    assert learn(rows, GROUPS, parameters, TODAY).to_try(box) == "popper"
    assert learn(rows, GROUPS, parameters, TODAY).to_try({**box, "popper": 0.2}) in {"tube", "spinnerbait"}
    poor = rows + [segment(900 + day, "popper", 6.0, 0, day=7 * day) for day in range(10)]
    assert learn(poor, GROUPS, parameters, TODAY).to_try(box) != "popper"
    assert learn(poor, GROUPS, parameters, TODAY).to_try({}) == ""
    assert try_words("popper", 45.0) == (
        "For the log: 45 minutes of today on the popper, on the same spot and in the same hour as your other rod; "
        "your log can't tell yet which of the two is better."
    )


def test_fish_without_effort_teach_nothing(parameters: LogParameters) -> None:
    known = season({"tube": 1, "spinnerbait": 1})
    loose = [segment(1000 + n, "tube", 1.0, 5, day=n, minutes_known=False) for n in range(20)]
    assert same(learn(known + loose, GROUPS, parameters, TODAY), learn(known, GROUPS, parameters, TODAY))
    assert learn(loose, GROUPS, parameters, TODAY).factors() == {}


def test_too_few_hours_or_days_say_nothing(parameters: LogParameters) -> None:
    one_day = [segment(n, "tube", 3.0, 4, day=0) for n in range(3)]
    assert learn(one_day, GROUPS, parameters, TODAY).factors() == {}
    short = season({"tube": 2}, days=4, hours=1.0)
    assert learn(short, GROUPS, parameters, TODAY).factors() == {}
    assert not LogLearned(parameters.learning, {}, {}).enough("tube")


def test_what_the_trade_knew_is_not_learned_again(parameters: LogParameters) -> None:
    """Where the trade already rates one lure higher, the same catch speaks less for it."""
    plain = season({"tube": 2, "spinnerbait": 1})
    told = [replace(one, prior=1.0 if one.presentation == "tube" else 0.25) for one in plain]
    assert (
        learn(told, GROUPS, parameters, TODAY).effect("tube").log
        < 0.6 * learn(plain, GROUPS, parameters, TODAY).effect("tube").log
    )


def test_a_lure_may_do_better_in_one_cover(parameters: LogParameters) -> None:
    rows = season({"tube": 3, "spinnerbait": 1}, cover=Cover.ROCK) + [
        replace(one, outing=one.outing + 5000) for one in season({"tube": 1, "spinnerbait": 3}, cover=Cover.PADS)
    ]
    learned = learn(rows, GROUPS, parameters, TODAY)
    assert learned.effect("tube", Cover.ROCK).log > 0.1 + learned.effect("tube", Cover.PADS).log
    assert abs(learned.effect("tube").log) < 0.1


def test_a_presentation_borrows_from_its_group(parameters: LogParameters) -> None:
    rows = season({"tube": 3, "spinnerbait": 1, "popper": 1}, days=10) + [
        segment(900 + day, "texas_worm", 2.0, 1, day=7 * day) for day in range(3)
    ]
    apart = {**GROUPS, "texas_worm": "finesse"}
    joined = learn(rows, GROUPS, parameters, TODAY).effect("texas_worm").log
    assert joined > learn(rows, apart, parameters, TODAY).effect("texas_worm").log


def test_old_seasons_fade(parameters: LogParameters) -> None:
    rows = season({"tube": 3, "spinnerbait": 1}, days=6)
    fresh = learn(rows, GROUPS, parameters, TODAY).effect("tube").log
    old = learn(rows, GROUPS, parameters, date(2032, 8, 1)).effect("tube").log
    assert 0.0 < old < 0.6 * fresh


def same(first: LogLearned, second: LogLearned) -> bool:
    return (
        first.tallies == second.tallies
        and first.said == second.said
        and first.columns == second.columns
        and first.mean.tobytes() == second.mean.tobytes()
        and first.covariance.tobytes() == second.covariance.tobytes()
    )


def test_the_same_log_in_any_order_gives_the_same_bytes(parameters: LogParameters) -> None:
    rows = season({"tube": 2, "spinnerbait": 1, "popper": 0})
    mixed = rows[:]
    random.Random(3).shuffle(mixed)
    assert same(learn(rows, GROUPS, parameters, TODAY), learn(mixed, GROUPS, parameters, TODAY))


def test_what_is_taken_out_leaves_no_trace(parameters: LogParameters) -> None:
    rows = season({"tube": 1, "spinnerbait": 1})
    more = segment(777, "popper", 3.0, 9, day=3)
    assert same(learn([*rows, more][:-1], GROUPS, parameters, TODAY), learn(rows, GROUPS, parameters, TODAY))
    assert not same(learn([*rows, more], GROUPS, parameters, TODAY), learn(rows, GROUPS, parameters, TODAY))


def test_the_mode_solves_the_score_equation(parameters: LogParameters) -> None:
    """At the mode a presentation's fish less those expected equal its own pull toward zero (checked by brute force)."""
    rows = [segment(day, "tube", 4.0, 3, day=day) for day in range(5)]
    learned = learn(rows, {}, parameters, date(2026, 5, 2))
    own = parameters.learning
    weights = [0.5 ** ((date(2026, 5, 2) - date(2026, 5, 2)).days / own.half_life_days)]
    only = learn(rows[:1], {}, parameters, date(2026, 5, 2))
    names = {key: float(only.mean[at]) for key, at in only.columns.items()}
    spread = {"rate": own.sd_rate, "group": own.sd_group, "presentation": own.sd_presentation}
    pulls = {key: value / spread.get(key[0], own.sd_cell) ** 2 for key, value in names.items()}
    assert np.ptp(list(pulls.values())) == pytest.approx(0.0, abs=1e-6)
    surplus = next(iter(pulls.values()))
    day = surplus * own.sd_day**2
    expected = 4.0 * own.usual_per_h * np.exp(sum(names.values()) + day)
    assert weights[0] * (3.0 - expected) == pytest.approx(surplus, abs=1e-6)
    assert learned.tallies["tube"].days == 1  # only the first of them is not in the future


def test_words() -> None:
    from briefing.core.log.learning import Effect, Tally

    tally = Tally(9, 31.0, 12, 23, 80.0)
    assert log_words(tally, (2, 1), Effect(0.3, 0.2, 0.93, "")) == (
        "Your log: 9 of 23 fish, 31 of 80 hours on this lure; moved from second to first here."
    )
    assert log_words(tally, None, Effect(0.3, 0.2, 0.97, "better")).endswith(
        "better than the lure's name, place unchanged here."
    )
    assert order_changes(["a", "b"], ["b", "a"], "b") == (2, 1)
    assert order_changes(["a", "b"], ["a", "b"], "b") is None
    assert order_changes(["a"], ["b"], "b") is None
    assert (place_word(1), place_word(12)) == ("first", "12th")


def test_the_briefings_choices_stand_beside_own_ideas() -> None:
    told = [replace(segment(n, "tube", 3.0, 1, day=n), planned=True) for n in range(4)]
    own = [replace(segment(n, "tube", 2.0, 2, day=n), planned=False) for n in range(4)]
    assert planned_words(told + own) == (
        "Choices of the briefing: 4 fish in 12 h (0.33 an hour); your own ideas: 8 in 8 h (1.00 an hour). "
        "Your own ideas lead so far."
    )
    assert planned_words(told) == ""
    assert planned_words([segment(n, "tube", 9.0, 1, day=n) for n in range(4)]) == ""
