"""One switch an hour: the rule that fits what the forecast does in that hour, else the next of the usual order."""

from __future__ import annotations

from datetime import timedelta

from briefing.core.advice.knowledge import Switch
from briefing.core.advice.plan.blocks import turn_deg
from briefing.core.advice.plan.types import Block, HourSwitch, PlanHour, PlanInputs, Stop

#: Changes of the forecast from one hour to the next, named as the switch rules that answer them.
WIND_RISES, WIND_DROPS, WIND_SHIFT, SUN_OUT, CLOUD_IN = "wind_rises", "wind_drops", "wind_shift", "sun_out", "cloud_in"
_WEATHER = frozenset({WIND_RISES, WIND_DROPS, WIND_SHIFT, SUN_OUT, CLOUD_IN, "thunder"})
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
        signals.add(WIND_RISES)
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
    """One switch for each hour that begins (for the craft) in this block.

    A rule whose id is a change of the hour's forecast goes first. Otherwise the rules that need no weather take turns
    in the order they are given, hour by hour from the launch; rules with situation words only where a stop has them
    all, rules about certain lures only where one of these is among the first two choices of a stop.
    """
    launch, off = inputs.launch_from, inputs.off_water_by
    if launch is None or off is None or not inputs.switches:
        return ()
    start, end = max(block.start, launch), min(block.end, off)
    usual = _usual(inputs, stops)
    found: list[HourSwitch] = []
    for number, hour in enumerate(inputs.hours):
        at = max(hour.start, launch, inputs.blocks[0].start)
        if not start <= at < end or hour.start + timedelta(hours=1) <= launch:
            continue
        signals = hour_signals(inputs.hours[number - 1] if number else None, hour)
        rule = next((rule for rule in inputs.switches if rule.id in signals), None)
        if rule is None and usual:
            turn = round((hour.start - launch) / timedelta(hours=1) + 0.5)
            rule = usual[turn % len(usual)]
        if rule is not None:
            found.append(HourSwitch(at, rule, _told(rule)))
    return tuple(found)


def _usual(inputs: PlanInputs, stops: tuple[Stop, ...]) -> list[Switch]:
    """The rules that take turns in a block."""
    words = {spot.id: spot.words for spot in inputs.spots}
    here = frozenset().union(*(words[stop.spot_id] for stop in stops))
    tied_on = {choice.id for stop in stops for choice in stop.choices[:2]}
    return [
        rule
        for rule in inputs.switches
        if rule.id not in _WEATHER
        and set(rule.fits) <= here
        and (not rule.presentations or not tied_on or tied_on & set(rule.presentations))
    ]


def _told(rule: Switch) -> str:
    """The sign, what to do at it, and why, as "Fish follow: slow down. They lose the lure."."""
    return f"{rule.when[:1].upper()}{rule.when[1:]}: {rule.then}. {rule.because[:1].upper()}{rule.because[1:]}."
