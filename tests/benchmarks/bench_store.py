"""CPU time of the store and of reading a lake file, beside the yardstick: python tests/benchmarks/bench_store.py"""

import json
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from _measure import measure, report, yardstick

from briefing.profile.files import load_profile
from briefing.resources import config_path
from briefing.store import NewReading, ReadingKind, open_store

NOW = datetime(2026, 4, 18, 14, 0, tzinfo=UTC)


def main() -> None:
    """Print one line a case."""
    yard = yardstick()
    lake = config_path("lakes/sedgemary-lake.toml")
    report("read and check a lake file", measure(lambda: load_profile(lake)), yard)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "briefing.sqlite"
        with open_store(path, NOW) as store:
            for hours in range(300):
                new = NewReading(ReadingKind.WATER_TEMP, NOW - timedelta(hours=hours), {"temperature_c": 16.0})
                store.add_reading("a", new, NOW)
            body = json.dumps({"hours": [{"wind_mps": 0.1 * hour} for hour in range(5000)]})
            report("open an existing store", measure(lambda: open_store(path, NOW).close()), yard)
            report("add a reading", measure(lambda: store.add_reading("b", new, NOW)), yard)
            report("list 300 readings", measure(lambda: store.list_readings("a")), yard)
            report(f"save a briefing of {len(body) // 1000} kB", measure(lambda: _save(store, body)), yard)
            report("read it back", measure(lambda: store.last_briefing("a")), yard)


def _save(store: object, body: str) -> None:
    store.save_briefing("a", NOW.date(), NOW, body)  # type: ignore[attr-defined]


if __name__ == "__main__":
    main()
