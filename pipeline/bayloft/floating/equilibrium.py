"""At what height and slope the water stands about a loaded body: as much of it below as weighs the same, and the middle
of that straight under the middle of the weight.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bayloft.solid.plane_cut import Below, CutBody, Plane

MOST_TRIM_RAD = math.radians(30.0)
"""Slope past which a board stands on its end and is no board lying in the water (no source)."""
STEP_RAD = 0.03
"""Most by which the trim changes in one step towards the first place of rest."""
VOLUME_CLOSE, LEVER_CLOSE_MM = 1e-10, 1e-7
"""Share of the volume, and mm of the lever, within which both balance."""
MOST_STEPS = 200

Fate = Literal["floats", "sinks", "tips tail down", "tips nose down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """A mass in kg at a place over the stringer, in the board's axes, mm."""

    mass_kg: float
    x_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """How a loaded body comes to rest: whether it does; where the water then stands and what is below it (None where it
    does not); the middle of the weight, mm; how far over that middle a body tilted along its length turns, mm: the
    longitudinal metacentric height; the density of the water.
    """

    fate: Fate
    mass_kg: float
    middle_mm: tuple[float, float]
    density_kg_m3: float
    plane: Plane | None = None
    below: Below | None = None
    metacentric_mm: float = math.nan


def rest(body: CutBody, weights: Sequence[Weight], density_kg_m3: float) -> Rest:
    """Return how a body comes to rest under weights, held from heeling: the first place of rest it comes to from lying
    level. There may be others once water stands over its deck.

    Found from outside in: for each trim the height at which the volume is right, and among trims the one without a
    lever, followed the way that the lever turns the body, so that what is found is stable.
    """
    mass = sum(weight.mass_kg for weight in weights)
    middle = (
        sum(weight.mass_kg * weight.x_mm for weight in weights) / mass,
        sum(weight.mass_kg * weight.z_mm for weight in weights) / mass,
    )
    volume = mass / density_kg_m3 * 1e9
    if volume >= body.whole.volume_mm3 * (1.0 - VOLUME_CLOSE):
        return Rest(fate="sinks", mass_kg=mass, middle_mm=middle, density_kg_m3=density_kg_m3)
    found = _level(body, volume, 0.0, (body.lowest_mm + body.highest_mm) / 2.0)
    trim, lever, stiffness = 0.0, _lever(found, middle), _metacentric(found, middle)
    low, high = -math.inf, math.inf
    for _ in range(MOST_STEPS):
        if abs(lever) <= LEVER_CLOSE_MM and stiffness > 0.0:
            break
        if lever < 0.0:
            low = trim
        else:
            high = trim
        step = -lever / stiffness if stiffness > 0.0 else -math.copysign(STEP_RAD, lever)
        following = trim + max(-STEP_RAD, min(STEP_RAD, step))
        if not low < following < high:
            following = (low + high) / 2.0
        if abs(following) > MOST_TRIM_RAD:
            fate: Fate = "tips nose down" if following > 0.0 else "tips tail down"
            return Rest(fate=fate, mass_kg=mass, middle_mm=middle, density_kg_m3=density_kg_m3)
        if following == trim:
            break
        trim = following
        slope, plane = math.tan(trim), found[0]
        at = found[1].face_x_mm
        found = _level(body, volume, slope, plane.height_mm + (plane.slope - slope) * at)
        lever, stiffness = _lever(found, middle), _metacentric(found, middle)
    plane = found[0]
    below = body.below(plane)
    return Rest(
        fate="floats",
        mass_kg=mass,
        middle_mm=middle,
        density_kg_m3=density_kg_m3,
        plane=plane,
        below=below,
        metacentric_mm=_metacentric((plane, below), middle),
    )


def _level(body: CutBody, volume: float, slope: float, start: float) -> tuple[Plane, Below]:
    """Return the plane of a slope that has a volume below it, and what is below: Newton's method between bounds, for
    the volume grows with the height.
    """
    ends = [z - slope * x for z in (body.lowest_mm, body.highest_mm) for x in body.ends_mm]
    low, high = min(ends) - 1.0, max(ends) + 1.0
    height = min(max(start, low), high)
    for _ in range(MOST_STEPS):
        plane = Plane(height_mm=height, slope=slope)
        below = body.below(plane, skin=False)
        short = volume - below.volume_mm3
        if abs(short) <= VOLUME_CLOSE * volume:
            break
        low, high = (height, high) if short > 0.0 else (low, height)
        following = height + short / below.face_mm2 if below.face_mm2 > 0.0 else math.nan
        height = following if low < following < high else (low + high) / 2.0
        if high - low <= 1e-12 * abs(high):
            break
    return plane, below


def _lever(found: tuple[Plane, Below], middle: tuple[float, float]) -> float:
    """Return how far the middle of the water's place is ahead of that of the weight, along the water, mm."""
    plane, below = found
    x, z = below.centre_mm[0] - middle[0], below.centre_mm[1] - middle[1]
    return (x + plane.slope * z) / plane.steepness


def _metacentric(found: tuple[Plane, Below], middle: tuple[float, float]) -> float:
    """Return the longitudinal metacentric height over the middle of the weight, mm: by how much the lever grows for
    each radian of trim.
    """
    plane, below = found
    x, z = below.centre_mm[0] - middle[0], below.centre_mm[1] - middle[1]
    over = (z - plane.slope * x) / plane.steepness
    return below.face_second_mm4 * plane.steepness**3 / below.volume_mm3 + over
