"""The room on a part: where a text finds a place inside its outline, clear of all that is drawn and written there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from bayloft.drawing.labels import Box, bounds, dotted, free_place, widened
from bayloft.drawing.part import Part
from bayloft.drawing.scribing import TEXT_CLEAR_MM, WIDEST_GROOVE_MM, Stamp
from bayloft.drawing.sheet import CUT, PLY, PLY_INSIDE, SCRIBE, THICKNESS, Drawing
from bayloft.plane.contour import Contour

Array = NDArray[np.float64]
Place = tuple[float, float]

CLEAR_MM = 2.0 * TEXT_CLEAR_MM
"""Between a text and what is cut, marked or written."""

WRITTEN_OVER = (CUT, PLY, PLY_INSIDE, THICKNESS)
"""Layers over whose lines a text may stand: cuts are kept clear of in another way, and level lines are faint
and cover the whole of a fin."""

BELOW_MM, LEADER_MM = 4.0, 80.0
"""Between the edge and a text that a leader joins to it, and the longest leader drawn."""

STEP_MM, FINE_MM = 4.0, 1.0
"""Between the places tried for a text, and for one that has to stay near its own."""

_FLATTENED_MM = 0.2
_NEAR_MM = 80.0


def rings(drawing: Drawing) -> tuple[Array, list[Array]]:
    """Return the points (n, 2) of a part's outer contour and of its openings, flattened for questions of room."""
    part = Part(drawing=drawing, title="", number=0)
    return part.outline.flattened(_FLATTENED_MM), [hole.flattened(_FLATTENED_MM) for hole in part.openings]


@dataclass(slots=True, kw_only=True)
class Room:
    """The room of one part as it fills: the ground inside its outline, the ground on which nothing below it may stand,
    the boxes that are taken, and wider ones round what is scribed, which other scribed texts keep clear of.
    """

    inside: Polygon
    edge: Polygon
    taken: list[Box]
    apart: list[Box] = field(default_factory=list)

    @classmethod
    def of(cls, drawing: Drawing) -> Room:
        """Return the room that a part's drawing leaves."""
        outline, openings = rings(drawing)
        inside = Polygon(outline, openings).buffer(-CLEAR_MM, join_style="mitre")
        shapely.prepare(inside)
        drawn = [(layer, contour) for layer, contour in drawing.contours if layer not in WRITTEN_OVER]
        grooves = {True: TEXT_CLEAR_MM + WIDEST_GROOVE_MM, False: TEXT_CLEAR_MM}
        taken = [box for layer, contour in drawn for box in _boxes(contour, grooves[layer == SCRIBE])]
        taken += [widened(bounds(label), TEXT_CLEAR_MM) for label in drawing.labels]
        return cls(inside=inside, edge=Polygon(outline).buffer(CLEAR_MM), taken=taken)

    def placed(self, stamps: Iterable[Stamp], near_mm: Place, step_mm: float = STEP_MM) -> Drawing | None:
        """Return the first stamp for which there is room inside, where it is free nearest to the wanted place; None
        where no stamp has room. The box it fills is taken from then on.
        """
        for stamp in stamps:
            corner = self.corner(stamp, near_mm, step_mm=step_mm)
            if corner is not None:
                self.take(stamp, corner)
                return stamp.drawing.moved(*corner)
        return None

    def take(self, stamp: Stamp, corner_mm: Place) -> None:
        """Take the box that a stamp fills with its lower left corner at a place."""
        self.taken.append(filled(stamp, corner_mm, TEXT_CLEAR_MM))
        if stamp.clear_mm > TEXT_CLEAR_MM:
            self.apart.append(filled(stamp, corner_mm, stamp.clear_mm))

    def corner(
        self,
        stamp: Stamp,
        near_mm: Place,
        within_mm: float | None = None,
        others: Iterable[Box] = (),
        step_mm: float = STEP_MM,
    ) -> Place | None:
        """Return the lower left corner of a stamp in the free place nearest to the wanted one, no further from it than
        within_mm and clear of `others` too; None where there is none.
        """

        def holds(boxes: Array) -> NDArray[np.bool_]:
            return np.asarray(shapely.contains(self.inside, shapely.box(*boxes.T)), dtype=np.bool_)

        size = np.array(stamp.size_mm)
        if self.inside.is_empty:
            return None
        low, high = np.reshape(self.inside.bounds, (2, 2))
        if (size > high - low).any():
            return None
        apart = self.apart if stamp.clear_mm > TEXT_CLEAR_MM else []
        taken = np.reshape([*self.taken, *apart, *others], (-1, 2, 2))
        # Most find their place near the wanted one, and only the others are looked for all over the part.
        whole = float(np.hypot(*(high - low)))
        reaches = (_NEAR_MM, whole) if within_mm is None and whole > _NEAR_MM else (within_mm or whole,)
        for reach in reaches:
            start = np.maximum(low, np.clip(near_mm, low, high) - reach - size / 2)
            stop = np.minimum(high - size, np.clip(near_mm, low, high) + reach - size / 2)
            x, y = (np.arange(a, b, step_mm) for a, b in zip(start, stop, strict=True))
            grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
            away = np.hypot(*(grid + size / 2 - near_mm).T)
            grid = grid[np.argsort(away.round(6), kind="stable")]
            grid = grid if within_mm is None else grid[: int((away <= within_mm).sum())]
            about = (taken[:, 0] < stop + size).all(axis=1) & (taken[:, 1] > start).all(axis=1)
            place = free_place(stamp.size_mm, grid, taken[about].reshape(-1, 4), holds)
            if place is not None:
                return place
        return None

    def below(self, stamp: Stamp, left_mm: float, bottom_mm: float) -> Drawing:
        """Return a stamp under the part and all that stands there, flush with its left end."""
        corner = left_mm, min([bottom_mm, *(box[1] for box in self.taken)]) - CLEAR_MM - stamp.size_mm[1]
        self.take(stamp, corner)
        return stamp.drawing.moved(*corner)

    def under(self, stamp: Stamp, from_mm: Place) -> tuple[Drawing, float] | None:
        """Return a stamp under the part where a leader straight down from a place on its edge reaches it, and the
        height where the leader ends, if there is room; both are taken then.
        """
        x, y = from_mm
        wide, high = stamp.size_mm

        def free(boxes: Array) -> NDArray[np.bool_]:
            found = np.asarray(shapely.disjoint(self.edge, shapely.box(*boxes.T)), dtype=np.bool_)
            for i in np.flatnonzero(found):
                top = float(boxes[i, 3])
                crossed = (box[0] < x < box[2] and top < box[3] < y for box in self.taken)
                found[i] = not any(crossed)
            return found

        across = np.arange(CLEAR_MM, wide - CLEAR_MM, FINE_MM)
        across = x - across[np.argsort(np.abs(across - wide / 2), kind="stable")]
        down = y - high - np.arange(BELOW_MM, LEADER_MM, STEP_MM)
        grid = np.column_stack([np.tile(across, len(down)), np.repeat(down, len(across))])
        corner = free_place(stamp.size_mm, grid, self.taken, free)
        if corner is None:
            return None
        top = corner[1] + high
        self.take(stamp, corner)
        self.taken.append(widened((x, top, x, y - CLEAR_MM), TEXT_CLEAR_MM))
        return stamp.drawing.moved(*corner), top


def filled(stamp: Stamp, corner_mm: Place, clear_mm: float) -> Box:
    """Return the box of a stamp with its lower left corner at a place, and so much round it."""
    size = stamp.size_mm
    return widened((*corner_mm, corner_mm[0] + size[0], corner_mm[1] + size[1]), clear_mm)


def _boxes(contour: Contour, clear_mm: float) -> list[Box]:
    """Return the boxes in which nothing may be written for a contour: of a slanting line many small ones."""
    left, low, right, high = contour.bounds
    if min(right - left, high - low) < 2.0 * CLEAR_MM:
        return [widened((left, low, right, high), clear_mm)]
    return [widened((x, y, x, y), clear_mm) for x, y in dotted(contour, CLEAR_MM).tolist()]
