"""Runs cases in processes of their own and watches them: one that hangs or ends its process is found, not awaited."""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import asdict
from typing import IO

from briefing.tools.attack.run import Case, case_kind

#: Seconds without a word after which a case counts as hanging: hundreds of times what one takes.
PATIENCE_S = 180.0
MODULE = "briefing.tools.attack_mornings"

Command = Callable[[range], list[str]]


def worker_command(numbers: range) -> list[str]:
    """The command that runs some cases and writes one line of JSON for each."""
    return [sys.executable, "-m", MODULE, "--lines", "--start", str(numbers.start), "--cases", str(len(numbers))]


def watched(
    numbers: range, workers: int, command: Command = worker_command, patience_s: float = PATIENCE_S
) -> Iterator[Case]:
    """Run cases in ``workers`` processes; yields each as it ends."""
    found: queue.Queue[Case | None] = queue.Queue()
    step = -(-len(numbers) // workers)
    shares = [numbers[first : first + step] for first in range(0, len(numbers), step)]
    for share in shares:
        threading.Thread(target=_share, args=(share, command, patience_s, found), daemon=True).start()
    left = len(shares)
    while left:
        case = found.get()
        if case is None:
            left -= 1
        else:
            yield case


def _share(numbers: range, command: Command, patience_s: float, found: queue.Queue[Case | None]) -> None:
    while numbers:
        done = 0
        word = ""
        process = subprocess.Popen(command(numbers), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        lines = _lines(process)
        while done < len(numbers):
            try:
                line = lines.get(timeout=patience_s)
            except queue.Empty:
                word = f"no end after {patience_s:.0f} s: it hangs"
                break
            if line is None:
                word = "the process ended in the middle of it"
                break
            found.put(case_of(line))
            done += 1
        process.kill()
        _, said = process.communicate()
        numbers = numbers[done:]
        if numbers:
            number = numbers[0]
            found.put(Case(number, case_kind(number).id, "", "", trace=f"{word}\n{said[-500:]}".strip()))
            numbers = numbers[1:]
    found.put(None)


def _lines(process: subprocess.Popen[str]) -> queue.Queue[str | None]:
    """What a process writes, line by line, and None at its end."""
    lines: queue.Queue[str | None] = queue.Queue()

    def read(stream: IO[str]) -> None:
        for line in stream:
            lines.put(line)
        lines.put(None)

    if process.stdout is not None:
        threading.Thread(target=read, args=(process.stdout,), daemon=True).start()
    return lines


def line_of(case: Case) -> str:
    """A case as one line of JSON."""
    return json.dumps(asdict(case))


def case_of(line: str) -> Case:
    """A case from its line."""
    fields = json.loads(line)
    return Case(**{**fields, "faults": tuple(fields["faults"])})
