"""Builds the wheel, installs it in a fresh environment outside the checkout and makes a briefing there.

Run by ``make wheel-check``; exits non-zero with a sentence when the installed program does not work.
"""

import json
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def run(*command: str, cwd: Path, env: dict[str, str] | None = None) -> str:
    done = subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"{' '.join(command)} failed with {done.returncode}:\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}")
    return done.stdout


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        run(sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(here), str(ROOT), cwd=here)
        wheel = next(here.glob("*.whl"))
        venv.create(here / "venv", with_pip=True)
        python = str(here / "venv" / "bin" / "python")
        run(
            python,
            "-m",
            "pip",
            "install",
            "--quiet",
            "--disable-pip-version-check",
            "-c",
            str(ROOT / "constraints.txt"),
            str(wheel),
            cwd=here,
        )
        env = {"PATH": os.environ["PATH"], "BRIEFING_HOME": str(here / "home"), "HOME": str(here)}
        program = str(here / "venv" / "bin" / "briefing")
        text = run(program, "demo", "--save", str(here / "saved"), cwd=here, env=env)
        saved = sorted(path.name for path in (here / "saved").iterdir())
        made = json.loads(next((here / "saved").glob("*.json")).read_text(encoding="utf-8"))
        if "HOUR BY HOUR" not in text or len(saved) != 3 or not made["hours"]["rows"]:
            sys.exit(f"the installed program made no whole briefing: {saved}")
        run(program, "--help", cwd=here, env=env)
        run(program, "--version", cwd=here, env=env)
        print(f"wheel {wheel.name}: installed outside the checkout, made {', '.join(saved)}")


if __name__ == "__main__":
    main()
