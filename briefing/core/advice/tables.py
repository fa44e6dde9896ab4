"""Numbers of all presentations side by side, as the ranking works on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.presentation import SPECIES, Presentation, Trapezoid
from briefing.vocabulary import Cover, Forage, LakeKind, Mood, Phase, Sky

WAVE_CLASSES = ("flat", "ripple", "chop", "waves")
SKIES = tuple(Sky)
MOODS = (Mood.NEGATIVE, Mood.NEUTRAL, Mood.ACTIVE)
PHASES = tuple(Phase)
COVERS = tuple(Cover)
FORAGES = tuple(Forage)

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Tables:
    """Numbers of all presentations side by side; the first axis of every array is the presentation.

    ``least_run_m`` is the least depth of a lipped lure; ``heavy`` are trebles and heavy rigs; ``bound`` are those that
    a rule of the water or a skill may rule out;
    windows has shape (n, 4) in temp, secchi, depth; wind (n, 4 classes); light (n, skies); mood (n, 3);
    species (n, 3); phase (n, 7); fit and snag (n, covers); forage (n, forages) is 1 where imitated.
    """

    index: Mapping[str, int]
    temp: Array
    secchi: Array
    depth: Array
    draw_up: Array
    felt_m: Array
    least_run_m: Array
    wind: Array
    light: Array
    mood: Array
    species: Array
    phase: Array
    fit: Array
    snag: Array
    forage: Array
    surface: NDArray[np.bool_]
    trebles: NDArray[np.bool_]
    traits: Mapping[str, NDArray[np.bool_]]
    group: Mapping[str, NDArray[np.bool_]]
    pace: Mapping[str, NDArray[np.bool_]]
    heavy: NDArray[np.bool_]
    bound: tuple[tuple[int, Presentation], ...]
    region: Mapping[LakeKind, Array]

    @classmethod
    def build(cls, items: tuple[Presentation, ...], factors: Mapping[LakeKind, Mapping[str, float]]) -> Tables:
        """Lay the presentations out as arrays."""
        windows = {
            name: np.array([_edges(getattr(item, name)) for item in items])
            for name in ("water_temp_c", "secchi_m", "depth_m")
        }
        traits = sorted({trait for item in items for trait in item.traits})
        groups = sorted({item.group for item in items})
        paces = sorted({item.pace for item in items})
        return cls(
            index={item.id: number for number, item in enumerate(items)},
            temp=windows["water_temp_c"],
            secchi=windows["secchi_m"],
            depth=windows["depth_m"],
            draw_up=np.array([item.draw_up_secchi for item in items]),
            felt_m=np.array([item.felt_m for item in items]),
            least_run_m=np.array([_least_run(item) for item in items]),
            wind=np.array([[item.wind[key] for key in WAVE_CLASSES] for item in items]),
            light=np.array([[item.light[key] for key in SKIES] for item in items]),
            mood=np.array([[item.mood[key] for key in MOODS] for item in items]),
            species=np.array([[item.species[key] for key in SPECIES] for item in items]),
            phase=np.array([[item.phases[key] for key in PHASES] for item in items]),
            fit=np.array([[item.cover[key].fit for key in COVERS] for item in items]),
            snag=np.array([[item.cover[key].snag for key in COVERS] for item in items]),
            forage=np.array([[float(key in item.imitates) for key in FORAGES] for item in items]),
            surface=np.array([item.surface for item in items]),
            trebles=np.array([item.trebles for item in items]),
            traits={name: np.array([name in item.traits for item in items]) for name in traits},
            group={name: np.array([item.group == name for item in items]) for name in groups},
            heavy=np.array([item.trebles or "heavy_rig" in item.traits for item in items]),
            bound=tuple((n, item) for n, item in enumerate(items) if item.legal or item.skill),
            pace={name: np.array([item.pace == name for item in items]) for name in paces},
            region={kind: np.array([own.get(item.id, 1.0) for item in items]) for kind, own in factors.items()},
        )


def _least_run(item: Presentation) -> float:
    """Depth at which the smallest size of a lipped lure runs, m; 0 for what can be held higher."""
    runs = [step.runs_m[0] for step in item.weights if step.runs_m is not None]
    return min(runs) if runs and not item.weight_by_depth else 0.0


def _edges(window: Trapezoid) -> tuple[float, float, float, float]:
    return window.low, window.best_low, window.best_high, window.high
