"""What changed, in words made of two mornings' facts in the reader's units."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from briefing.core.record import MorningRecord, PeakGust, SurfaceWater, Uncompared
from briefing.sections.changes import ChangesSection, fill_changes
from briefing.units import Units
from briefing.vocabulary import Level

ZONE = ZoneInfo("America/Chicago")
NOW = datetime(2026, 4, 18, 10, 10, tzinfo=UTC)
OLD = MorningRecord(
    day=date(2026, 4, 18),
    made_at=NOW,
    level=Level.WITHIN_LIMITS,
    off_water_by=NOW + timedelta(hours=6),
    official=("Lake Wind Advisory",),
    gust=PeakGust(7.0, NOW.replace(hour=15, minute=0), estimated=True),
    water=SurfaceWater(16.1, 15.0, 17.2),
)
NEW = replace(
    OLD,
    made_at=NOW + timedelta(hours=1),
    level=Level.STOP,
    off_water_by=None,
    official=("Wind Advisory",),
    gust=PeakGust(11.17, NOW.replace(hour=14, minute=0), estimated=False),
    water=SurfaceWater(18.3, 17.0, 19.4),
)


def filled(
    earlier: MorningRecord | Uncompared | None, new: MorningRecord = NEW, units: Units = "us", limit_mps: float = 20.0
) -> ChangesSection:
    return fill_changes(earlier, new, zone=ZONE, units=units, gust_limits_mps=(limit_mps,))


def test_each_change_is_told_from_the_old_value_to_the_new_one() -> None:
    section = filled(OLD)
    assert section.compared_with == OLD.made_at
    assert section.lines == (
        "Your hours: within your limits before, over your limits now.",
        "Off the water by: 11:10 before, none now.",
        "New official warning: Wind Advisory.",
        "Lake Wind Advisory: not listed any more. That alone is no all-clear.",
        "Strongest gust: 16 mph, estimated, at 10:00 before, 25 mph at 09:00 now.",
        "Water, main lake: 61 F, 59 to 63 F before, 65 F, 63 to 67 F now.",
    )


def test_the_old_morning_is_told_in_the_units_that_the_reader_has_now() -> None:
    gust, water = filled(OLD, units="metric").lines[-2:]
    assert gust == "Strongest gust: 7.0 m/s, estimated, at 10:00 before, 12 m/s at 09:00 now."
    assert water.startswith("Water, main lake: 16.1 C, ")


def test_a_gust_under_a_limit_does_not_read_as_at_it() -> None:
    assert "24.9 mph" in filled(OLD, limit_mps=11.176).lines[4]


def test_nothing_of_weight_says_when_it_was_compared() -> None:
    section = filled(OLD, replace(OLD, made_at=NEW.made_at))
    assert section.lines == ("No important change since 05:10.",)


def test_a_value_that_only_one_of_two_mornings_knew_is_told() -> None:
    lines = filled(OLD, replace(OLD, gust=None, water=None)).lines
    assert lines == (
        "Gusts: known in only one of the two briefings.",
        "Water, main lake: known in only one of the two briefings.",
    )


@pytest.mark.parametrize("why", list(Uncompared))
def test_an_earlier_morning_that_can_not_be_read_is_said_to_be_so(why: Uncompared) -> None:
    section = filled(why)
    (line,) = section.lines
    assert section.compared_with is None
    assert line.startswith("Not compared with the last briefing for this day: ")
    assert line.endswith("What has changed since is not known.")
    assert "first briefing" not in line


def test_without_an_earlier_morning_that_is_said() -> None:
    assert filled(None).lines == ("First briefing for this day: what changed is not known.",)


def worse(new: MorningRecord, *because: str) -> str:
    old = replace(OLD, official=new.official[:1])
    return fill_changes(
        old, replace(new, off_water_by=old.off_water_by, water=old.water), zone=ZONE, units="us", because=because
    ).short


def test_a_level_that_got_worse_says_by_what() -> None:
    storm = replace(NEW, official=(), gust=OLD.gust)
    assert worse(storm, "thunder") == "over your limits now (thunder), before within your limits"


def test_gusts_that_did_not_grow_are_not_why_a_level_got_worse() -> None:
    for gust in (OLD.gust, PeakGust(6.9, NOW, estimated=False), None):
        assert "gusts" not in worse(replace(NEW, official=(), gust=gust), "thunder")
    assert "gusts 25 mph, before 16 mph" in worse(replace(NEW, official=()), "wind")


def test_a_new_warning_is_named_beside_a_level_that_moved() -> None:
    watch = replace(NEW, official=("Lake Wind Advisory", "Tornado Watch"), gust=OLD.gust)
    assert worse(watch, "thunder").endswith("; new: Tornado Watch")
    assert worse(watch, "Tornado Watch") == "over your limits now (Tornado Watch), before within your limits"


def test_of_hours_that_are_over_nothing_is_compared() -> None:
    section = fill_changes(OLD, NEW, zone=ZONE, units="us", over=True)
    assert section.lines == ("No hours are left to compare.",)
