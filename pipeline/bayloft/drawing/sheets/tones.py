"""Faces of a body as a picture: what of them is seen from far away, in tones, by the light that falls on them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import FillType, contour_generator
from numpy.typing import NDArray
from shapely import LinearRing, LineString, get_coordinates, simplify

from bayloft.arithmetic import lengths, product
from bayloft.drawing.sheet import Drawing, Layer
from bayloft.plane.contour import Contour

Array = NDArray[np.float64]

LIGHTS = (*(0.05 * n for n in range(10)), *(0.5 + 0.01 * n for n in range(46)))
"""Light, 0 to 1, from which on each tone is laid: in finer steps about the light on what lies nearly level."""
GREYS = ((0.0, 0.5, 0.76, 0.95), (64.0, 150.0, 246.0, 255.0))
"""Light, and the grey (0 black to 255 white) that shows it; between them straight."""

EVERYWHERE, FROM_EYE, FROM_ASIDE = 0.16, 0.24, 0.72
"""Light from everywhere, from the eye, and from one place: on the whole a little more than the lightest tone, so that
what faces both has one tone."""
LIGHT = (-0.8, 0.592, 0.098)
"""Where the light comes from, of length 1: to the right on the picture, up, towards the eye. It grazes what lies level,
so that a slight bend is seen."""

OUT_OF_SIGHT = 1.0
"""How quickly a face that turns away is taken as darker than any tone: steeper than any shade changes."""

EDGE_SIMPLER_MM, TONE_SIMPLER_MM = 0.012, 0.025
"""By how much a line of the picture, and a tone's bound, may leave what was traced, on paper."""
LEAST_AREA_MM2 = 0.05
"""Specks below this are left out, on paper."""
AREA_DECIMALS = 6
SAME_PLACE_MM = 1e-6

EDGE_MM, CREASE_MM = 0.3, 0.18
"""Line widths of what bounds a face, and of the corners on it."""
CREASE_COSINE = 0.98
"""Cosine of the least turn that is drawn as a corner."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Face:
    """A face as a grid: points (n, m, 3) in mm and outward unit normals (n, m, 3). Where it turns, two columns of the
    grid stand in one place, each with its own normal.
    """

    points: Array
    normals: Array

    def mirrored(self) -> Face:
        """Return the mirror image in the plane of the stringer."""
        across = np.array([1.0, -1.0, 1.0])
        return Face(points=self.points * across, normals=self.normals * across)

    def reversed(self) -> Face:
        """Return the same face with its columns the other way round."""
        return Face(points=self.points[:, ::-1], normals=self.normals[:, ::-1])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Eye:
    """An eye far away: axes (3, 3) as rows, to the right on the picture, up, and towards the eye; scale 1 : `scale`."""

    axes: Array
    scale: float

    def seen(self, points: Array) -> Array:
        """Return the places (..., 2) on paper of points (..., 3), mm."""
        return product(points, self.axes[:2].T) / self.scale


def eye(towards: Sequence[float], up: Sequence[float], scale: float) -> Eye:
    """Return the eye that a direction leads to, `up` upright on the picture."""
    ahead = np.asarray(towards, dtype=np.float64)
    ahead = ahead / lengths(ahead)
    right = np.cross(np.asarray(up, dtype=np.float64), ahead)
    right = right / lengths(right)
    return Eye(axes=np.stack([right, np.cross(ahead, right), ahead]), scale=scale)


def toned(face: Face, seen_by: Eye, name: str) -> Drawing:
    """Return what is seen of a face in tones, its edges as lines; `name` begins the names of its layers.

    A level line of the light bounds what is at least so light. None crosses another, so painted by falling area, each
    in the tone just inside of it, they make the picture.
    """
    facing = product(face.normals, seen_by.axes[2])
    fallen = np.maximum(product(face.normals, product(np.array(LIGHT), seen_by.axes)), 0.0)
    light = EVERYWHERE + FROM_EYE * np.maximum(facing, 0.0) + FROM_ASIDE * fallen
    rings = []
    for tone, least in enumerate(LIGHTS):
        # What turns away is darker than any tone; what does not is at least of the first.
        height = np.minimum(light - least if tone else 1.0, OUT_OF_SIGHT * facing)
        simpler = TONE_SIMPLER_MM if tone else EDGE_SIMPLER_MM
        rings += [
            (area, tone - hole, ring) for area, hole, ring in _rings(face, seen_by, height, simpler) if tone >= hole
        ]
    bounds = [ring for _, tone, ring in rings if tone == 0]
    rings.sort(key=lambda found: (-found[0], found[1]))
    edge, crease = Layer(name=f"{name}-EDGE", weight_mm=EDGE_MM), Layer(name=f"{name}-CREASE", weight_mm=CREASE_MM)
    return Drawing(
        name=name,
        contours=(
            *((_tone(f"{name}-{i}", tone), ring) for i, (_, tone, ring) in enumerate(rings)),
            *((crease, contour) for contour in _corners(face, seen_by, facing)),
            *((edge, contour) for contour in bounds),
        ),
    )


def _tone(name: str, tone: int) -> Layer:
    """Return the layer of a tone."""
    grey = round(float(np.interp(LIGHTS[tone], *GREYS)))
    return Layer(name=name, weight_mm=0.0, fill=f"#{grey:02x}{grey:02x}{grey:02x}")


def _rings(face: Face, seen_by: Eye, height: Array, simpler_mm: float) -> Iterator[tuple[float, int, Contour]]:
    """Return the lines that bound where a height over a face's grid is 0 or more, as they are seen, without specks: the
    area in each, and 1 where it bounds a hole, else 0.
    """
    found = contour_generator(z=height, fill_type=FillType.OuterOffset).filled(0.0, np.inf)
    for points, offsets in zip(*found, strict=True):
        places = seen_by.seen(_at(face.points, points[:, ::-1]))
        turned = np.roll(places, -1, axis=0)
        doubled = places[:, 0] * turned[:, 1] - places[:, 1] * turned[:, 0]
        for first, last in itertools.pairwise(offsets.tolist()):
            # The first line is the outer one, and the last point of each its first.
            area = round(abs(float(doubled[first : last - 1].sum())) / 2, AREA_DECIMALS)
            if area >= LEAST_AREA_MM2:
                simpler = get_coordinates(simplify(LinearRing(places[first : last - 1]), simpler_mm))[:-1]
                yield area, int(first > 0), Contour.straight(simpler, closed=True)


def _at(points: Array, places: Array) -> Array:
    """Return points (n, 3) of a grid at places (n, 2) in rows and columns, straight between its points."""
    low = np.minimum(places.astype(np.int64), np.array(points.shape[:2]) - 2)
    (i, j), (s, t) = low.T, (places - low).T[..., None]
    near = points[i, j] + t * (points[i, j + 1] - points[i, j])
    far = points[i + 1, j] + t * (points[i + 1, j + 1] - points[i + 1, j])
    return np.asarray(near + s * (far - near), dtype=np.float64)


def _corners(face: Face, seen_by: Eye, facing: Array) -> Iterator[Contour]:
    """Return the lines on a face along which it turns, where one side of them is seen."""
    turn = product(face.normals[:, :-1] * face.normals[:, 1:], np.ones(3))
    here = lengths(face.points[:, 1:] - face.points[:, :-1]).max(axis=0) < SAME_PLACE_MM
    drawn = here & (turn < CREASE_COSINE) & (np.maximum(facing[:, :-1], facing[:, 1:]) > 0.0)
    for column in np.flatnonzero(drawn.any(axis=0)):
        rows = np.flatnonzero(drawn[:, column])
        for run in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1):
            if len(run) > 1:
                line = LineString(seen_by.seen(face.points[run, column]))
                yield Contour.straight(get_coordinates(simplify(line, EDGE_SIMPLER_MM)), closed=False)
