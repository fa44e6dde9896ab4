"""What moved today's shares, which observation would change them most, and what has no weight: in sentences."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.dates import moments
from briefing.core.phase.hazards import Drive
from briefing.core.phase.parameters import CommonParameters, FormParameters, PhaseParameters
from briefing.core.phase.particles import Particles
from briefing.core.phase.season import HALF_YEAR, Season
from briefing.core.phase.shares import STAGES, Driver
from briefing.core.phase.signs import chance_seen, clarity_of, expected_count, handled_chance
from briefing.units import Units, show_temperature, show_temperature_difference
from briefing.vocabulary import Zone

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Said when a reader asks: neither has any weight in the estimate.
MOON_AND_PRESSURE = (
    "The moon and the barometer have no weight in these shares: no study ties nest dates of bass to the moon, and "
    "pressure only marks fronts, whose cold is counted as cold."
)
_ZONE_WORDS = {Zone.MAIN: "the main banks", Zone.POCKET: "the warm pockets", Zone.EXPOSED: "the cold exposed banks"}
_LEAST_GAIN_DAYS = 0.8


#: A difference of temperature under this is not told as one.
_NEAR_C = 0.25
#: So much warmer or colder than usual is worth a word.
_UNUSUAL_C = 0.5


@dataclass(frozen=True)
class Moment:
    """Today as the words need it."""

    season: Season
    form: FormParameters
    common: CommonParameters
    drive: Drive
    particles: Particles
    weights: Floats
    today: int
    shares: dict[str, float]  # mean share of each stage today
    units: Units

    def degrees(self, value_c: float) -> str:
        """Write a temperature in the reader's unit."""
        return show_temperature(value_c, self.units, both=False)

    def span(self, change_c: float) -> str:
        """Write a temperature difference in the reader's unit, without sign."""
        return show_temperature_difference(abs(change_c), self.units, both=False).replace("+", "")


def drivers(
    moment: Moment, sign_shift_days: float, signs_used: int, learned_offset_c: float | None
) -> tuple[Driver, ...]:
    """Return the three strongest reasons for today's shares, strongest first."""
    found = [
        *_water(moment),
        *_light(moment),
        *_cold_and_level(moment),
        *_taught(moment, sign_shift_days, signs_used, learned_offset_c),
    ]
    return tuple(sorted(found, key=lambda one: -one.strength)[:3])


def _water(moment: Moment) -> list[Driver]:
    water, today = moment.drive.water, moment.today
    main = moment.common.zones.index(Zone.MAIN)
    nest = float(water.five_day_c[today, main].mean())
    week_ago = float(water.five_day_c[max(today - 7, 0), main].mean())
    usual = nest - float(water.climate_c[today])
    out = []
    if moment.drive.tropical:
        return [
            Driver(
                f"Water at nest depth stands at {moment.degrees(nest)}; so warm a lake gives no cue by temperature.",
                0.5,
            )
        ]
    centre = float(moment.weights @ moment.particles.centre_c)
    gap = nest - centre
    place = "above" if gap >= 0 else "under"
    if moment.shares["summer"] + moment.shares["autumn"] < 0.6 or moment.season.since_solstice[today] < 0:
        strength = float(np.clip(np.log1p(np.exp(-gap / moment.form.spread_c)), 0.4, 4.0))
        apart = f"{moment.span(gap)} {place} the" if abs(gap) >= _NEAR_C else "about the"
        out.append(
            Driver(
                f"Water where fish nest averages {moment.degrees(nest)} over five days, {apart} "
                f"{moment.degrees(centre)} around which most of them spawn.",
                strength,
            )
        )
    else:
        out.append(Driver(f"Water where fish nest averages {moment.degrees(nest)} over five days.", 0.6))
    move = nest - week_ago
    if abs(move) >= 0.3:
        verb = "rose" if move > 0 else "fell"
        out.append(Driver(f"Water where fish nest {verb} by {moment.span(move)} in seven days.", abs(move) / 2.0))
    side = "warmer" if usual >= 0 else "colder"
    if abs(usual) >= _UNUSUAL_C:
        out.append(Driver(f"The water is {moment.span(usual)} {side} than usual on this date.", abs(usual) / 2.5))
    return out


def _light(moment: Moment) -> list[Driver]:
    today, form, since = moment.today, moment.form, moment.season.since_solstice[moment.today]
    hours = float(moment.season.day_length_h[today])
    if since > HALF_YEAR + 30 or since < -20:
        if moment.shares["autumn"] > 0.02:
            return [Driver(f"The day is down to {hours:.1f} h, which sends fish to autumn places.", 0.8)]
        return [Driver(f"The day is {hours:.1f} h long; autumn begins near {moment.common.autumn_day_h:.1f} h.", 0.3)]
    wanted = moment.common.tropics_day_h if moment.drive.tropical else form.lay_day_h[0]
    gap = (hours - wanted) / 0.25
    out = []
    if gap < 2.0 and since < HALF_YEAR:
        strength = float(min(np.log1p(np.exp(-gap)), 3.0))
        out.append(Driver(f"The day is {hours:.1f} h long; half of the fish wait for {wanted:.1f} h.", strength))
    elif since < HALF_YEAR:
        out.append(Driver(f"The day is {hours:.1f} h long and no longer holds spawning back.", 0.1))
    if form.degree_days[0] > 0 and not moment.drive.tropical and 0 < since < HALF_YEAR:
        counted = float(moment.drive.water.degree_days[today].mean())
        gap = (counted - form.degree_days[0]) / (0.25 * form.degree_days[0] + 1.0)
        if gap < 2.0:
            share = counted / form.degree_days[0]
            state = "gathered" if share < 1.0 else "all the warmth that opens the spawning,"
            what = "of the warmth that opens the spawning" if share < 1.0 else "of it"
            text = f"The water has {state} {share:.0%} {what}."
            out.append(Driver(text, float(min(np.log1p(np.exp(-gap)), 2.5))))
    return out


def _cold_and_level(moment: Moment) -> list[Driver]:
    main = moment.common.zones.index(Zone.MAIN)
    drop = float(moment.drive.water.drop_c[moment.today, main].mean())
    out: list[Driver] = []
    if not -20 < moment.season.since_solstice[moment.today] < HALF_YEAR + moment.common.late_day:
        return out
    if drop > moment.common.drop_free_c:
        slowed = 1.0 - float(np.exp(-moment.common.drop_rate * (drop - moment.common.drop_free_c)))
        text = f"A cold spell, {moment.span(drop)} down from the highest of four days, cuts spawning by {slowed:.0%}."
        out.append(Driver(text, 1.0 + slowed * 2.0))
    level = float(moment.drive.level[moment.today])
    if level < 0.95:
        out.append(Driver(f"The water level moves fast, which cuts spawning by {1.0 - level:.0%}.", 1.2))
    elif level > 1.05:
        out.append(Driver(f"Rising water speeds spawning by {level - 1.0:.0%}.", 1.2))
    return out


def _taught(moment: Moment, sign_shift_days: float, signs_used: int, learned_offset_c: float | None) -> list[Driver]:
    out = []
    if signs_used and np.isfinite(sign_shift_days) and abs(sign_shift_days) >= 0.5:
        side = "later" if sign_shift_days > 0 else "earlier"
        whose = "The sign" if signs_used == 1 else f"The {signs_used} signs"
        size = max(1, round(abs(sign_shift_days)))
        days = f"{size} {'day' if size == 1 else 'days'} {side}"
        text = f"{whose} you entered this season moved the date of half the nests {days}."
        out.append(Driver(text, abs(sign_shift_days) / 2.0))
    if learned_offset_c is not None and abs(learned_offset_c) >= 0.2:
        side = "warmer" if learned_offset_c > 0 else "colder"
        much = f"{moment.span(learned_offset_c)} {side}"
        text = f"Earlier seasons taught that this lake's fish spawn in water {much} than most."
        out.append(Driver(text, abs(learned_offset_c)))
    return out


def best_observation(
    parameters: PhaseParameters,
    cube: Singles,
    sight: Singles,
    middle: Floats,
    weights: Floats,
    last_reading_days: float | None,
) -> str:
    """Say what to look at today that would narrow the middle of the nests most, by the expected fall of its variance.

    cube (channels, zones, particles) is today's; middle (particles,) the day of the middle of the nests.
    """
    _, before = moments(middle, weights)
    best = (0.0, "", "")
    if np.isfinite(before) and before > 0:
        for rate in parameters.signs.rates.values():
            if not rate.look:
                continue
            for number, zone in enumerate(parameters.common.zones):
                if rate.handled:
                    chance = handled_chance(cube, number, rate.handled)
                else:
                    mean = expected_count(rate, cube, number, sight, 1.0, clarity_of(None))
                    chance = chance_seen(rate, mean, parameters.signs.patchiness)
                after = _expected_sd(chance, middle, weights)
                if after < before and before - after > best[0]:
                    where = "" if rate.handled else f" on {_ZONE_WORDS[zone]}"
                    best = (before - after, f"{rate.look}{where}", f"{before:.1f} to about {after:.1f} days")
    if best[0] >= _LEAST_GAIN_DAYS:
        sentence = best[1][0].upper() + best[1][1:]
        return f"{sentence}. Seen or not, it would narrow the date of half the nests from {best[2]}."
    if last_reading_days is None:
        return "A water temperature measured at nest depth: none has been read on this lake yet."
    return "A water temperature taken near the bottom where fish nest, more than anything to be seen today."


def _expected_sd(chance: Floats, values: Floats, weights: Floats) -> float:
    """Root of the mean variance of ``values`` after hearing yes or no."""
    total = 0.0
    for part in (chance, 1.0 - chance):
        share = weights * np.clip(part, 0.0, 1.0)
        if share.sum() > 1e-9:
            _, spread = moments(values, share)
            total += float(share.sum()) * (spread**2 if np.isfinite(spread) else 0.0)
    return float(np.sqrt(total))


def share_words(share: float) -> str:
    """A share as the trade speaks: about 4 in 10."""
    tenths = round(share * 10)
    if share < 0.02:
        return "hardly any"
    if tenths == 0:
        return "fewer than 1 in 10"
    if share > 0.97:
        return "nearly all"
    return f"about {min(tenths, 9)} in 10"


def stage_means(cube: Singles, zone_weights: Floats, weights: Floats) -> dict[str, float]:
    """Mean share of each stage over particles and zones."""
    lake = np.einsum("czn,z->cn", cube[: len(STAGES)].astype(float), zone_weights / zone_weights.sum())
    return {name: float(lake[number] @ weights) for number, name in enumerate(STAGES)}
