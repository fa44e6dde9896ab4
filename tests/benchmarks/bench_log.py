"""CPU time of a year's log and of the checks. Run: python tests/benchmarks/bench_log.py."""

import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import briefing  # before numpy: a program of ours runs the linear algebra in one thread  # noqa: F401 # isort: skip
import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from _measure import measure, report, yardstick

from briefing.core.climate import normals_at
from briefing.core.gathered_json import to_json
from briefing.core.log.checks import Check
from briefing.core.log.correction import fit_correction, mornings_of
from briefing.core.log.effort import segments_of
from briefing.core.log.learning import learn
from briefing.core.log.line import read_line
from briefing.core.log.records import Condition, Fish, Mark, MarkKind
from briefing.core.log.skill import skill_of
from briefing.core.log.table import write_table
from briefing.knowledge import load_advice_knowledge, load_log_parameters, load_normals_table
from briefing.pipeline.experience import read_experience
from briefing.pipeline.inputs import Entered
from briefing.profile.files import load_profile
from briefing.resources import config_path
from briefing.store import Store, open_store
from briefing.store.log import LogBook
from briefing.tools.compose import Weather, compose
from briefing.vocabulary import Cover, Phase

OUTINGS = 120
CHANGES = 6
YEAR = datetime(2026, 1, 3, 12, tzinfo=UTC)
LINE = "2 fish 14in 16in bladed 3/8 grass 4ft 07:40"


def year_of_marks(book: LogBook) -> int:
    """Store 120 outings of seven segments each over ten presentations, covers, phases; returns how many entries."""
    rng = np.random.default_rng(4)
    lures = [item.id for item in load_advice_knowledge(None).presentations][:10]
    covers, phases = list(Cover), list(Phase)
    marks: list[Mark] = []
    for n in range(OUTINGS):
        begin = YEAR + timedelta(days=3 * n)
        known = {
            "phase": Condition(phases[n * len(phases) // OUTINGS].value, "modelled", "the day's briefing"),
            "secchi_m": Condition(float(rng.uniform(0.3, 2.0)), "entered", "your reading"),
            "wind_mps": Condition(3.0, "observed", "a station"),
        }
        start = book.add(
            "lake", Mark(MarkKind.START, begin, presentation=str(rng.choice(lures)), conditions=known), "", begin
        )
        for k in range(CHANGES):
            marks.append(
                Mark(
                    MarkKind.MARK, begin + timedelta(minutes=40 * (k + 1)), outing=start.mark.id,
                    presentation=str(rng.choice(lures)), cover=covers[int(rng.integers(len(covers)))],
                    fish=(Fish(0.35),) * int(rng.poisson(0.4)), conditions=known,
                )
            )  # fmt: skip
        marks.append(Mark(MarkKind.END, begin + timedelta(hours=5), outing=start.mark.id))
    return OUTINGS + book.add_all("lake", marks, "bench", YEAR)


def a_year_of_checks() -> list[Check]:
    """Five hours on 300 mornings, at two leads."""
    rng = np.random.default_rng(6)
    return [
        Check("wind_mps", YEAR + timedelta(days=day, hours=hour), lead, age, 4.0, float(4.0 + rng.normal(0.5, 1.3)),
              "station", "a station", from_deg=float(rng.uniform(0, 360)))
        for day in range(300) for hour in range(5) for lead, age in (("at launch", 3.0), ("day before", 24.0))
    ]  # fmt: skip


def list_year(store: Store) -> str:
    """Load, learn and list a year, as the command does."""
    parameters = load_log_parameters()
    groups = {item.id: item.group for item in load_advice_knowledge(None).presentations}
    segments = segments_of([entry.mark for entry in LogBook(store).entries("lake")], parameters.effort)
    learned = learn(segments, groups, parameters, date(2027, 1, 1))
    return write_table(segments, UTC) + str(learned.factors(Cover.DOCK, Phase.SUMMER, "stained"))


def morning(store: Store, yard: float) -> None:
    """What a briefing spends on log and checks: three days of hourly stored inputs, a year's log, a year of checks."""
    profile = load_profile(config_path("lakes/halvorsby-lake.toml"))
    normals = normals_at(load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)
    now = datetime(2026, 12, 31, 11, tzinfo=UTC)
    book = LogBook(store)
    for entry in book.entries("lake"):
        book.add(profile.id, entry.mark, "", now)
    book.add_checks(profile.id, a_year_of_checks(), now, YEAR)
    gathered = compose(profile, normals, now.date(), now, Weather(seed=1), "x")
    parameters = load_log_parameters()

    def read() -> object:
        return read_experience(store, profile, gathered, Entered(), now, parameters)

    for back, name in ((24, "one briefing a day"), (1, "and an hourly service")):
        for hours in range(back, 62, back):
            at = now - timedelta(hours=hours)
            store.save_gathered(profile.id, at, to_json(compose(profile, normals, at.date(), at, Weather(seed=1), "x")))
        report(f"read log, hold the last forecasts: {name}", measure(read, 3), yard)


def main() -> None:
    """Print each part."""
    yard = yardstick()
    parameters, names = (
        load_log_parameters(),
        {item.id: item.name for item in load_advice_knowledge(None).presentations},
    )
    groups = {item.id: item.group for item in load_advice_knowledge(None).presentations}
    with tempfile.TemporaryDirectory() as folder, open_store(Path(folder) / "store.sqlite", YEAR) as store:
        count = year_of_marks(LogBook(store))
        marks = [entry.mark for entry in LogBook(store).entries("lake")]
        segments = segments_of(marks, parameters.effort)
        print(f"{OUTINGS} outings, {count} entries, {len(segments)} segments")
        report("load a year's log from the store", measure(lambda: LogBook(store).entries("lake")), yard)
        report("segments", measure(lambda: segments_of(marks, parameters.effort)), yard)
        report("learn", measure(lambda: learn(segments, groups, parameters, date(2027, 1, 1))), yard)
        report("load, learn and list a year", measure(lambda: list_year(store)), yard, 200)
        morning(store, yard)
    checks = a_year_of_checks()
    report("read one line", measure(lambda: read_line(LINE, parameters.words, names=names, system="us")), yard)
    mornings = mornings_of(checks)
    report("mornings of a year's checks", measure(lambda: mornings_of(checks)), yard)
    report(
        "fit the wind's correction, blocks held back",
        measure(lambda: fit_correction(mornings, parameters.correction)),
        yard,
    )
    fitted = fit_correction(mornings, parameters.correction)
    report("table of skill", measure(lambda: skill_of(checks, fitted, parameters, "us")), yard)


if __name__ == "__main__":
    main()
