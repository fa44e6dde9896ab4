"""Shared fixtures of the test suite."""

import os
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def reference_data() -> Path:
    """Folder of measured reference data, named by BRIEFING_REFERENCE_DATA; a must in CI, skipped elsewhere."""
    value = os.environ.get("BRIEFING_REFERENCE_DATA", "")
    if value and Path(value).is_dir():
        return Path(value)
    if os.environ.get("CI"):
        pytest.fail("BRIEFING_REFERENCE_DATA is not set to a folder; in CI these checks must run")
    pytest.skip("BRIEFING_REFERENCE_DATA is not set: checks against measured reference data do not run")
