"""One switch an hour: the rule that fits what the forecast does in that hour, else the next of the usual order."""

from __future__ import annotations

from datetime import timedelta

from briefing.core.advice.knowledge import Switch
from briefing.core.advice.plan.blocks import turn_deg
from briefing.core.advice.plan.types import Block, HourSwitch, PlanHour, PlanInputs, Stop

#: Changes of the forecast from one hour to the next, as the situation words of the switch rules.
WIND_UP, WIND_DROPS, WIND_SHIFT, SUN_OUT, CLOUD_IN = "wind_up", "wind_drops", "wind_shift", "sun_out", "cloud_in"
_WIND_STEP_MPS = 1.5
_WIND_FELT_MPS = 4.0
_GLASS_MPS = 1.5
_TURN_DEG = 45.0
_CLOUD_STEP = 0.3


def hour_signals(before: PlanHour | None, hour: PlanHour) -> frozenset[str]:
    """What changes in an hour against the one before; comparisons with missing values never count as a change."""
    if before is None:
        return frozenset()
    signals = set()
    if hour.wind_mps >= _WIND_FELT_MPS and hour.wind_mps - before.wind_mps >= _WIND_STEP_MPS:
        signals.add(WIND_UP)
    if hour.wind_mps <= _GLASS_MPS < before.wind_mps:
        signals.add(WIND_DROPS)
    if hour.wind_mps >= 2.0 and turn_deg(before.wind_from_deg, hour.wind_from_deg) >= _TURN_DEG:
        signals.add(WIND_SHIFT)
    if before.cloud_fraction - hour.cloud_fraction >= _CLOUD_STEP:
        signals.add(SUN_OUT)
    if hour.cloud_fraction - before.cloud_fraction >= _CLOUD_STEP:
        signals.add(CLOUD_IN)
    return frozenset(signals)


def hour_switches(inputs: PlanInputs, block: Block, stops: tuple[Stop, ...]) -> tuple[HourSwitch, ...]:
    """One switch for each hour of the block that is inside the window.

    Rules whose ``fits`` hold a signal of the hour go first, then rules of the presentations tied on, then the rules
    that always hold, in the order they are given; no rule twice in a day until all have been used.
    """
    launch, off = inputs.launch_from, inputs.off_water_by
    if launch is None or off is None or not inputs.switches:
        return ()
    start, end = max(block.start, launch), min(block.end, off)
    tied_on = {choice.id for stop in stops for choice in stop.choices[:2]}
    found: list[HourSwitch] = []
    for number, hour in enumerate(inputs.hours):
        at = max(hour.start, launch)
        if not start <= at < end or hour.start + timedelta(hours=1) <= launch:
            continue
        signals = hour_signals(inputs.hours[number - 1] if number else None, hour)
        rule = _rule(inputs.switches, signals, tied_on, number)
        found.append(HourSwitch(at, rule, f"If {rule.when}: {rule.then}, because {rule.because}."))
    return tuple(found)


def _rule(rules: tuple[Switch, ...], signals: frozenset[str], tied_on: set[str], number: int) -> Switch:
    """The rule of an hour. Rules of a signal are about the weather; the others take turns by the hour's number."""
    weather = {WIND_UP, WIND_DROPS, WIND_SHIFT, SUN_OUT, CLOUD_IN}
    now = [rule for rule in rules if signals & set(rule.fits)]
    if now:
        return now[0]
    usual = [rule for rule in rules if not weather & set(rule.fits)] or list(rules)
    own = [rule for rule in usual if tied_on & set(rule.presentations)]
    pool = own + [rule for rule in usual if rule not in own and not rule.presentations]
    return (pool or usual)[number % len(pool or usual)]
