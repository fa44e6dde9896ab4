"""The outline of the profile's lake: its shoreline file, else an assumed one from area and longest arm."""

from __future__ import annotations

from pathlib import Path

from briefing.core.wind.shape import LakeShape, equivalent_ellipse
from briefing.errors import ProfileError
from briefing.profile.model import LakeProfile


def lake_shape(profile: LakeProfile, profile_path: Path | None) -> LakeShape:
    """Read the shoreline beside the profile, or make an outline that is marked as assumed.

    Raises ProfileError when the profile names a file that can't be used.
    """
    if profile.shoreline is None:
        arm = None if profile.longest_arm_m is None else profile.longest_arm_m / 1000.0
        return equivalent_ellipse(profile.area_km2, arm, lat_deg=profile.latitude, lon_deg=profile.longitude)
    from briefing.profile.shoreline import read_shoreline

    if profile_path is None:
        raise ProfileError(
            f"{profile.name}: the shoreline file {profile.shoreline} can't be found without the profile's"
        )
    return read_shoreline(profile_path.parent / profile.shoreline, profile.latitude, profile.longitude)
