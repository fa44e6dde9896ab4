"""Shared fixtures of the test suite, the share of the long tests that runs, and stalls on request (see tests.stalls).

Each worker of a parallel run has folders of its own (``tmp_path``); every server takes a port that the system gives.
"""

import functools
import gc
import hashlib
import os
import pickle
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.testing
from hypothesis import HealthCheck, settings
from typer.main import get_command

from briefing.pipeline import fish
from tests.patience import be_patient
from tests.stalls import VARIABLE, StallsPlugin

# The same examples on every machine, and no example fails for being slow.
for _name, _examples in (("repeatable", 10), ("whole", 300)):  # a slice of each property, and the whole of it
    settings.register_profile(
        _name,
        max_examples=_examples,
        deadline=None,
        derandomize=True,
        suppress_health_check=[HealthCheck.too_slow],
    )
settings.load_profile("repeatable")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--whole", action="store_true", help="run the long tests whole, not a slice of each")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "seeds(few, all): a test by 'seed'; few are run, all with --whole")
    config.addinivalue_line("markers", "long: a file whose tests take long; it is run before the others")
    if config.getoption("whole"):
        settings.load_profile("whole")
    told = os.environ.get(VARIABLE, "")
    if told:
        config.pluginmanager.register(StallsPlugin(told))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files of long tests come first, so that no worker begins one when the others have nothing left to do."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


def pytest_collection_finish() -> None:
    """What was collected stays to the end; the collector of garbage need not look through it again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    marker = metafunc.definition.get_closest_marker("seeds")
    if marker is not None:
        few, every = marker.args
        metafunc.parametrize("seed", range(every if metafunc.config.getoption("whole") else few))


@pytest.fixture(scope="session", autouse=True)
def _commands_made_once() -> Iterator[None]:
    """The test runner makes the commands of an application anew for every line; one time will do."""
    made: dict[typer.Typer, Any] = {}

    def command_of(app: typer.Typer) -> Any:
        if app not in made:
            made[app] = get_command(app)
        return made[app]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(typer.testing, "_get_command", command_of)
        yield


_KNOWN: dict[bytes, bytes] = {}


def _once(name: str, run: Callable[..., Any]) -> Callable[..., Any]:
    """A pure engine that runs once for the same inputs; they and the results are kept as bytes, so none is shared."""

    def known(*arguments: Any, **named: Any) -> Any:
        how = getattr(run, "keywords", {})  # with how many particles
        key = hashlib.sha256(pickle.dumps((name, how, arguments, sorted(named.items())))).digest()
        if key not in _KNOWN:
            while len(_KNOWN) >= 60:  # a season takes some megabytes
                _KNOWN.pop(next(iter(_KNOWN)))
            _KNOWN[key] = pickle.dumps(run(*arguments, **named))
        return pickle.loads(_KNOWN[key])

    return known


@pytest.fixture(scope="module", autouse=True)
def _remembered() -> Iterator[None]:
    """The water and season engines of whole mornings run once for the same inputs; tests of the engines call them."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("run_water", "run_phase"):
            patch.setattr(fish, name, _once(name, getattr(fish, name)))
        yield


_run_phase = fish.run_phase


@pytest.fixture(scope="session", autouse=True)
def _few_particles() -> Iterator[None]:
    """A fifth of the season's particles for mornings made here: few tests are about its shares to the last digit."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fish, "run_phase", functools.partial(_run_phase, particles=200))
        yield


@pytest.fixture(scope="module")
def all_particles() -> Iterator[None]:
    """The season as the program runs it, for tests of the very page."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fish, "run_phase", _once("run_phase", _run_phase))
        yield


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
        return Path(value).resolve()
    if os.environ.get("CI"):
        pytest.fail("BRIEFING_REFERENCE_DATA is not set to a folder; in CI these checks must run")
    pytest.skip("BRIEFING_REFERENCE_DATA is not set: checks against measured reference data do not run")
