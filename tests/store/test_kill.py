"""A process killed while it stores: every entry that was acknowledged is there, and the file opens."""

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from briefing.store import open_store

NOW = datetime(2026, 4, 18, 14, 0, tzinfo=UTC)

WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from briefing.store import NewReading, ReadingKind, open_store

now = datetime(2026, 4, 18, 14, 0, tzinfo=UTC)
with open_store(Path(sys.argv[1]), now) as store:
    while True:
        print(store.add_reading("a", NewReading(ReadingKind.THUNDER, now, {}, note="x" * 5000), now).id, flush=True)
"""


@pytest.mark.parametrize("after", [1, 4, 11])
def test_nothing_acknowledged_is_lost_by_a_kill(tmp_path: Path, after: int) -> None:
    path = tmp_path / "briefing.sqlite"
    with subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        acknowledged = [int(writer.stdout.readline()) for _ in range(after)]
        writer.kill()
        acknowledged += [int(line) for line in writer.stdout.read().split("\n") if line.strip()]
    with open_store(path, NOW) as store:
        stored = store.list_readings("a")
        assert {reading.id for reading in stored} >= set(acknowledged)
        assert all(reading.note == "x" * 5000 for reading in stored)
