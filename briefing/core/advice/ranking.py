"""Ranking of presentations for one spot and one block of time.

The score of a presentation is a product of fits with exponents that say how much each matters; numbers stay inside, the
reader sees rank words and reasons. Scoring is vectorised over presentations, solving (weight, depth, colour, set-up) is
done only for the presentations that are asked for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from briefing.core.advice.choice import Choice, ColourPick, RetrievePick
from briefing.core.advice.colour import ColourAnswer, ColourQuestion, colour_hint, pick_colours, second_when
from briefing.core.advice.conditions import Conditions, FrontStage, Spot, TackleBox, wave_position
from briefing.core.advice.depth_words import depth_words
from briefing.core.advice.explain import MOST_REASONS, Told, all_factors, cautions, reasons
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.measures import in_text, localised
from briefing.core.advice.moments import moments_now
from briefing.core.advice.presentation import Presentation, trailer_changes, trailer_check
from briefing.core.advice.scoring import EVERYTHING, Scores, score, score_lake, with_least_bad
from briefing.core.advice.situation import (
    main_cover,
    phase_shares,
    secchi_m,
    shade_share,
    situation_words,
    species_shares,
    water_colour,
)
from briefing.core.advice.tables import Array
from briefing.core.advice.weight import Layer, Solved, pause_words, solve
from briefing.units import Units, show_temperature
from briefing.vocabulary import Cover, Mood, Phase, Sky

__all__ = ["EVERYTHING", "Scores", "factors_in_words", "rank", "score", "score_lake", "shown_three"]

RANKS = ("first choice", "second", "if refused")
SHOWN_LEAST = 0.33
#: ... and nothing under this share of the best answers a refusal.
ANSWER_LEAST = 0.1
SWAP = 1.25  # a follow-up this much better than the second is the second
PACES = ("search", "medium", "slow")
_SURFACE_GROUP = "topwater"
_HOW_WORDS = 60
_FLASHY = ("metal",)
_FLASHES = "flashes"  # trait of a lure with one blade that is part of it


def rank(
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
    *,
    solve: int | None = None,
    units: Units,
) -> tuple[Choice, ...]:
    """All usable presentations, best first.

    Parameters
    ----------
    learned
        Log factor by presentation id from the field log, cut at +-0.7.
    solve
        How many of the order are solved in full beside the three that are shown; None solves all, 0 only gives the
        order (ids, names, scores).
    units
        Units of the sentences.

    Returns
    -------
    Choices in order; the three of ``shown_three`` carry the rank words. Empty at a nesting spot in the spawn, where
    nothing is advised. Raises ValueError when no phase has a share.
    """
    if spot.nests and phase_shares(conditions).get(Phase.SPAWN, 0.0) >= 0.1:
        return ()
    scores = with_least_bad(score(conditions, spot, knowledge, tackle, learned), conditions, knowledge, tackle)
    order = [int(i) for i in np.argsort(-scores.total, kind="stable") if scores.total[i] > 0.0]
    bare = tuple(_bare(knowledge.presentations[i], float(scores.total[i])) for i in order)
    words_of = {choice.id: word for choice, word in zip(shown_three(bare), RANKS, strict=False)}
    ranked = [replace(choice, rank=words_of.get(choice.id, "")) for choice in bare]
    if solve == 0:
        return tuple(ranked)
    work = _Work(conditions, spot, knowledge, tackle, learned, scores, units)
    wanted = len(ranked) if solve is None else solve
    best = ranked[0].score if ranked else 0.0
    return tuple(
        work.full(choice, order[place], best) if place < wanted or choice.rank else choice
        for place, choice in enumerate(ranked)
    )


def shown_three(choices: Sequence[Choice]) -> tuple[Choice, ...]:
    """The three that are shown: never all of one group; a search, a slow or follow-up, and a cover-specific one.

    Nothing under a third of the best is taken for variety's sake. What stands by for a refusal is slower than the first
    where such a one is good enough, and never faster or louder. Order: first choice, second, if refused.
    """
    if not choices:
        return ()
    first = choices[0]
    usable = [choice for choice in choices[1:] if not livelier(first, choice)]
    good = [choice for choice in choices[1:] if choice.score >= SHOWN_LEAST * first.score] or list(choices[1:3])
    answers = [choice for choice in good if not livelier(first, choice)]
    answers = answers or [choice for choice in usable[:1] if choice.score >= ANSWER_LEAST * first.score]
    answers = [choice for choice in answers if _slower(first, choice)] or answers
    answers = [choice for choice in answers if choice.group != first.group] or answers
    refused = max(answers, key=lambda choice: _answer(first, choice), default=None)
    rest = [choice for choice in good if choice is not refused]
    groups = {choice.group for choice in (first, refused) if choice is not None}
    others = [choice for choice in rest if choice.group not in groups]
    others = others or [choice for choice in rest if choice.group != first.group] or rest
    second = next((choice for choice in rest if _differs(first, refused, choice)), others[0] if others else None)
    if second is not None and refused is not None and _stands_by(first, second, refused):
        second, refused = refused, second
    shown = [choice for choice in (first, second, refused) if choice is not None]
    spare = [choice for choice in choices if choice not in shown]
    spare.sort(key=lambda choice: choice.group in {one.group for one in shown})
    return (*shown, *spare[: len(RANKS) - len(shown)])


def livelier(first: Choice, choice: Choice) -> bool:
    """True for what is faster or louder than the first choice, and so no answer to a refusal of it."""
    faster = PACES.index(choice.pace) < PACES.index(first.pace)
    return faster or (choice.group == _SURFACE_GROUP and first.group != _SURFACE_GROUP)


def _stands_by(first: Choice, second: Choice, refused: Choice) -> bool:
    """True where what does for a refusal is so much better than the second that they change places.

    The second must then be as slow an answer.
    """
    answers = _slower(first, second) or not (livelier(first, second) or _slower(first, refused))
    return answers and refused.score > SWAP * second.score


def _slower(first: Choice, choice: Choice) -> bool:
    """True for what is slower than the first choice, or as slow as can be."""
    return PACES.index(choice.pace) > PACES.index(first.pace) or (choice.pace == first.pace == PACES[-1])


def _answer(first: Choice, choice: Choice) -> float:
    """How well a choice answers fish that refused the first: other group, slower, its follow-up, and good itself."""
    group, follows = choice.group != first.group, choice.id in first.follow_up
    return choice.score * (1.0 + group + _slower(first, choice) + follows)


def _differs(first: Choice, refused: Choice | None, choice: Choice) -> bool:
    """True when it is of a group that isn't shown yet, and brings a search lure where there is none."""
    shown = [item for item in (first, refused) if item is not None]
    needs_search = all(item.pace != "search" for item in shown)
    return choice.group not in {item.group for item in shown} and (not needs_search or choice.pace != "slow")


def factors_in_words(
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    choice: Choice,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
    *,
    units: Units,
) -> tuple[str, ...]:
    """Every factor of one choice in words, strongest first, each with whether it speaks for or against it."""
    scores = score(conditions, spot, knowledge, tackle, learned)
    index = knowledge.tables.index[choice.id]
    return all_factors(Told(knowledge.presentations[index], index, conditions, spot, knowledge, scores, units))


def _bare(item: Presentation, value: float) -> Choice:
    return Choice(
        id=item.id,
        name=item.name,
        rank="",
        group=item.group,
        pace=item.pace,
        score=value,
        weight_g=None,
        weight_oz=None,
        running_depth_m=None,
        trailer=None,
        retrieve=None,
        colours=(),
        flash=None,
        setup=None,
        follow_up=item.follow_up,
        faults=(),
        reasons=(),
        cautions=(),
        how_sure="open",
    )


def _with_gap(answer: ColourAnswer) -> tuple[ColourPick, ...]:
    """The picks, with what the box lacks said once, behind the first."""
    if not answer.gap:
        return answer.picks
    first = answer.picks[0]
    return (replace(first, why=f"{first.why} {answer.gap}"), *answer.picks[1:])


#: Words of a fault, and the cover at which it can happen.
_OF: tuple[tuple[tuple[str, ...], frozenset[Cover]], ...] = (
    (
        ("weed", "grass", "leaf", "leaves", "mat", "pad"),
        frozenset({Cover.GRASS_SPARSE, Cover.GRASS_DENSE, Cover.GRASS_TOPPED, Cover.PADS, Cover.REEDS}),
    ),
    (("rock", "stone"), frozenset({Cover.ROCK})),
    (("limb", "fork", "twig"), frozenset({Cover.LAYDOWN, Cover.BRUSH})),
)


def _speaks_of(text: str, words: Sequence[str]) -> bool:
    return any(re.search(rf"\b{word}s?\b", text.lower()) for word in words)


@dataclass(frozen=True)
class _Work:
    """Everything needed to fill in a choice."""

    conditions: Conditions
    spot: Spot
    knowledge: AdviceKnowledge
    tackle: TackleBox
    learned: Mapping[str, float] | None
    scores: Scores
    units: Units

    def full(self, choice: Choice, index: int, best: float) -> Choice:
        """The choice with weight, depth, trailer, retrieve, colours, set-up, reasons and cautions."""
        item = self.knowledge.presentations[index]
        words = situation_words(self.conditions, self.spot, self.knowledge, self.scores.mood)
        solved = solve(
            item,
            self.conditions,
            self.spot,
            self.knowledge,
            self.tackle,
            words,
            self.scores.mood,
            self.scores.fish_depth_m,
        )
        told = Told(
            *(item, index, self.conditions, self.spot, self.knowledge, self.scores, self.units),
            depth_m=solved.depth_m,
            short=solved.short,
        )
        out = self._out(item, index)
        colours = pick_colours(self._question(item, solved), self.knowledge.colours)
        told_colours = tuple(replace(one, why=localised(one.why, self.units)) for one in _with_gap(colours))
        return replace(
            choice,
            weight_g=solved.weight.grams if solved.weight else None,
            weight_oz=solved.weight.oz if solved.weight else None,
            running_depth_m=solved.depth_m,
            trailer=localised(solved.trailer.text, self.units) if solved.trailer else None,
            retrieve=self._retrieve(solved),
            colours=told_colours,
            flash=self._flash(item, solved, colours),
            setup=solved.setup,
            faults=tuple(localised(f"{fault}: {fix}", self.units) for fault, fix in item.faults),
            reasons=(*reasons(told), *([localised(solved.reason, self.units)] if solved.reason else []))[:MOST_REASONS],
            cautions=cautions(told, solved.depth_m, self.tackle.legal, solved.weight.grams if solved.weight else 0.0),
            how_sure="fairly sure" if self._sure() and choice.score >= 0.6 * best and not out else "open",
            doubt=out or self._doubt(),
            change=self._change(index),
            look_for=localised(item.look_for, self.units),
            size=self._size(item, solved),
            hook=item.hook_size or None,
            depth_text=depth_words(solved, item, self.spot, self.units),
            rig=localised(item.rig, self.units),
            blade=self._blade(item, solved, colours),
            colour_hint=colour_hint(colours.picks, self.knowledge.colours),
            second_when=second_when(colours.picks, self.conditions.sky, self.knowledge.colours),
            how=self._how(item, solved),
            bottom_depth_m=self.spot.depth_m,
            fish_depth_m=self.scores.fish_depth_m,
            trailer_changes=trailer_changes(solved.trailer),
            trailer_check=trailer_check(solved.trailer),
            out_of_season=out,
            size_why=localised(solved.size_why, self.units),
        )

    def _retrieve(self, solved: Solved) -> RetrievePick | None:
        if solved.retrieve is None:
            return None
        return replace(solved.retrieve, how=localised(solved.retrieve.how, self.units))

    def _how(self, item: Presentation, solved: Solved) -> str:
        """Let down, worked, felt, freed: as much of it as fits into sixty words."""
        parts = []
        if solved.count_s is not None and solved.layer in (Layer.COUNTED, Layer.HELD):
            parts.append(f"Let the lure sink {max(round(solved.count_s), 1)} s before the first turn.")
        if solved.tip:
            parts.append(f"Rod {solved.tip}.")
        parts += [] if solved.retrieve is None else [solved.retrieve.how]
        if solved.retrieve is not None and solved.retrieve.pause_s is not None:
            parts.append(f"{pause_words(solved.retrieve.pause_s)}.")
        tells = solved.retrieve is not None and "bite" in solved.retrieve.how.lower()
        parts += [] if tells else [item.look_for]  # what a bite feels like belongs to how the lure is worked
        parts += [f"{fault[:1].upper()}{fault[1:]}: {fix}." for fault, fix in self._faults(item)[:2]]
        out = ""
        for part in (localised(part, self.units) for part in parts):
            if len(f"{out} {part}".split()) <= _HOW_WORDS:
                out = f"{out} {part}".strip()
        return out

    def _faults(self, item: Presentation) -> list[tuple[str, str]]:
        """What may go wrong here: no weed where none grows, no rock where none lies."""
        there = set(self.spot.cover)
        return [
            (fault, fix)
            for fault, fix in item.faults
            if all(covers & there or not _speaks_of(f"{fault} {fix}", words) for words, covers in _OF)
        ]

    def _out(self, item: Presentation, index: int) -> str:
        """That it is only the least bad here, why, and what would be tied on instead; empty where it is usable."""
        why = self.scores.excluded.get(index)
        if why is None:
            return ""
        temp = self.conditions.water_temp_c
        if temp is not None and temp < item.water_temp_c.low:
            why = f"too cold for this lure at {show_temperature(temp, self.units, both=False)}"
        elif temp is not None and temp > item.water_temp_c.high:
            why = f"too warm for this lure at {show_temperature(temp, self.units, both=False)}"
        all_scores = score(self.conditions, self.spot, self.knowledge).total
        best = [self.knowledge.presentations[int(i)].name for i in np.argsort(-all_scores)[:2] if int(i) != index]
        instead = " or ".join(in_text(name) for name in best)
        return f"Out of season or place: {why}. {instead[:1].upper()}{instead[1:]} would be tied on instead."

    def _size(self, item: Presentation, solved: Solved) -> str | None:
        span, word = (item.body_in, "in") if self.units == "us" else (item.body_cm, "cm")
        if span is None:
            return None
        share = 0.5  # one size, as it stands in the box: half inches and whole centimetres
        if item.trebles and solved.weight in item.weights and len(item.weights) > 1:  # in one piece: longer if heavier
            share = item.weights.index(solved.weight) / (len(item.weights) - 1)
        middle = span[0] + share * (span[1] - span[0])
        return f"{round(2 * middle) / 2:g} {word}" if word == "in" else f"{round(middle)} {word}"

    def _question(self, item: Presentation, solved: Solved) -> ColourQuestion:
        return ColourQuestion(
            role=item.colour_role,
            imitates=item.imitates,
            slim="slim" in item.traits,
            secchi_m=secchi_m(self.conditions, self.knowledge),
            water=water_colour(self.conditions, self.knowledge),
            sky=self.conditions.sky,
            forage=self.conditions.forage,
            phases=phase_shares(self.conditions),
            cover=main_cover(self.spot),
            shade=shade_share(self.spot, self.knowledge) >= 0.5,
            lure_depth_m=sum(solved.depth_m) / 2 if solved.depth_m else None,
            ripple=wave_position(self.conditions) >= 0.8,
            owned=self.tackle.colours.get(item.colour_role, ()),
            moments=moments_now(self.conditions, self.spot, self.knowledge.moments),
            species=frozenset(species_shares(self.conditions, self.knowledge)),
        )

    def _flash(self, item: Presentation, solved: Solved, colours: ColourAnswer) -> str | None:
        if item.blades:
            shape = f"{solved.blade.text}; " if solved.blade else ""
            return f"{shape}{colours.flash}"
        return colours.flash if item.colour_role in _FLASHY or _FLASHES in item.traits else None

    def _blade(self, item: Presentation, solved: Solved, colours: ColourAnswer) -> str | None:
        """Shape and finish of the blades in few words, "round blade, painted"."""
        if not item.blades or solved.blade is None:
            return None
        shape, finish = solved.blade.text.split(",")[0], colours.flash.split(":")[0]
        return f"{shape}, {finish}" if finish else shape

    def _sure(self) -> bool:
        known = self.conditions.water_temp_c is not None and self.conditions.secchi_m is not None
        spread = self.conditions.phase_spread
        held = max(phase_shares(self.conditions).values()) >= self.knowledge.rules.sure.phase_share
        return known and held and (spread is None or spread < 0.5)

    def _doubt(self) -> str:
        """Why the order is open, in a sentence; empty where it is fairly sure."""
        if self._sure():
            return ""
        if self.conditions.secchi_m is None:
            return "Not sure: the visibility is not known today, and the second may be as good."
        if self.conditions.water_temp_c is None:
            return "Not sure: the water temperature is not known, and the second may be as good."
        return "Not sure: fish are spread over several stages of the season, and the second may be as good."

    def _change(self, index: int) -> str:
        """The change of wind, light or mood that would cost this choice most, and what would lead then; "" for none."""
        own = float(self.scores.total[index])
        best, ahead = float(self.scores.total.max()), int(np.argmax(self.scores.total))
        text, least = "", 0.85 * own / best
        for when, totals in self.scenarios:
            leader = int(np.argmax(totals))
            stands = float(totals[index]) / max(float(totals[leader]), 1e-9)
            if leader not in (index, ahead) and stands < least:  # what is first now is told already
                name = self.knowledge.presentations[leader].name
                text, least = f"{when}, {name[0].lower()}{name[1:]} comes first.", stands
        return text

    @cached_property
    def scenarios(self) -> list[tuple[str, Array]]:
        """Scores after the likeliest changes of wind, light and mood, with the words for each."""
        now = self.conditions
        calm, chop = replace(now, wind_mps=0.5, wave_height_m=None), replace(now, wind_mps=5.5, wave_height_m=None)
        wind = ("If the wind drops to glass", calm) if wave_position(now) >= 0.8 else ("If a chop gets up", chop)
        dark = now.sky in (Sky.OVERCAST, Sky.LOW_SUN, Sky.NIGHT)
        light = (
            ("If the sun stands high and clear", replace(now, sky=Sky.BRIGHT))
            if dark
            else ("If heavy cloud comes in", replace(now, sky=Sky.OVERCAST))
        )
        mood = (
            ("If fish only follow or nudge", replace(now, mood=Mood.NEGATIVE))
            if self.scores.mood > -0.4
            else ("If fish begin to chase", replace(now, mood=Mood.ACTIVE, front_stage=FrontStage.NONE))
        )
        return [
            (when, score(other, self.spot, self.knowledge, self.tackle, self.learned).total)
            for when, other in (wind, light, mood)
        ]
