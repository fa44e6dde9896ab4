"""What the water engine knows about a lake: its place, size and depth."""

from __future__ import annotations

from dataclasses import dataclass

#: Mean depth as a share of the greatest depth: the median of the lakes the parameters were fitted on.
MEAN_TO_MAX_DEPTH = 0.4
#: Taken when no depth is known at all, and the spread (of the natural log) that goes with it.
UNKNOWN_DEPTH_M = 4.0
UNKNOWN_AREA_KM2 = 1.0
DEPTH_LIMITS_M = (0.3, 200.0)


@dataclass(frozen=True, slots=True)
class WaterSite:
    """A lake as the heat budget sees it.

    Depths in m, area in km2, angles in degrees (north and east positive). None means not known. ``river_fed`` says
    that a river runs through it, which widens what the model takes for possible. ``river_gauges`` says that gauges in
    flowing water count for it, with less weight. ``pocket_depth_m`` is the depth of its sheltered shallow pockets.
    """

    latitude_deg: float
    longitude_deg: float
    elevation_m: float = 0.0
    mean_depth_m: float | None = None
    area_km2: float | None = None
    river_fed: bool = False
    max_depth_m: float | None = None
    pocket_depth_m: float = 1.2
    river_gauges: bool = False

    @property
    def depth_known(self) -> bool:
        """True when a mean or a greatest depth was given."""
        return self.mean_depth_m is not None or self.max_depth_m is not None

    @property
    def depth_m(self) -> float:
        """Mean depth in m: as given, else from the greatest depth, else a common value."""
        if self.mean_depth_m is not None:
            depth = self.mean_depth_m
        elif self.max_depth_m is not None:
            depth = MEAN_TO_MAX_DEPTH * self.max_depth_m
        else:
            depth = UNKNOWN_DEPTH_M
        return min(max(depth, DEPTH_LIMITS_M[0]), DEPTH_LIMITS_M[1])

    @property
    def size_km2(self) -> float:
        """Area in km2: as given, else a common value."""
        return UNKNOWN_AREA_KM2 if self.area_km2 is None else max(self.area_km2, 1e-4)
