"""No sentence about missing data begins with "No" or says what was not seen: over all kinds of missing inputs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from briefing.core.hours import missing_field
from briefing.pipeline.build import Built, build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.made import render
from briefing.pipeline.run import Run, from_stored
from briefing.pipeline.tables import load_tables
from briefing.pipeline.wind_check import check_wind
from briefing.resources import config_path
from briefing.vocabulary import Level
from tests.pipeline.test_nothing_looks_better import CHANGES
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

MORNINGS = ("south_early_spring_front_coming", "highland_autumn_no_thunder_data")
#: What begins so and is not about data: verdicts, and what follows from one.
ABOUT_THE_DAY = (
    "No hours within your limits", "No launch window", "No fishing", "No hour can be within your limits",
    "No open craft is a shelter",
    "No outing is planned", "No crossings in fog", "Nothing that was asked for is missing", "No headway",
    "Nothing that was checked stayed within", "No spot can be reached", "Nothing you can fish", "No note is not",
    "No important change since", "No weight", "No cold front passed",
)  # fmt: skip
BEGINS = re.compile(r"(?:^|[.!?:]\s+|\n\s*(?:- )?)((?:No|None|Nothing|Nobody|Never)\b[^.\n]*)")
#: A field of the forecast without a value, and what the page must say of it.
SAID = {
    "thunder_pct cape_jkg weather_code lightning_level thunder_words_pct": "Thunder is not known: the forecast gave",
    "wind_mps": "Wind is not known: no source gave a value",
    "visibility_m": "Visibility is not known: the forecast gave no value",
    "wind_from_deg": "Waves are not known: no source gave a wind direction",
}


def strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from strings(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from strings(one)


def good_news(texts: Iterator[str] | list[str]) -> set[str]:
    """Sentences that begin as good news does and are not about the day."""
    found = {hit for text in texts for hit in BEGINS.findall(text)}
    return {hit for hit in found if not hit.startswith(ABOUT_THE_DAY)}


def factor_texts(built: Built) -> list[str]:
    factors = [factor for level in built.hazards.levels for factor in level.factors]
    return [factor.text for factor in factors if factor.level is not Level.WITHIN_LIMITS]


def _stored_nothing(inputs: MorningInputs) -> MorningInputs:
    path = config_path(f"lakes/{inputs.profile.id}.toml")
    run = Run(profile=inputs.profile, profile_path=path, day=inputs.day, now=inputs.now, offline=True)
    return replace(inputs, gathered=from_stored(run, None))


def _field_gone(names: str) -> object:
    def change(inputs: MorningInputs) -> MorningInputs:
        hours = inputs.gathered.hours
        fields = dict(hours.fields) | {name: missing_field(hours.hours) for name in names.split()}
        return replace(inputs, gathered=replace(inputs.gathered, hours=replace(hours, fields=fields)))

    return change


def _bare(inputs: MorningInputs) -> MorningInputs:
    feed = replace(inputs.gathered.alerts, alerts=(), checked_at=None, service_exists=False)
    air = replace(inputs.gathered.air, mean_c=np.full(len(inputs.gathered.air.mean_c), np.nan))
    bare = replace(inputs.gathered, alerts=feed, wind_now=(), water=(), level=(), thunder_service_exists=False, air=air)
    return replace(inputs, gathered=bare, entered=replace(inputs.entered, water=(), clarity=(), signs=()))


KINDS = {
    **CHANGES,
    **{f"without {names}": _field_gone(names) for names in (*SAID, "precip_chance_pct", "air_c", "gust_mps")},
    "nothing stored": _stored_nothing,
    "no service of warnings and no reading": _bare,
}
#: Those of this file first, then every other one, then the rest.
ORDER = (*list(KINDS)[len(CHANGES) :], *list(CHANGES)[::2], *list(CHANGES)[1::2])


@cache
def _morning(name: str) -> MorningInputs:
    return inputs_of(SCENARIOS[name])


@pytest.mark.seeds(len(KINDS) // 2, len(KINDS))
def test_missing_data_never_begin_with_no(seed: int) -> None:
    kind = ORDER[seed]
    inputs = KINDS[kind](_morning(MORNINGS[len(kind) % 2]))
    built = build(inputs, load_tables())
    made = render(built, inputs.gathered)
    assert good_news(strings(built.briefing.model_dump(mode="json"))) == set()
    assert good_news(factor_texts(built)) == set()
    assert good_news([re.sub(r"\n +", " ", made.text)]) == set()
    note = check_wind(inputs, load_tables(), (), (), "Check again.").text
    assert note is None or good_news([note.whole]) == set()


@pytest.mark.parametrize("names", SAID)
def test_what_the_forecast_does_not_give_is_called_not_known(names: str) -> None:
    built = build(_field_gone(names)(_morning(MORNINGS[0])), load_tables())
    assert any(text.startswith(SAID[names]) for text in factor_texts(built)), factor_texts(built)[:20]
    word = SAID[names].split()[0].lower()
    assert word not in built.briefing.cautions.checked.lower()
