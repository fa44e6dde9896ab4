"""Builds the wheel, installs it in a fresh environment outside the checkout and makes a briefing there.

Nothing is downloaded: the fresh environment gets the installed files of the packages that the wheel declares, and of
those that they declare, from the environment this runs in. No other package is there, so a dependency that the wheel
does not declare is missing, and one whose version it does not take is refused.

Run by ``make wheel-check``; exits non-zero with a sentence when the installed program does not work.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import venv
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[1]


def run(*command: str, cwd: Path, env: dict[str, str] | None = None) -> str:
    done = subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"{' '.join(command)} failed with {done.returncode}:\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}")
    return done.stdout


def declared(wheel: Path) -> dict[str, metadata.Distribution]:
    """Installed packages that a wheel declares, and those that they declare in turn, by name."""
    (own,) = metadata.distributions(path=[str(wheel)])
    found: dict[str, metadata.Distribution] = {}
    waiting = [(own, frozenset({""}))]
    while waiting:
        dist, extras = waiting.pop()
        for text in dist.requires or ():
            need = Requirement(text)
            if need.marker and not any(need.marker.evaluate({"extra": extra}) for extra in extras):
                continue
            name = canonicalize_name(need.name)
            there = metadata.distribution(need.name)
            if not need.specifier.contains(there.version, prereleases=True):
                sys.exit(f"{dist.metadata['Name']} declares {text}, but {there.version} is installed here.")
            if name not in found or need.extras:
                found[name] = there
                waiting.append((there, frozenset({"", *need.extras})))
    return found


def copy_files(dist: metadata.Distribution, target: Path) -> None:
    """Copy a package's installed files, but for its programs."""
    for file in dist.files or ():
        if ".." not in file.parts and "__pycache__" not in file.parts:
            to = target / file
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(str(file.locate()), to)


def fresh_environment(here: Path, wheel: Path) -> tuple[Path, int]:
    """Make an environment with the wheel and what it declares; returns its programs' folder and how many packages."""
    venv.create(here / "venv", with_pip=True)
    python = str(here / "venv" / "bin" / "python")
    where = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=here).strip())
    packages = declared(wheel)
    for dist in packages.values():
        copy_files(dist, where)
    pip = (python, "-m", "pip", "--disable-pip-version-check")
    run(*pip, "install", "--quiet", "--no-deps", "--no-index", str(wheel), cwd=here)
    run(*pip, "check", cwd=here)
    return here / "venv" / "bin", len(packages)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(here), cwd=ROOT)
        wheel = next(here.glob("*.whl"))
        programs, packages = fresh_environment(here, wheel)
        env = {"PATH": os.environ["PATH"], "BRIEFING_HOME": str(here / "home"), "HOME": str(here)}
        program = str(programs / "briefing")
        text = run(program, "demo", "--save", str(here / "saved"), cwd=here, env=env)
        saved = sorted(path.name for path in (here / "saved").iterdir())
        made = json.loads(next((here / "saved").glob("*.json")).read_text(encoding="utf-8"))
        lacking = [title for title in ("CAUTIONS", "RODS", "FISH", "NUMBERS BY HOUR", "SOURCES") if title not in text]
        if lacking or len(saved) != 3 or not made["hours"]["rows"]:
            sys.exit(f"the installed program made no whole briefing: saved {saved}, lacking {lacking} in the text")
        run(program, "--help", cwd=here, env=env)
        run(program, "--version", cwd=here, env=env)
        print(f"wheel {wheel.name}: installed with {packages} packages outside the checkout, made {', '.join(saved)}")


if __name__ == "__main__":
    main()
