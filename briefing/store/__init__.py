"""The store: everything the user typed and everything learned, in one SQLite file.

Importing this package imports SQLAlchemy (about 0.2 s), so commands import it only when they need it.
"""

from briefing.store.database import open_anyway, open_store
from briefing.store.records import (
    Gathered,
    NewReading,
    NewSign,
    Reading,
    ReadingKind,
    SignEntry,
    StoredBriefing,
    StoredMorning,
)
from briefing.store.store import Store

__all__ = [
    "Gathered",
    "NewReading",
    "NewSign",
    "Reading",
    "ReadingKind",
    "SignEntry",
    "Store",
    "StoredBriefing",
    "StoredMorning",
    "open_anyway",
    "open_store",
]
