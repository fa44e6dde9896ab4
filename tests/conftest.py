"""Shared fixtures of the test suite, the share of the long tests that runs, and stalls on request (see tests.stalls).

Each worker of a parallel run has folders of its own (``tmp_path``), and every server takes a port that the system gives.
"""

import os

# One thread a process: two workers use both cores, and threads of the numerical libraries would only take turns.
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.patience import be_patient
from tests.stalls import VARIABLE, StallsPlugin


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--whole", action="store_true", help="run the long tests whole, not a slice of each")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "seeds(few, all): a test by 'seed'; few are run, all with --whole")
    told = os.environ.get(VARIABLE, "")
    if told:
        config.pluginmanager.register(StallsPlugin(told))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    marker = metafunc.definition.get_closest_marker("seeds")
    if marker is not None:
        few, every = marker.args
        metafunc.parametrize("seed", range(every if metafunc.config.getoption("whole") else few))


@pytest.fixture(scope="session")
def whole(request: pytest.FixtureRequest) -> bool:
    """Whether the long tests run whole (``--whole``)."""
    return bool(request.config.getoption("whole"))


@pytest.fixture(scope="session", autouse=True)
def _patience() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        be_patient(patch)
        yield


@pytest.fixture(scope="session")
def reference_data() -> Path:
    """Folder of measured reference data, named by BRIEFING_REFERENCE_DATA; a must in CI, skipped elsewhere."""
    value = os.environ.get("BRIEFING_REFERENCE_DATA", "")
    if value and Path(value).is_dir():
        return Path(value)
    if os.environ.get("CI"):
        pytest.fail("BRIEFING_REFERENCE_DATA is not set to a folder; in CI these checks must run")
    pytest.skip("BRIEFING_REFERENCE_DATA is not set: checks against measured reference data do not run")
