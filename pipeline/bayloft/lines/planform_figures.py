"""The figures of a planform: area, aspect ratio, sweep, centre of area, mean chords."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import leggauss

from bayloft.lines.fin import FinLines

NODES = 12
"""Nodes per knot span: exact to degree 23, and the highest integrand here, chord squared times x, has 16."""

QUARTER = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanformFigures:
    """Figures of one fin's planform, tab left out.

    aspect_ratio: depth^2 / area of the single fin; aspect_ratio_with_image: twice that, of fin and mirror image in the
    bottom. sweep_deg: angle, off the square to the base and positive aft, of the straight line nearest to the quarter
    chords, each weighted with its chord. centre_of_area_mm: (x forward from the rear end of the base, height).
    mean_chord_mm: area / depth; aerodynamic_mean_chord_mm: integral of chord^2 over the height / area.
    """

    area_mm2: float
    aspect_ratio: float
    aspect_ratio_with_image: float
    sweep_deg: float
    centre_of_area_mm: tuple[float, float]
    mean_chord_mm: float
    aerodynamic_mean_chord_mm: float


def planform_figures(lines: FinLines) -> PlanformFigures:
    """Return the figures of a planform: Gauss-Legendre on each knot span of its edges, exact for polynomials."""
    breaks = np.unique(np.concatenate([lines.leading.t, lines.trailing.t]))
    nodes, weights = leggauss(NODES)
    half = np.diff(breaks) / 2
    u = (((breaks[1:] + breaks[:-1]) / 2)[:, None] + half[:, None] * nodes).ravel()
    rise = (half[:, None] * weights).ravel() * lines.depth_mm * 2.0 * (1.0 - u)
    front, back, z = lines.leading(u), lines.trailing(u), lines.height(u)
    chord = front - back
    slices = chord * rise
    area = float(slices.sum())
    quarter, height = (float((slices * at).sum()) / area for at in (front - QUARTER * chord, z))
    spread = float((slices * (z - height) ** 2).sum())
    lean = float((slices * (z - height) * (front - QUARTER * chord - quarter)).sum()) / spread
    return PlanformFigures(
        area_mm2=area,
        aspect_ratio=lines.depth_mm**2 / area,
        aspect_ratio_with_image=2.0 * lines.depth_mm**2 / area,
        sweep_deg=float(np.degrees(np.arctan(-lean))),
        centre_of_area_mm=(float((slices * (front + back) / 2).sum()) / area, height),
        mean_chord_mm=area / lines.depth_mm,
        aerodynamic_mean_chord_mm=float((slices * chord).sum()) / area,
    )
