"""What a briefing without a store must not load."""

import subprocess
import sys


def test_the_demonstration_starts_without_the_database() -> None:
    program = "import sys, briefing.pipeline.demo; print('sqlalchemy' in sys.modules, 'apscheduler' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, text=True).stdout
    assert said.split() == ["False", "False"]
