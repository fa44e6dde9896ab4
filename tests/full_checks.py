"""The long checks, whole: each is run, and one table says how each ended.

    make full-checks                 about an hour and a half on two cores
    python tests/full_checks.py kills year     only those

Reference data (``BRIEFING_REFERENCE_DATA``) are needed for the scores; without them those rows say so and fail.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
DATA = os.environ.get("BRIEFING_REFERENCE_DATA", "")

TESTS = ("-m", "pytest", "--whole", "-q", "-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder")

CHECKS: dict[str, tuple[str, ...]] = {
    "fuzz of service bodies": ("-m", "briefing.tools.fuzz_sources", "--seeds", "100000"),
    "mornings under attack": ("-m", "briefing.tools.attack_mornings", "--cases", "20000"),
    "mutations": ("tests/run_mutations.py",),
    "planner, all zones": ("-m", "briefing.tools.check_planner"),
    "kills": ("-m", "briefing.tools.kill_service"),
    "year": ("-m", "briefing.tools.simulate_year"),
    "tests, all of each": TESTS,
    "soak": ("-m", "briefing.tools.soak_service"),
    "500 profiles": ("-m", "briefing.tools.many_profiles"),
    "log and corrections": ("-m", "briefing.tools.simulate_log", "--seeds", "200"),
    "phase seasons": ("-m", "briefing.tools.simulate_phase", "--seasons", "5000"),
    "score: sky": ("-m", "briefing.evaluate", "sky", DATA),
    "score: normals": ("-m", "briefing.evaluate", "normals", f"{DATA}/climate-normals/stations.csv"),
    "score: waves": ("-m", "briefing.evaluate", "waves", f"{DATA}/wave-check.csv"),
    "score: fetch": ("-m", "briefing.evaluate", "fetch", f"{DATA}/fetch-check.json"),
    "score: water": ("-m", "briefing.evaluate", "water", f"{DATA}/lake-temperature"),
    "score: phase": ("-m", "briefing.evaluate", "phase", DATA),
}


def run(name: str, command: tuple[str, ...]) -> tuple[str, str, str]:
    """Run one check; return its name, how it ended, and its last line."""
    if name.startswith("score") and not DATA:
        return name, "not run", "BRIEFING_REFERENCE_DATA is not set"
    print(f"== {name}: python {' '.join(command)}", flush=True)
    start = time.monotonic()
    done = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, check=False)
    print(done.stdout, done.stderr, sep="", flush=True)
    lines = [line for line in done.stdout.splitlines() if line.strip()] or done.stderr.splitlines() or [""]
    minutes = (time.monotonic() - start) / 60
    return name, "passed" if done.returncode == 0 else "FAILED", f"{minutes:.1f} min; {lines[-1].strip()[:90]}"


def main() -> int:
    wanted = sys.argv[1:] or list(CHECKS)
    unknown = [name for name in wanted if name not in CHECKS]
    if unknown:
        print(f"no check named {unknown[0]!r}; there are: {', '.join(CHECKS)}", file=sys.stderr)
        return 2
    rows = [run(name, CHECKS[name]) for name in wanted]
    print("\nFull checks")
    for name, end, last in rows:
        print(f"{name:24s} {end:8s} {last}")
    return 0 if all(end == "passed" for _, end, _ in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
