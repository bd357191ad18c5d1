"""Half-sections of a board as curves to fit: all stations in one cut of the surface, corners kept."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import brentq

from bayloft.plane.biarcs import Curve, Stretch
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at

Array = NDArray[np.float64]

SAMPLES = 33
"""Places between two joints of the section where the surface is met. Cubics through them and their slopes are exact
where a section is one cubic between joints, and leave it by less than 1e-3 mm beside a cut-off tail."""

PLACES = 60
"""Places between two joints where a section's radius is looked at."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionCurve:
    """The port half of the section at a station as (y, z) in mm over v, from bottom to deck at the stringer: a smooth
    stretch between each two joints.
    """

    x_mm: float
    joints: Array
    cubics: tuple[CubicHermiteSpline[np.float64], ...]

    def at(self, v: float) -> Array:
        """Return the point (2,) at a parameter."""
        return np.asarray(self.cubics[self._which(v)](v), dtype=np.float64)

    def tangent(self, v: float) -> Array:
        """Return the unit tangent (2,) at a parameter, from the greater side of a joint."""
        slope = self.cubics[self._which(v)](v, 1)
        return np.asarray(slope / np.hypot(*slope), dtype=np.float64)

    def turn_deg(self, joint: float) -> float:
        """Return by how many degrees the section turns at an inner joint, either way."""
        before, after = (cubic(joint, 1) for cubic in self.cubics[self._which(joint) - 1 :][:2])
        across, ahead = before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1]
        return float(np.degrees(np.abs(np.arctan2(across, ahead))))

    def stretches(self, start: float, stop: float, outward_mm: float = 0.0) -> list[Stretch]:
        """Return the curve between two parameters, or one parallel to it outside the board, one per stretch."""
        inner = self.joints[(self.joints > start) & (self.joints < stop)]
        ends = [start, *inner.tolist(), stop]
        return [(self._curve(low, outward_mm), low, high) for low, high in itertools.pairwise(ends)]

    def where(self, y_mm: float, *, deck: bool) -> float:
        """Return the parameter on the deck or the bottom that lies `y_mm` off the stringer, inside the apex."""
        apex = self.joints[len(self.joints) - 1 - int(np.argmax([self.at(v)[0] for v in self.joints[::-1]]))]
        low, high = (float(apex), 1.0) if deck else (0.0, float(apex))
        return float(brentq(lambda v: float(self.at(v)[0]) - y_mm, low, high, xtol=1e-14))

    def sampled(self) -> tuple[Array, Array]:
        """Return parameters (n,) and points (n, 2) all along, PLACES between two joints."""
        places = [np.linspace(a, b, PLACES + 1) for a, b in itertools.pairwise(self.joints)]
        inner = [slice(None, -1)] * (len(places) - 1) + [slice(None)]
        points = [cubic(v[own]) for cubic, v, own in zip(self.cubics, places, inner, strict=True)]
        return np.concatenate([v[own] for v, own in zip(places, inner, strict=True)]), np.concatenate(points)

    def _which(self, v: float) -> int:
        return int(np.clip(np.searchsorted(self.joints, v, side="right") - 1, 0, len(self.cubics) - 1))

    def _curve(self, low: float, outward_mm: float) -> Curve:
        cubic = self.cubics[self._which(low)]

        def curve(v: Array) -> tuple[Array, Array]:
            points, tangents = cubic(v), cubic(v, 1)
            if outward_mm:
                # The body lies to the left of the way from bottom to deck.
                tangents = tangents / np.hypot(*tangents.T)[:, None]
                points = points + outward_mm * np.column_stack([tangents[:, 1], -tangents[:, 0]])
            return points, tangents

        return curve


def section_curves(body: Body, stations_mm: Sequence[float]) -> tuple[SectionCurve, ...]:
    """Return the half-sections at stations where the whole section from bottom to deck is there, solved together.

    Along a section the station stays: dP/dv = P_v - P_u x_v / x_u.
    """
    joints = body.port.joints
    v = np.concatenate([np.linspace(a, b, SAMPLES) for a, b in itertools.pairwise(joints)])
    # The last of a stretch is taken from its own side of the joint.
    last = np.arange(SAMPLES - 1, len(v), SAMPLES)
    sided = v.copy()
    sided[last] = np.nextafter(v[last], 0.0)
    stations, places = np.broadcast_arrays(np.asarray(stations_mm, dtype=np.float64)[:, None], sided)
    u = parameter_at(body.port, stations, places)
    p, pu, pv = (body.port.at(u, places, du=du, dv=dv) for du, dv in ((0, 0), (1, 0), (0, 1)))
    slopes = (pv - pu * (pv[..., :1] / pu[..., :1]))[..., 1:]
    each = [slice(i, i + SAMPLES) for i in range(0, len(v), SAMPLES)]
    return tuple(
        SectionCurve(
            x_mm=float(x),
            joints=joints,
            cubics=tuple(CubicHermiteSpline(v[s], p[i, s, 1:], slopes[i, s]) for s in each),
        )
        for i, x in enumerate(stations_mm)
    )
