"""A line in the profile of a block, by the length along it: places beside it, and where a point lies square to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline, CubicHermiteSpline

from bayloft.lines.interpolation import interpolating

Array = NDArray[np.float64]

NODES, WEIGHTS = leggauss(4)
MOST_STEPS, CLOSE_MM = 12, 1e-11


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileLine:
    """A smooth line in the plane of station x and height z, in mm: at even `places_mm` (n,) along it, from 0 at station
    0, where it is and how it slopes.
    """

    places_mm: Array
    curve: CubicHermiteSpline
    slopes: BSpline[np.float64]

    @classmethod
    def of_slopes(cls, places_mm: Array, slopes: Array, start: Array) -> ProfileLine:
        """Return the line with slopes (n,) in radians at even places (n,), and `start` (2,) at place 0."""
        spline = interpolating(places_mm, slopes)
        half = np.diff(places_mm) / 2.0
        inner = spline((places_mm[:-1] + half)[:, None] + half[:, None] * NODES)
        points = np.zeros((len(places_mm), 2))
        for axis, part in enumerate((np.cos(inner), np.sin(inner))):
            points[1:, axis] = np.cumsum((part * WEIGHTS).sum(axis=1) * half)
        curve = CubicHermiteSpline(places_mm, points, np.column_stack([np.cos(slopes), np.sin(slopes)]))
        points = points + (np.ravel(start) - curve(0.0))
        curve = CubicHermiteSpline(places_mm, points, np.column_stack([np.cos(slopes), np.sin(slopes)]))
        return cls(places_mm=places_mm, curve=curve, slopes=spline)

    @classmethod
    def through(cls, x_mm: Array, z_mm: Array) -> ProfileLine:
        """Return the line through heights (n,) at ascending stations (n,), station 0 among what they span."""
        height = interpolating(x_mm, z_mm)
        along = interpolating(x_mm, np.hypot(1.0, height(x_mm, 1))).antiderivative()
        lengths = along(x_mm) - along(0.0)
        places = np.linspace(lengths[0], lengths[-1], len(x_mm))
        stations = interpolating(lengths, x_mm)(places)
        return cls.of_slopes(places, np.arctan(height(stations, 1)), np.array([0.0, float(height(0.0))]))

    def at(self, s_mm: ArrayLike) -> Array:
        """Return points (..., 2) at places along the line."""
        return np.asarray(self.curve(np.asarray(s_mm, dtype=np.float64)), dtype=np.float64)

    def slope(self, s_mm: ArrayLike) -> Array:
        """Return slopes in radians at places along the line."""
        return np.asarray(self.slopes(np.asarray(s_mm, dtype=np.float64)), dtype=np.float64)

    def bend(self, s_mm: ArrayLike) -> Array:
        """Return curvatures in 1/mm, positive where the line is hollow upward, at places along it."""
        return np.asarray(self.slopes(np.asarray(s_mm, dtype=np.float64), 1), dtype=np.float64)

    def beside(self, s_mm: Array, off_mm: Array) -> tuple[Array, Array]:
        """Return stations and heights of points so far off the line, to its upper side, square to it at places."""
        points, slope = self.at(s_mm), self.slope(s_mm)
        return points[..., 0] - off_mm * np.sin(slope), points[..., 1] + off_mm * np.cos(slope)

    def foot(self, x_mm: ArrayLike, z_mm: ArrayLike) -> tuple[Array, Array]:
        """Return, for points, the places to which they lie square, and how far off the line, to its upper side."""
        x, z = np.broadcast_arrays(np.asarray(x_mm, dtype=np.float64), np.asarray(z_mm, dtype=np.float64))
        s = np.interp(x, self.curve(self.places_mm)[:, 0], self.places_mm)
        for _ in range(MOST_STEPS):
            points, slope = self.at(s), self.slope(s)
            c, d = np.cos(slope), np.sin(slope)
            over_x, over_z = x - points[..., 0], z - points[..., 1]
            step = (over_x * c + over_z * d) / (1.0 - (over_z * c - over_x * d) * self.bend(s))
            s = s + step
            if float(np.abs(step).max(initial=0.0)) < CLOSE_MM:
                break
        points, slope = self.at(s), self.slope(s)
        off = (z - points[..., 1]) * np.cos(slope) - (x - points[..., 0]) * np.sin(slope)
        return s, off
