"""Which banks the wind blows onto, which are sheltered, and whether waves run onto a ramp."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.wind.shape import LakeShape


@dataclass(frozen=True, slots=True)
class RampExposure:
    """Whether waves run onto a ramp: facing the wind or not, with wave height (m) and one sentence."""

    name: str
    faces_waves: bool
    hs_m: float
    text: str


def bank_sides(shape: LakeShape, wind_from_deg: float) -> NDArray[np.int8]:
    """Return per shore edge (order of ``shape.edges``) +1 wind-blown, -1 sheltered, 0 along the wind or unknown."""
    raise NotImplementedError


def bank_words(wind_from_deg: float) -> tuple[str, str]:
    """Return the compass names of the wind-blown and the sheltered bank, such as ("north-east", "south-west")."""
    raise NotImplementedError
