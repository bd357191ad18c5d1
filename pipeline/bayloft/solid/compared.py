"""A shape that is held against another: its surface where it has one, a mesh, and the long lines cut from that."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.mesh import Mesh
from bayloft.solid.mesh_distance import NearestFacet
from bayloft.solid.meshing import grid_for, meshed
from bayloft.solid.slicing import MeshSlices, heights, reach

Array = NDArray[np.float64]

BODY_CHORD_MM = 0.02
"""mm within which the mesh of a surface follows it: pictures and lines are cut from that; sizes and distances not."""
STATIONS, INSET_MM = 241, 0.01
"""Stations of the long lines, and how far inside the ends the outermost are."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LongLines:
    """Lines cut at stations x (n,) in mm from the tail end, from the stringer to port and to starboard each: where the
    section begins (0, or at a notch) and ends; bottom and deck at the stringer, not a number where there is none.
    """

    x_mm: Array
    port_mm: Array
    starboard_mm: Array
    bottom_mm: Array
    deck_mm: Array

    @property
    def widths_mm(self) -> Array:
        """Full widths (n,)."""
        return np.asarray(self.port_mm[:, 1] + self.starboard_mm[:, 1], dtype=np.float64)


class ComparedShape:
    """A shape with x from its tail end (0) to its nose, y to port off its stringer, z up from its lowest bottom."""

    def __init__(self, mesh: Mesh, body: Body | None = None) -> None:
        self.mesh, self.body = mesh, body

    @classmethod
    def of_body(cls, body: Body) -> ComparedShape:
        """Return a surface as one to be compared. Raises MeshingError where no mesh follows it."""
        return cls(meshed(body, grid_for(body, BODY_CHORD_MM)), body)

    @cached_property
    def closed(self) -> bool:
        """Whether it encloses a volume: every edge of its mesh is shared by two facets that face alike."""
        return self.body is not None or self.mesh.unpaired_edges() == 0

    @cached_property
    def length_mm(self) -> float:
        """From the tail end to the nose."""
        return float(np.ptp(self.mesh.vertices[:, 0]))

    @cached_property
    def slices(self) -> MeshSlices:
        """What cuts it."""
        return MeshSlices(self.mesh)

    @cached_property
    def lines(self) -> LongLines:
        """Its long lines, crowded to both ends, where they turn quickly."""
        turn = (1.0 - np.cos(np.pi * np.arange(STATIONS) / (STATIONS - 1))) / 2.0
        return self.lines_at(np.clip(turn * self.length_mm, INSET_MM, self.length_mm - INSET_MM))

    def lines_at(self, x_mm: ArrayLike) -> LongLines:
        """Return the long lines at stations (n,)."""
        stations = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
        cuts = [self.slices.at(float(x)) for x in stations]
        middle = np.array([heights(cut, [0.0])[:, 0] for cut in cuts]).reshape(-1, 2)
        return LongLines(
            x_mm=stations,
            port_mm=np.array([reach(cut, 1.0) for cut in cuts]).reshape(-1, 2),
            starboard_mm=np.array([reach(cut, -1.0) for cut in cuts]).reshape(-1, 2),
            bottom_mm=middle[:, 0],
            deck_mm=middle[:, 1],
        )

    @cached_property
    def _facets(self) -> NearestFacet:
        return NearestFacet(self.mesh)

    @cached_property
    def _surface(self) -> Nearest | None:
        return None if self.body is None else Nearest(self.body)

    def signed_mm(self, points: ArrayLike) -> Array:
        """Return how far points (n, 3) lie from it in mm, outside positive: from its surface where it has one.

        Raises TangledMeshError as `NearestFacet.signed_mm`.
        """
        from_facets = self._facets.signed_mm(points)
        if self._surface is None:
            return from_facets
        exact = 0.0 - self._surface.feet(points).depth_mm
        # One start in some thousands, deep inside, leads to a place that is near, and not the nearest.
        nearer = np.abs(from_facets) < np.abs(exact) - 2.0 * BODY_CHORD_MM
        return np.asarray(np.where(nearer, from_facets, exact), dtype=np.float64)

    def settled(self, points: Array) -> Array:
        """Return places (n, 3) of its mesh as places of its surface, where it has one."""
        return points if self._surface is None else self._surface.feet(points).points
