"""Check the wind for an outing, knowing every note of it: those handed over, and those shown on this machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from briefing.app.assembly import App
from briefing.app.brief import Asked, run_of
from briefing.app.planner import Kind
from briefing.core.gathered_json import to_json
from briefing.core.wind.note import NoteKind, NoteSignature
from briefing.errors import StoreError
from briefing.pipeline.run import prepare, tried
from briefing.pipeline.wind_check import WindCheck, check_wind
from briefing.profile.model import LakeProfile
from briefing.store import Store
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import MessageRow, MessageState, OccurrenceRow
from briefing.store.records import SentNote

#: The service's checks of an outing with their messages, oldest first.
Checks = Sequence[tuple[OccurrenceRow, list[MessageRow]]]
#: Said in a note that was asked for: when the service checks by itself stands in the status.
AGAIN = "Check again just before you launch."
_GIVEN_UP = (MessageState.REFUSED, MessageState.EXPIRED)


@dataclass(frozen=True)
class NoteHistory:
    """What is known of an outing's notes, oldest first.

    ``mailed``: signatures of notes that reached a reader, or are still on their way; ``checked``: of all checks of the
    service; ``shown``: of the checks asked for on this machine, whose notes no one else has seen. ``rows`` are the
    service's checks as the ledger holds them.
    """

    rows: Checks
    mailed: tuple[NoteSignature, ...]
    checked: tuple[NoteSignature, ...]
    shown: tuple[NoteSignature, ...]

    def read_here(self) -> tuple[NoteSignature, ...]:
        """Notes that whoever sits at this machine can have read."""
        notes = [one for one in self.shown if one.kind != NoteKind.NONE.value]
        return tuple(sorted((*self.mailed, *notes), key=lambda one: one.evaluated_at))

    def all_checks(self) -> tuple[NoteSignature, ...]:
        """Every check of the outing."""
        return tuple(sorted((*self.checked, *self.shown), key=lambda one: one.evaluated_at))


@dataclass(frozen=True)
class WindChecked:
    """A check, the lake it is of, and what could not be kept, in sentences."""

    check: WindCheck
    profile: LakeProfile
    unkept: tuple[str, ...]


def note_history(store: Store, lake: str, day: date) -> NoteHistory:
    """Read what is known of the notes of an outing; the one place where that is decided."""
    rows = Ledger(store).of_outing(lake, day, Kind.CHECK)
    return NoteHistory(
        rows=rows,
        mailed=tuple(
            NoteSignature.from_mapping(row.detail["signature"])
            for row, _ in rows
            if row.detail.get("note") not in (None, "lost", NoteKind.NONE.value) and handed_over(rows, row.key)
        ),
        checked=tuple(
            NoteSignature.from_mapping(row.detail["signature"]) for row, _ in rows if "signature" in row.detail
        ),
        shown=tuple(NoteSignature.from_mapping(note.signature) for note in store.notes(lake, day)),
    )


def handed_over(rows: Checks, key: str) -> bool:
    """True unless every way out gave the note up; the saved file counts only where it is the only way out."""
    messages = next((messages for row, messages in rows if row.key == key), [])
    away = [message for message in messages if message.channel != "folder"] or messages
    return any(message.state not in _GIVEN_UP for message in away)


def check_the_wind(app: App, asked: Asked) -> WindChecked:
    """Check the wind of an outing now, and keep the check, so that the next one can say what changed."""
    run = run_of(app, asked)
    lake = run.profile.id
    with app.store_anyway() as store, app.fetcher(asks=run.asks) as fetcher:
        inputs, _ = prepare(run, app.normals(run.profile), store, fetcher)
        history = note_history(store, lake, run.day)
        check = check_wind(inputs, app.tables(), history.read_here(), history.all_checks(), AGAIN)
        signature = check.decision.signature
        note = SentNote(lake, run.day, run.now, check.decision.kind.value, signature.to_mapping())

        def keep() -> None:
            store.save_note(note)
            store.save_gathered(lake, run.now, to_json(inputs.gathered))

        return WindChecked(check, run.profile, tried(store, keep, "this check, so the next one can't say what changed"))


def save_note_text(app: App, found: WindChecked, text: str, folder: Path | None = None) -> Path:
    """Save a note's text in a folder, the usual one when left out. Raises StoreError."""
    chosen = folder or app.settings().briefings_dir(app.home)
    at = found.check.decision.signature.evaluated_at.astimezone(found.profile.zone)
    path = chosen / f"{found.profile.id}-wind-{at.strftime('%Y-%m-%d-%H%M')}.txt"
    try:
        chosen.mkdir(parents=True, exist_ok=True)
        part = path.with_suffix(".txt.part")
        part.write_text(text + "\n", encoding="utf-8")
        part.replace(path)
    except OSError as error:
        raise StoreError(f"The note was made but could not be saved in {chosen}: {error.strerror}.") from error
    return path
