"""Kriging on the globe with height as a third coordinate, a local plane and the nearness of a cold shore as drift."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.tools.coast import exposure

Floats = NDArray[np.float64]

EARTH_KM = 6371.0
_CHUNK = 1000


@dataclass(frozen=True)
class Covariance:
    """Covariance exp(-d / range_km) exp(-(dz / height_km)^2) plus a nugget; variances of the drift's slopes.

    ``plane`` is per 1000 km, ``shore`` per unit of exposure to the sea. All relative to the sill, which
    cancels out of the weights.
    """

    range_km: float = 3000.0
    height_km: float = 1.0
    nugget: float = 0.005
    plane: float = 9.0
    shore: float = 0.3
    neighbours: int = 30

    def at(self, distance_km: Floats, height_gap_km: Floats) -> Floats:
        """Covariance without the nugget."""
        return np.asarray(np.exp(-distance_km / self.range_km - (height_gap_km / self.height_km) ** 2))


@dataclass(frozen=True)
class Sites:
    """Places as unit vectors (n, 3) with their exposure to the cold sea (n,)."""

    units: Floats
    exposure: Floats

    @classmethod
    def of(cls, latitude_deg: Floats, longitude_deg: Floats) -> Sites:
        """Make sites of positions in degrees, (n,) each."""
        return cls(unit_vectors(latitude_deg, longitude_deg), exposure(latitude_deg, longitude_deg))


def unit_vectors(latitude_deg: Floats, longitude_deg: Floats) -> Floats:
    """Directions from the centre of the earth; (n,) to (n, 3)."""
    lat, lon = np.radians(latitude_deg), np.radians(longitude_deg)
    return np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=-1)


def distance_km(a: Floats, b: Floats) -> Floats:
    """Great-circle distance of unit vectors, broadcast over the leading axes."""
    return np.asarray(2.0 * EARTH_KM * np.arcsin(np.clip(np.linalg.norm(a - b, axis=-1) / 2.0, 0.0, 1.0)))


def nearest(
    points: Floats, stations: Floats, count: int, *, skip_same: bool = False
) -> tuple[NDArray[np.int64], Floats]:
    """Indices and distances (km) of the ``count`` nearest stations, in order; unit vectors in, (points, count) out.

    ``skip_same`` leaves out the station of the same index, for leave-one-out.
    """
    indices, distances = [], []
    for first in range(0, len(points), _CHUNK):
        part = points[first : first + _CHUNK]
        cosine = part @ stations.T
        if skip_same:
            cosine[np.arange(len(part)), np.arange(first, first + len(part))] = -2.0
        chosen = np.argpartition(-cosine, count - 1, axis=1)[:, :count]
        apart = distance_km(part[:, None], stations[chosen])
        order = np.argsort(apart, axis=1, kind="stable")
        indices.append(np.take_along_axis(chosen, order, axis=1))
        distances.append(np.take_along_axis(apart, order, axis=1))
    return np.concatenate(indices), np.concatenate(distances)


def krige(
    points: Sites,
    heights_km: Floats,
    stations: Sites,
    station_km: Floats,
    values: Floats,
    model: Covariance,
    *,
    skip_same: bool = False,
) -> Floats:
    """Kriged values at each point for each of its heights, one set of weights for all columns of ``values``.

    Universal kriging with slopes of known variance (Cressie 1993, *Statistics for Spatial Data*, section 3.4): the
    drift enters as a covariance, the mean as a Lagrange row.

    Parameters
    ----------
    points : p places; heights_km : (p, h)
    stations : n places; station_km : heights (n,); values : (n, m)

    Returns
    -------
    (p, h, m), kept within the range of the neighbours' values widened by 2
    """
    chosen, apart = nearest(points.units, stations.units, model.neighbours, skip_same=skip_same)
    out = np.empty((len(points.units), heights_km.shape[1], values.shape[1]))
    for first in range(0, len(out), _CHUNK):
        part = slice(first, first + _CHUNK)
        near, z, shore = stations.units[chosen[part]], station_km[chosen[part]], stations.exposure[chosen[part]]
        matrix = _matrix(points.units[part], near, z, shore, model)
        side = model.at(apart[part][:, :, None], z[:, :, None] - heights_km[part][:, None, :])
        side += model.shore * (shore * points.exposure[part][:, None])[:, :, None]
        ones = np.ones((len(side), 1, side.shape[2]))
        weights = np.linalg.solve(matrix, np.concatenate([side, ones], axis=1))[:, :-1]
        local = values[chosen[part]]
        result = np.einsum("pkh,pkm->phm", weights, local)
        low, high = local.min(axis=1)[:, None] - 2.0, local.max(axis=1)[:, None] + 2.0
        out[part] = np.clip(result, low, high)
    return out


def _matrix(points: Floats, near: Floats, z: Floats, shore: Floats, model: Covariance) -> Floats:
    """Left side of the kriging systems; (p, k + 1, k + 1)."""
    count = near.shape[1]
    covariance = model.at(distance_km(near[:, :, None], near[:, None]), z[:, :, None] - z[:, None])
    plane = _offsets(points, near)
    covariance += model.plane * np.einsum("pia,pja->pij", plane, plane)
    covariance += model.shore * shore[:, :, None] * shore[:, None] + model.nugget * np.eye(count)
    matrix = np.zeros((len(points), count + 1, count + 1))
    matrix[:, :count, :count] = covariance
    matrix[:, count, :count] = matrix[:, :count, count] = 1.0
    return matrix


def _offsets(points: Floats, near: Floats) -> Floats:
    """East and north offsets of the neighbours from their point, 1000 km; (p, k, 2)."""
    lon, lat = np.arctan2(points[:, 1], points[:, 0]), np.arcsin(np.clip(points[:, 2], -1.0, 1.0))
    east = np.stack([-np.sin(lon), np.cos(lon), np.zeros_like(lon)], axis=1)
    north = np.stack([-np.sin(lat) * np.cos(lon), -np.sin(lat) * np.sin(lon), np.cos(lat)], axis=1)
    axes = np.stack([east, north], axis=1)
    return np.asarray(np.einsum("pkc,pac->pka", near, axes) * EARTH_KM / 1000.0)
