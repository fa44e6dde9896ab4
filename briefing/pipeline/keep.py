"""What a run leaves in the store for the next one, and how it is read back."""

from __future__ import annotations

import base64
import json
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from briefing.core.gathered import SourceMemory
from briefing.core.phase import pack, unpack
from briefing.core.phase.model import PhaseLearned, PhaseState
from briefing.core.record import MorningRecord, Uncompared, read_record
from briefing.core.water.engine import LakeLearned, WaterState
from briefing.core.wind.alerts import ResolvedAlerts
from briefing.knowledge import load_log_parameters
from briefing.pipeline.build import Built
from briefing.pipeline.inputs import Kept
from briefing.pipeline.morning_record import record_of_page
from briefing.store import Store
from briefing.store.log import LogBook
from briefing.vocabulary import SpeciesForm

#: Name under which the day's scores of the trade are kept, for the log to fill in.
TRADE_SCORES = "trade_scores"


@lru_cache(maxsize=4)
def _adapter(kind: type[Any]) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def read_kept(
    store: Store, lake: str, forms: tuple[SpeciesForm, ...], day: date, before: datetime
) -> tuple[Kept, tuple[str, ...]]:
    """Return what is kept, and a sentence for every part that could not be used (it is then computed anew)."""
    notes: list[str] = []
    kept = Kept(
        water_learned=_part(store, lake, "water_learned", LakeLearned.from_mapping, notes),
        water_state=_part(store, lake, "water_state", WaterState.from_mapping, notes),
        phase_learned=_by_form(store, lake, "phase_learned", forms, _adapter(PhaseLearned).validate_python, notes),
        phase_state=_by_form(store, lake, "phase_state", forms, _unpack_state, notes),
        alerts=_part(store, lake, "alerts", _adapter(ResolvedAlerts).validate_python, notes),
        accepted=None,
        earlier=_earlier(store, lake, day, before),
    )
    return kept, tuple(notes)


def source_memory(store: Store, lake: str) -> SourceMemory:
    """What is remembered of the services at this lake."""
    value = store.learned(lake, "source_memory")
    try:
        return SourceMemory() if value is None else _adapter(SourceMemory).validate_python(value)
    except ValidationError:
        return SourceMemory()


def keep(store: Store, lake: str, built: Built, memory: SourceMemory, text: str, now: datetime) -> None:
    """Store the briefing and everything the next run starts from."""
    values: dict[str, Any] = {
        "water_learned": built.water.learned.to_mapping(),
        "water_state": built.water.state.to_mapping(),
        "alerts": _adapter(ResolvedAlerts).dump_python(built.hazards.alerts, mode="json"),
        "source_memory": _adapter(SourceMemory).dump_python(memory, mode="json"),
        TRADE_SCORES: {"day": built.briefing.head.day.isoformat(), "spots": built.advised.trade_scores},
    }
    for form, result in built.phases.items():
        values[f"phase_learned:{form.value}"] = _adapter(PhaseLearned).dump_python(result.learned, mode="json")
        if result.state is not None:
            values[f"phase_state:{form.value}"] = _pack_state(result.state)
    record = json.dumps(built.record.to_mapping(), separators=(",", ":"))
    store.save_briefing(lake, built.briefing.head.day, now, text, record)
    store.set_all_learned(lake, values, now)
    if built.checks:
        LogBook(store).add_checks(lake, built.checks, now, now - timedelta(days=load_log_parameters().keep_days))


def _part(store: Store, lake: str, name: str, read: Any, notes: list[str]) -> Any:
    value = store.learned(lake, name)
    if value is None:
        return None
    try:
        return read(value)
    except (KeyError, ValueError, TypeError):
        notes.append(f"What was kept as {name.replace('_', ' ')} could not be read; it was computed anew.")
        return None


def _by_form(
    store: Store, lake: str, name: str, forms: tuple[SpeciesForm, ...], read: Any, notes: list[str]
) -> dict[SpeciesForm, Any]:
    found = {form: _part(store, lake, f"{name}:{form.value}", read, notes) for form in forms}
    return {form: value for form, value in found.items() if value is not None}


def _earlier(store: Store, lake: str, day: date, before: datetime) -> MorningRecord | Uncompared | None:
    """The last morning for the same day, or why it can't be compared with; a version without records left its page."""
    stored = store.last_morning(lake, day, before)
    if stored is None:
        return None
    return record_of_page(stored.page or "") if stored.record is None else read_record(stored.record)


def _pack_state(state: PhaseState) -> str:
    return base64.b64encode(pack(state)).decode("ascii")


def _unpack_state(value: str) -> PhaseState:
    state = unpack(base64.b64decode(value))
    if state is None:
        raise ValueError("a state of another version")
    return state
