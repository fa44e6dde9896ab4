"""Finds the files of ``config/`` and ``templates/``, in a source checkout and in an installed wheel alike."""

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomli

if TYPE_CHECKING:
    from numpy.typing import NDArray

_PACKAGE = Path(__file__).resolve().parent


def root(kind: str) -> Path:
    """Return the folder ``config`` or ``templates``: the bundled copy of a wheel, else the source tree's."""
    bundled = _PACKAGE / "_bundled" / kind
    return bundled if bundled.is_dir() else _PACKAGE.parent / kind


def config_path(name: str) -> Path:
    """Return the path of a file below ``config/``, such as ``"limits.toml"``."""
    return root("config") / name


@lru_cache(maxsize=256)
def read_toml(name: str) -> dict[str, Any]:
    """Return the parsed TOML file ``config/<name>``. The result is shared: don't change it."""
    with config_path(name).open("rb") as handle:
        return tomli.load(handle)


def read_arrays(name: str) -> dict[str, "NDArray[Any]"]:
    """Return the arrays of the file ``config/<name>`` (numpy's .npz, plain arrays only) by name."""
    import numpy as np

    with np.load(config_path(name), allow_pickle=False) as stored:
        return {key: stored[key] for key in stored.files}
