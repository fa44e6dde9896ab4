"""CPU time of a call, and the yardstick it is compared with in the same run."""

import time
from collections.abc import Callable


def measure(call: Callable[[], object], repeats: int = 9) -> float:
    """Return the best process CPU time of ``call`` in ms."""
    best = float("inf")
    for _ in range(repeats):
        start = time.process_time()
        call()
        best = min(best, time.process_time() - start)
    return best * 1000.0


def yardstick() -> float:
    """CPU time in ms of a fixed sum, to compare machines by."""
    return measure(lambda: sum(i * i for i in range(1_000_000)))


def report(name: str, ms: float, yard: float, budget_ms: float | None = None) -> None:
    """Print one line: ms, ratio to the yardstick, budget."""
    budget = "" if budget_ms is None else f"  budget {budget_ms:g} ms"
    print(f"{name:48s} {ms:9.2f} ms  {ms / yard:7.3f} x yardstick ({yard:.1f} ms){budget}")
