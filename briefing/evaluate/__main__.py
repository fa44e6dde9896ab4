"""``python -m briefing.evaluate NAME PATH [--json]``."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from briefing.errors import BriefingError, InputError
from briefing.evaluate import NAMES, evaluation


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise InputError(f"{message}; usage: python -m briefing.evaluate NAME PATH [--json]")


def _arguments(argv: Sequence[str] | None) -> argparse.Namespace:
    parser = _Parser(
        prog="python -m briefing.evaluate",
        description="Score a model on reference data.",
        epilog="; ".join(f"{name}: {what}" for name, what in NAMES.items()),
    )
    parser.add_argument("name", metavar="NAME", help=", ".join(NAMES))
    parser.add_argument("path", metavar="PATH", type=Path, help="file or folder of reference data")
    parser.add_argument("--json", action="store_true", help="print one JSON object instead of a table")
    return parser.parse_args(argv)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one evaluation and print its result; return the exit code, 2 for bad input."""
    try:
        arguments = _arguments(argv)
        chosen = evaluation(arguments.name)
        if not arguments.path.exists():
            raise InputError(f"{arguments.path} does not exist; {arguments.name} reads a {NAMES[arguments.name]}")
        result = chosen.run(arguments.path)
    except BriefingError as error:
        print(f"error: {error}", file=sys.stderr)
        return 2
    print(json.dumps(result, allow_nan=False) if arguments.json else chosen.table(result))
    return 0


if __name__ == "__main__":
    sys.exit(main())
