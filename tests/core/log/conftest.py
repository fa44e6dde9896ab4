"""Parameters of the program's own file, and makers of marks and segments."""

from datetime import UTC, datetime, timedelta

import pytest

from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import Condition, Fish, Mark, MarkKind, Segment
from briefing.resources import read_toml
from briefing.vocabulary import Cover

SIX = datetime(2026, 5, 2, 10, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def parameters() -> LogParameters:
    return LogParameters.from_mapping(read_toml("log.toml"))


def at(minutes: float) -> datetime:
    """Minutes after the start of the day that the tests use."""
    return SIX + timedelta(minutes=minutes)


def mark(number: int, after: float, kind: MarkKind = MarkKind.MARK, **said: object) -> Mark:
    """An entry of the outing that entry 1 began."""
    outing = said.pop("outing", None if kind is MarkKind.START else 1)
    return Mark(kind, at(after), id=number, outing=outing, **said)  # type: ignore[arg-type]


def segment(
    outing: int,
    presentation: str,
    hours: float,
    fish: int,
    *,
    day: int = 0,
    cover: Cover = Cover.DOCK,
    phase: str = "summer",
    minutes_known: bool = True,
    prior: float | None = None,
) -> Segment:
    """A segment of some day with a number of fish."""
    begin = SIX + timedelta(days=day)
    conditions = {"phase": Condition(phase, "modelled", "briefing"), "secchi_m": Condition(1.0, "entered", "you")}
    return Segment(
        outing=outing, start=begin, end=begin + timedelta(hours=hours),
        minutes=60.0 * hours if minutes_known else None, effort="clocked" if minutes_known else "unknown",
        spot="", cover=cover, depth_m=None, presentation=presentation, weight_g=None,
        fish=tuple(Fish(0.35) for _ in range(fish)), contacts=0, follows=0, marks=(outing,), planned=None,
        prior=prior, conditions=conditions,
    )  # fmt: skip
