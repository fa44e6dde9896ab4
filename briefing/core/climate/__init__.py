"""Climate normals of air temperature anywhere on the globe."""

from briefing.core.climate.normals import AirNormals
from briefing.core.climate.table import NormalsTable, normals_at

__all__ = ["AirNormals", "NormalsTable", "normals_at"]
