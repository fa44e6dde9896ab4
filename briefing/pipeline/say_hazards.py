"""The parts of a briefing that can hurt: cautions, the hours, what stands before and after the day's sentence."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from briefing import units
from briefing.core.advice.measures import localised
from briefing.core.readings import WindReading
from briefing.core.wind.alerts import ActiveAlert
from briefing.core.wind.banks import bank_words
from briefing.core.wind.cautions import CautionFacts, usual_cautions
from briefing.core.wind.events import Consequence
from briefing.core.wind.heat import wind_chill_c
from briefing.core.wind.level import HourLevel
from briefing.core.wind.limits import cold_band, cold_factor
from briefing.core.wind.note_text import FloatPlan, float_plan_text
from briefing.core.wind.travel import PADDLED
from briefing.core.wind.words import part, speed
from briefing.pipeline.advice import Advised
from briefing.pipeline.experience import wind_notes
from briefing.pipeline.hazard import BIG_LAKE_KM2, Hazards, alerts_stale
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import below_dam, dressed_for_immersion
from briefing.profile.model import Flag, LakeProfile
from briefing.sections import cautions as caution_section
from briefing.sections.clock import clock, nearest_minute, rounded_down
from briefing.sections.country import emergency_number, rescue_area, told, told_table
from briefing.sections.day import Answer, HoursOut, Names, hours_out
from briefing.sections.hours import HoursSection, fill_hours
from briefing.sections.words import CRAFT_NAME, FACTOR_WORD, LEVEL_MARK, ZONE_NAME, listed, listed_few, upper_first
from briefing.vocabulary import Level

#: A measured direction this far from the forecast's is told, where either wind is stronger than this.
OTHER_WAY_DEG, OTHER_WAY_MPS = 60.0, 1.5
#: A measured speed this far from the forecast's, and by this share of it, is told.
OTHER_SPEED_MPS, OTHER_SPEED_SHARE = 2.0, 0.4
#: Air from here down may leave ice on ramp and deck.
ICE_C = 2.0
#: From this wind chill down it is told.
CHILL_C = 0.0
#: Levels with words of their own for a day without hours on the water.
_ASHORE = ("stop", "unknown")
#: Waves below this are only nominal.
NOTABLE_WAVE_M = 0.1
#: Usual cautions, by id, that stand before all others: what can be left out of a long day's reminders are the last.
_FIRST = ("alone_in_the_cold", "cold_water", "cool_water", "alone")


def before_all(inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, advised: Advised) -> tuple[str, ...]:
    """What must be read before the hours: a closed season, cool water met alone, a wind that is not as forecast."""
    out = []
    if advised.closed_season:
        out.append(
            f"Closed season by your own note: {advised.closed_season.rstrip('.')}. Check the rule before you fish."
        )
    if alone_on_cool_water(inputs.profile, hazards):
        low = _coldest_c(hazards)
        how = "not known"
        if low is not None:
            how = f"perhaps as cold as {units.show_temperature(low, inputs.reader.units, both=False)}"
        lead = f"Alone, water {how}, no immersion clothing"
        band = cold_band(knowledge.limits, float("nan") if low is None else low)
        if band.level is Level.WITHIN_LIMITS:
            afloat = "stay where you can stand or swim ashore in a minute"
            powered = "cut-off link clipped on, ladder in reach, never far from a bank"
            out.append(f"{lead}: {afloat if inputs.reader.craft in PADDLED else powered}.")
        else:
            out.append(f"{lead}. {band.text.rstrip('.')}. Keep within a minute of a bank.")
    said = measured_otherwise(inputs)
    if said is not None:
        out.append(
            f"Wind last measured from {said.seen}, forecast from {said.forecast}: look at the ramp which it is. "
            "Shelter, wind-blown banks and ways home below rest on the forecast."
        )
    return tuple(out)


def alone_on_cool_water(profile: LakeProfile, hazards: Hazards) -> bool:
    """Tell whether somebody goes alone onto water cold enough to cut the limits, if not to stay ashore for."""
    return profile.alone and hazards.cold_share < 1.0 and not hazards.very_cold


def alone_in_the_cold(profile: LakeProfile, hazards: Hazards) -> bool:
    """Tell whether somebody goes alone onto very cold water without clothing for it."""
    return profile.alone and hazards.cold_share < 1.0 and hazards.very_cold


def answer_of(profile: LakeProfile, hazards: Hazards, system: units.Units) -> Answer | None:
    """The answer of a morning on a lake that may be under ice, or on very cold water alone and without clothing for it.

    As things stand, stay ashore.
    """
    cold = alone_in_the_cold(profile, hazards)
    if hazards.iced:
        with_whom = ", with a second person" if cold else ""
        return Answer(
            why="The water model has ice on the lake.",
            condition=f"Only on water that you have seen open{with_whom} and dressed for it",
            because="ice",
        )
    if not cold:
        return None
    low = _coldest_c(hazards)
    text = (
        "very cold water" if low is None else f"coldest water perhaps {units.show_temperature(low, system, both=False)}"
    )
    return Answer(
        why=f"Alone, no immersion clothing, {text}.",
        condition="Only with a second person and dressed for the water",
        because=FACTOR_WORD["cold_water"],
    )


def out_of(inputs: MorningInputs, hazards: Hazards) -> HoursOut | None:
    """The hours on the water as the headline tells them; None without a window."""
    return hours_out(
        hazards.levels,
        hazards.windows,
        hazards.deadlines,
        launch=inputs.outing.launch,
        back=inputs.outing.back,
        fixed_launch=inputs.outing.fixed_launch,
        now=inputs.now,
    )


def names_of(profile: LakeProfile, hazards: Hazards, advised: Advised | None = None) -> Names:
    """Official alerts by name, the sun of the day, and what the plan stays away from."""
    away = advised is not None and keeps_off_tailwater(profile, advised)
    events: dict[str, list[str]] = {}
    for active in hazards.alerts.active:
        events.setdefault(active.alert.id, []).append(active.alert.event)
    return Names(
        events={id_: listed(list(dict.fromkeys(names))) for id_, names in events.items()},
        light=hazards.light[1],
        off_route=frozenset({FACTOR_WORD["tailwater"]} if away else ()),
        always=("cool water alone",) if alone_on_cool_water(profile, hazards) else (),
    )


def keeps_off_tailwater(profile: LakeProfile, advised: Advised) -> bool:
    """Tell whether there is a plan and none of its stops lies below a dam."""
    below = {spot.id for spot in profile.spots if Flag.TAILWATER in spot.flags}
    return bool(advised.plan.stops) and not below & {stop.spot_id for stop in advised.plan.stops}


def _aside(one: caution_section.Caution, profile: LakeProfile) -> caution_section.UsualCaution:
    """A tailwater that no stop of the plan lies in, said to be so."""
    level = "caution" if one.level is Level.CAUTION else LEVEL_MARK[one.level]
    text = f"{level} {one.when}; no place of today's plan lies there."
    return caution_section.UsualCaution(
        title=f"{one.title}, {listed_few(below_dam(profile), 2)}", text=upper_first(text), source="your profile"
    )


def _as_answer(one: caution_section.Caution) -> caution_section.Caution:
    """Very cold water met alone, which decides the day, at the level that it has at the top of the page."""
    if one.name != "cold_water":
        return one
    return one.model_copy(update={"level": Level.STOP, "title": f"{one.title}, alone, no immersion clothing"})


def _ice(words: Mapping[str, str], begin: datetime, zone: ZoneInfo, day: date) -> caution_section.Caution:
    """Ice that the water model has on the lake: where it lies and how thick it is, no source tells."""
    return caution_section.Caution(
        level=Level.STOP,
        name="ice",
        factors=("ice",),
        title=words["title"],
        when=f"from {clock(begin, zone, day)} on, all day",
        begin=begin,
        end=None,
        text=words["text"],
        number=None,
        limit=None,
        unit="",
        source="water model",
        action=words["stop"],
    )


def _coldest_c(hazards: Hazards) -> float | None:
    low = hazards.water_low_c[np.isfinite(hazards.water_low_c)]
    return float(low.min()) if low.size else None


def on_the_water(inputs: MorningInputs, hazards: Hazards) -> tuple[str, ...]:
    """The first way home to become hard while out, and waves onto the ramp."""
    out = []
    if hazards.hard_leg is not None and hazards.hard_leg.hour < _off_water(inputs, hazards):
        at = clock(hazards.hard_leg.hour, inputs.profile.zone, inputs.day)
        how = hazards.hard_leg.because.removeprefix(f"{hazards.hard_leg.leg}: ")
        out.append(f"The first way home to become hard, from {at} on: {hazards.hard_leg.leg} ({how}).")
    for ramp in hazards.ramps[:1]:
        if ramp.faces_waves and ramp.hs_m >= NOTABLE_WAVE_M:
            out.append(ramp.text)
    return tuple(out)


def cautions_of(
    inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, advised: Advised, shown: Sequence[HourLevel]
) -> caution_section.CautionsSection:
    """Every hazard of the outing, official alerts as issued, the usual cautions and the float plan."""
    profile, zone = inputs.profile, inputs.profile.zone
    begin = max(inputs.now, min((one.hour for one in shown), default=inputs.outing.launch))
    end = max((one.hour for one in shown), default=inputs.outing.back) + timedelta(hours=1)

    def consequence(active: ActiveAlert) -> Consequence:
        return knowledge.events.consequence(
            active.alert,
            profile.craft,
            profile.skill,
            moving_water=profile.river_fed,
            big_lake=profile.area_km2 >= BIG_LAKE_KM2,
        )

    country, latitude = inputs.reader.country, profile.latitude
    actions = told_table(knowledge.actions, country, latitude)
    if out_of(inputs, hazards) is None:
        actions = {
            name: {
                **words,
                **{level: words.get(f"{level}_ashore", words[level]) for level in _ASHORE if level in words},
            }
            for name, words in actions.items()
        }
    light, off = hazards.light[1], _off_water(inputs, hazards)
    # official warnings that can't be read are told by the state of the feed, above all entries
    instead: dict[str, caution_section.Caution | None] = {"alerts": None}
    if alone_on_cool_water(profile, hazards):  # told before all else, by `before_all`
        instead["cold_water"] = None
    if light.dawn and light.sunrise and light.sunset and light.dusk:
        words = actions.get("darkness", {})
        instead["darkness"] = caution_section.dark_caution(
            light, _launch(inputs, hazards), off, words, zone, inputs.day
        )
    items, rest = caution_section.fill_caution_items(
        hazards.levels,
        begin,
        end,
        actions,
        zone=zone,
        day=inputs.day,
        lead=("cold_water",) if alone_in_the_cold(profile, hazards) else (),
        instead=instead,
        out=_launch(inputs, hazards),
        back=inputs.outing.back,
    )
    aside: list[caution_section.UsualCaution] = []
    if keeps_off_tailwater(profile, advised):
        aside = [_aside(one, profile) for one in (*items, *rest) if one.name == "tailwater"]
        items, rest = (tuple(one for one in part if one.name != "tailwater") for part in (items, rest))
    if alone_in_the_cold(profile, hazards):
        items = tuple(_as_answer(one) for one in items)
    if hazards.iced:
        items = (_ice(actions["ice"], begin, zone, inputs.day), *items)
    rest_of_day = max(end, datetime.combine(inputs.day + timedelta(days=1), time(), tzinfo=zone))
    official = caution_section.fill_official(
        hazards.alerts, consequence, begin=begin, end=rest_of_day, out_until=end, zone=zone, day=inputs.day
    )
    issued = _told_as_issued(hazards, begin, rest_of_day)
    facts = _caution_facts(inputs, hazards, advised, shown)
    items, usual = _with_reminders(items, _usual(inputs, knowledge, hazards, facts))
    first = [usual.pop(id_) for id_ in _FIRST if id_ in usual]
    return caution_section.CautionsSection(
        items=items,
        more_text=caution_section.more_text(rest),
        official=official,
        alerts_state=" ".join(
            [
                *_unread_messages(shown, issued),
                caution_section.alerts_state_text(
                    hazards.alerts,
                    len(official),
                    zone=zone,
                    day=inputs.day,
                    now=inputs.now,
                    stale=alerts_stale(hazards.alerts, knowledge, inputs.now),
                    country=country,
                ),
            ]
        ),
        alerts_known=not any(
            f.name == "alerts" and f.level is Level.UNKNOWN and f.ref not in issued
            for one in shown
            for f in one.factors
        ),
        # that no service of warnings is read here, the state of the feed has told
        standing=tuple(
            dict.fromkeys(f.text for one in shown for f in one.factors if f.standing and f.name != "alerts")
        ),
        checked=caution_section.checked_text(shown, actions, apart=("cold_water",) if hazards.cold_share < 1.0 else ()),
        usual=(
            *first,
            *_hazards_of_spots(profile, advised),
            *_cold_air(inputs, hazards),
            *usual.values(),
            *aside,
        ),
        usual_check=knowledge.cautions.check,
        float_plan=_float_plan(inputs, hazards, advised),
    )


def _told_as_issued(hazards: Hazards, begin: datetime, end: datetime) -> frozenset[str]:
    """Ids of the official messages in force between two instants: each has an entry of its own."""
    active = hazards.alerts.active
    return frozenset(a.alert.id for a in active if a.begin < end and (a.end is None or a.end > begin))


def _unread_messages(shown: Sequence[HourLevel], told: Collection[str]) -> tuple[str, ...]:
    """What is said of official messages that make hours not known, each once; of the feed its own state tells.

    Those that stand as issued, by id in ``told``, say it there.
    """
    unread = (f for one in shown for f in one.factors if f.name == "alerts" and f.level is Level.UNKNOWN and f.ref)
    return tuple(dict.fromkeys(factor.text for factor in unread if factor.ref not in told))


def _usual(
    inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, facts: CautionFacts
) -> dict[str, caution_section.UsualCaution]:
    """The usual cautions that apply, by id, in the words of the reader's country and units."""
    country, latitude = inputs.reader.country, inputs.profile.latitude
    out = {}
    for one in usual_cautions(knowledge.cautions, facts):
        text = _with_lights(one.id, told(one.text, country, latitude), inputs, hazards)
        out[one.id] = caution_section.UsualCaution(
            title=one.title, text=localised(text, inputs.reader.units), source=one.source
        )
    return out


def _with_reminders(
    items: Sequence[caution_section.Caution], usual: Mapping[str, caution_section.UsualCaution]
) -> tuple[tuple[caution_section.Caution, ...], dict[str, caution_section.UsualCaution]]:
    """Each usual caution with the entry of its problem, where there is one: no problem is told in two places."""
    by_factor: dict[str, list[str]] = {}
    entries = {name for one in items for name in one.factors}
    for id_, one in usual.items():
        factor = caution_section.REMINDER_OF.get(id_, "")
        if factor in entries:
            by_factor.setdefault(factor, []).append(one.text)
    told_there = {id_ for id_ in usual if caution_section.REMINDER_OF.get(id_) in entries}
    with_them = tuple(
        one.model_copy(
            update={
                "reminder": _less(
                    " ".join(text for name in one.factors for text in by_factor.get(name, [])),
                    f"{one.text} {one.action}",
                )
            }
        )
        for one in items
    )
    return with_them, {id_: one for id_, one in usual.items() if id_ not in told_there}


def _less(text: str, told: str) -> str:
    """A text without the sentences that are told elsewhere."""
    return " ".join(one for one in re.split(r"(?<=[.!?]) ", text) if one and one not in told)


def _launch(inputs: MorningInputs, hazards: Hazards) -> datetime:
    """When the outing begins: as the headline has it, or as planned where no hour is open; never in the past."""
    out = out_of(inputs, hazards)
    return max(hazards.launch, inputs.now) if out is None else out.begin


def _off_water(inputs: MorningInputs, hazards: Hazards) -> datetime:
    return inputs.outing.back if hazards.deadlines is None else hazards.deadlines.off_water_by


def _hazards_of_spots(profile: LakeProfile, advised: Advised) -> tuple[caution_section.UsualCaution, ...]:
    """What the user noted as a hazard at a spot, those of the plan first, by the spot's name."""
    planned = {stop.spot_id for stop in advised.plan.stops}
    found = sorted((spot for spot in profile.spots if spot.hazard), key=lambda spot: spot.id not in planned)
    return tuple(
        caution_section.UsualCaution(title=spot.name, text=f"{spot.hazard.rstrip('.')}.", source="your own note")
        for spot in found
    )


def _cold_air(inputs: MorningInputs, hazards: Hazards) -> tuple[caution_section.UsualCaution, ...]:
    """Ice on the ramp, and how cold the air feels at the craft's speed; nothing where the air is mild."""
    profile, system = inputs.profile, inputs.reader.units
    window = hazards.series.window(
        hazards.launch, max(_off_water(inputs, hazards), hazards.launch + timedelta(hours=1))
    )
    air, wind = window.values("air_c"), window.values("wind_mps")
    if not np.isfinite(air).any():
        return ()
    low = float(np.nanmin(air))
    powered = profile.craft not in PADDLED
    blowing = float(np.nanmax(wind)) if np.isfinite(wind).any() else 0.0
    moving = max(profile.speed_mps, blowing) if powered else blowing
    chill = wind_chill_c(low, moving)
    said = units.show_temperature(low, system, both=False)
    parts = []
    if low <= ICE_C:
        parts.append(f"Air down to {said} may ice ramp, dock and deck.")
    if chill <= CHILL_C and chill < low:
        how = f"at your {units.show_wind(moving, system, both=False)}" if moving > blowing else "in the wind"
        parts.append(
            f"{'It' if low <= ICE_C else f'Air down to {said}'} feels like "
            f"{units.show_temperature(chill, system, both=False)} on bare skin {how}: "
            f"cover face and hands{', and run slower' if powered else ''}."
        )
    if not parts:
        return ()
    source = "National Weather Service, wind chill index of 2001"
    return (caution_section.UsualCaution(title="Cold air", text=" ".join(parts), source=source),)


def _with_lights(id_: str, text: str, inputs: MorningInputs, hazards: Hazards) -> str:
    """The rule for lights with today's times."""
    light, zone = hazards.light[1], inputs.profile.zone
    if not id_.startswith("lights") or light.sunrise is None or light.sunset is None:
        return text
    times = []
    if _launch(inputs, hazards) < light.sunrise:
        times.append(f"until {nearest_minute(light.sunrise, zone, inputs.day)}")
    if _off_water(inputs, hazards) > light.sunset:
        times.append(f"from {nearest_minute(light.sunset, zone, inputs.day)}")
    return f"{text} Today that is {' and '.join(times)}." if times else text


def _without_sun(inputs: MorningInputs, hazards: Hazards) -> bool:
    """Tell whether any part of the outing lies before sunrise or after sunset, or the sun is not known."""
    light = hazards.light[1]
    if light.sunrise is None or light.sunset is None:
        return True
    return _launch(inputs, hazards) < light.sunrise or _off_water(inputs, hazards) > light.sunset


def _caution_facts(
    inputs: MorningInputs, hazards: Hazards, advised: Advised, shown: Sequence[HourLevel]
) -> CautionFacts:
    profile = inputs.profile
    named = {factor.name for one in shown for factor in one.factors if factor.level is not Level.WITHIN_LIMITS}
    heat = [f.number for one in shown for f in one.factors if f.name == "heat" and f.number is not None]
    flags = {flag for spot in profile.spots for flag in spot.flags}
    return CautionFacts(
        craft=profile.craft,
        day=inputs.day,
        country=inputs.reader.country.code,
        south=profile.latitude < 0.0,
        water_low_c=_coldest_c(hazards),
        heat_index_max_c=max(heat, default=None),
        in_dark=_without_sun(inputs, hazards),
        fog="visibility" in named,
        alone=profile.alone,
        thunder="thunder" in named,
        moving_water=profile.river_fed or Flag.CURRENT in flags,
        tailwater=Flag.TAILWATER in flags and not keeps_off_tailwater(profile, advised),
        dam=Flag.LOW_HEAD_DAM in flags,
        weekend=inputs.day.weekday() >= 5,
    )


def _float_plan(inputs: MorningInputs, hazards: Hazards, advised: Advised) -> str:
    profile, ends, out = inputs.profile, hazards.deadlines, out_of(inputs, hazards)
    if ends is None or out is None:
        return ""
    several = profile.craft in PADDLED and not profile.alone
    ramp = inputs.outing.ramp or (profile.ramps[0].name if profile.ramps else "")
    place = next((one for one in profile.ramps if one.name == ramp), None)
    first: dict[str, datetime] = {}
    for stop in advised.plan.stops:
        first.setdefault(stop.spot, stop.arrive)
    plan = FloatPlan(
        name="",
        lake=profile.name,
        craft=CRAFT_NAME[inputs.reader.craft] + (" (how many: ____)" if several else ""),
        ramp=ramp or "the ramp",
        position=None if place is None else (place.latitude, place.longitude),
        spots=tuple(first.items()) if profile.spots else (),
        then=advised.plan.stops[-1].then if advised.plan.stops else "",
        launch=out.begin,
        off_water_by=out.off,
        call_at=rounded_down(ends.call_at),
        emergency=emergency_number(inputs.reader.country),
        rescue_area=rescue_area(inputs.reader.country),
        people=None if alone_in_the_cold(profile, hazards) else 1 if profile.alone else 2,
    )
    return float_plan_text(plan, profile.zone)


def hours_of(
    inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, shown: tuple[HourLevel, ...]
) -> HoursSection:
    """The hour table with its notes."""
    profile = inputs.profile
    answer = answer_of(profile, hazards, inputs.reader.units)
    held = [] if answer is None else ["As things stand every row is a stop."]
    notes = [*held, *_wind_now(inputs), *_banks(inputs, hazards, shown)]
    low = _coldest_c(hazards)
    in_all_hours = all(
        any(f.name == "cold_water" and f.level is not Level.WITHIN_LIMITS for f in h.factors) for h in shown
    )
    told = in_all_hours and not alone_on_cool_water(profile, hazards)
    if hazards.cold_share < 1.0 and not told:  # else an entry of the cautions tells it
        cold = "" if low is None else units.show_temperature(low, inputs.reader.units, both=False)
        may = f", perhaps {cold}" if cold else ""
        places = listed([f"the {ZONE_NAME[zone]}" for zone in hazards.zones], "or")
        where = f" in {places}" if low is not None and len(hazards.zones) > 1 else ""
        notes.append(
            f"Cold water{may}{where}, without immersion clothing in the profile: limits cut to "
            f"{part(hazards.cold_share)}."
        )
    elif (
        dressed_for_immersion(profile)
        and cold_factor(knowledge.limits, float("nan") if low is None else low, immersion_clothing=False) < 1.0
    ):
        notes.append(f"Limits are not cut for cold water: the profile says that you wear a {profile.clothing.value}.")
    if inputs.shape.assumed:
        notes.append(f"Waves: {inputs.shape.note}. A shoreline file makes them your lake's own.")
    more = profile.over_water_factor - 1.0
    stronger = f" Open water is given {more:.0%} more wind than forecast." if more > 0.0 else ""
    waves = (
        "Waves: significant height where they are worst on your ways, by two methods; a few an hour reach twice this."
    )
    if profile.is_guessed("mean_depth_m"):
        usual = units.show_depth(knowledge.rules.water.default_depth_m, inputs.reader.units, both=False)
        notes.append(f"The lake's mean depth is not known: waves are computed for {usual}.")
    hours = [one.hour for one in shown]
    notes += wind_notes(inputs, knowledge, hazards.correction, hazards.series, hazards.wind_factor, hours)
    return fill_hours(
        hazards.series,
        shown,
        hazards.wave_ranges(),
        hazards.limits_in_use,
        zone=profile.zone,
        day=inputs.day,
        system=inputs.reader.units,
        notes=tuple(notes),
        waves_text=f"{waves}{stronger}",
    )


def _banks(inputs: MorningInputs, hazards: Hazards, shown: Sequence[HourLevel]) -> tuple[str, ...]:
    """Which bank the wind blows onto, by runs of hours."""
    zone, runs = inputs.profile.zone, list[tuple[str, str]]()
    for one in shown:
        index = hazards.series.index_of(one.hour)
        wind = float(hazards.series.values("wind_from_deg")[index])
        bank = "not known" if np.isnan(wind) else bank_words(wind)[0]
        if not runs or runs[-1][1] != bank:
            runs.append((clock(one.hour, zone, inputs.day), bank))
    if not runs:
        return ()
    if all(bank == "not known" for _, bank in runs):
        return ("Wind direction is not known: no bank can be called sheltered.",)
    text = "Wind-blown bank: " + ", ".join(f"{bank} from {at}" for at, bank in runs) + "."
    lee = next((ramp.name for ramp in hazards.ramps[:1] if ramp.sheltered), "")
    if lee:
        text += f" {lee} lies in the lee: judge the wind by the water across, not at the ramp."
    return (text,)


@dataclass(frozen=True)
class OtherWay:
    """A measured wind from well beside the forecast: compass points of both, and who measured."""

    seen: str
    forecast: str
    name: str


def measured_otherwise(inputs: MorningInputs) -> OtherWay | None:
    """The newest fresh wind where its direction differs much from the forecast's for that hour; None where not."""
    newest = _newest_wind(inputs)
    if newest is None or newest.wind_mps is None or newest.wind_from_deg is None:
        return None
    wind, way = _forecast_at(inputs, newest.time)
    off = abs((newest.wind_from_deg - way + 180.0) % 360.0 - 180.0)
    if not off > OTHER_WAY_DEG or not np.fmax(wind, newest.wind_mps) > OTHER_WAY_MPS:
        return None
    return OtherWay(units.compass_point(newest.wind_from_deg), units.compass_point(way), newest.name)


def measured_stronger_or_weaker(inputs: MorningInputs) -> bool:
    """Whether the newest measured wind is far from the speed that was forecast for its hour."""
    newest = _newest_wind(inputs)
    if newest is None or newest.wind_mps is None:
        return False
    wind = _forecast_at(inputs, newest.time)[0]
    return abs(wind - newest.wind_mps) > max(OTHER_SPEED_MPS, OTHER_SPEED_SHARE * wind)


def disputed_text(inputs: MorningInputs) -> str:
    """Both winds, where the newest measured one is far from its forecast in speed or direction; else empty."""
    newest, other = _newest_wind(inputs), measured_otherwise(inputs)
    if newest is None or newest.wind_mps is None:
        return ""
    if not measured_stronger_or_weaker(inputs):
        return f"Wind: the {newest.name} has it from {other.seen}, the forecast from {other.forecast}." if other else ""
    system = inputs.reader.units
    seen, said = (speed(v, system) for v in (newest.wind_mps, _forecast_at(inputs, newest.time)[0]))
    return f"Wind: the {newest.name} has {seen} where {said} was forecast."


def agreeing_text(inputs: MorningInputs) -> str:
    """Say that a measured wind blows from about where it is forecast, and if as strong; empty where none can tell."""
    newest = _newest_wind(inputs)
    if newest is None or newest.wind_from_deg is None or np.isnan(_forecast_at(inputs, newest.time)[1]):
        return ""
    if measured_otherwise(inputs) is not None:
        return ""
    wind = _forecast_at(inputs, newest.time)[0]
    if measured_stronger_or_weaker(inputs):
        seen, said = (speed(v, inputs.reader.units) for v in (newest.wind_mps or 0.0, wind))
        return f". The {newest.name} agrees on direction, not on speed: {seen}, forecast {said}"
    return f". The {newest.name} agrees on direction"


def _newest_wind(inputs: MorningInputs) -> WindReading | None:
    """The newest wind that was seen or measured in the last 90 minutes."""
    winds = [w for w in (*inputs.gathered.wind_now, *inputs.entered.winds) if w.wind_mps is not None]
    fresh = [w for w in winds if timedelta(0) <= inputs.now - w.time <= timedelta(minutes=90)]
    return max(fresh, key=lambda w: w.time, default=None)


def _forecast_at(inputs: MorningInputs, instant: datetime) -> tuple[float, float]:
    """Forecast wind and direction of an instant's hour; NaN where there is none."""
    hours = inputs.gathered.hours
    at = hours.index_of(instant)
    if not 0 <= at < hours.hours:
        return float("nan"), float("nan")
    return float(hours.values("wind_mps")[at]), float(hours.values("wind_from_deg")[at])


def _wind_now(inputs: MorningInputs) -> tuple[str, ...]:
    """The newest wind that was seen or measured, beside what the forecast says for its hour."""
    newest = _newest_wind(inputs)
    if newest is None or newest.wind_mps is None:
        return ()
    system, zone = inputs.reader.units, inputs.profile.zone
    way = "" if newest.wind_from_deg is None else f" from {units.compass_point(newest.wind_from_deg)}"
    gust = "" if newest.gust_mps is None else f", gusts {speed(newest.gust_mps, system)}"
    expected, toward = _forecast_at(inputs, newest.time)
    said = ""
    if not np.isnan(expected):
        point = "" if np.isnan(toward) else f" from {units.compass_point(toward)}"
        said = f"; the forecast for that hour: {speed(expected, system)}{point}"
    seen = f"{speed(newest.wind_mps, system)}{way}{gust}"
    text = f"Wind at {clock(newest.time, zone, inputs.day)}: {seen} ({newest.name}){said}."
    if measured_otherwise(inputs) is not None:
        text += " The two directions disagree: the banks and ways home here rest on the forecast."
    return (text,)
