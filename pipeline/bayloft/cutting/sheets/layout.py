"""Where parts lie on sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import LineString, Polygon, prepare

from bayloft.drawing.labels import corners
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, DRILL, SCRIBE, Drawing, Label, Layer
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Cutter, Stock
from bayloft.tolerances import FLATTENING_MM, MARK_FLATTENING_MM

TOOL_LAYERS = (CUT, DRILL, SCRIBE)
"""What a tool follows."""

PLACE_DECIMALS = 3
"""Decimals (mm) of a part's place on its sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One copy of a part on a sheet. `part` has its drawing where it lies: x along the sheet's length and y across from
    its lower left corner. `given` is the part as it was drawn, `copy` counts its copies from 1; it was mirrored in its
    x axis or not, then turned by `turned_deg` counter-clockwise, then moved.
    """

    part: Part
    given: Part
    copy: int
    mirrored: bool
    turned_deg: float

    @property
    def name(self) -> str:
        """What it is called on its sheet."""
        return f"{self.given.number} {self.given.title}" + (f" ({self.copy})" if self.given.count > 1 else "")

    @property
    def size_mm(self) -> tuple[float, float]:
        """Extent of the outline along and across the sheet."""
        left, bottom, right, top = self.part.outline.bounds
        return right - left, top - bottom

    @property
    def area_mm2(self) -> float:
        """Area within the outline less the openings."""
        return abs(self.part.outline.area_mm2) - sum(abs(opening.area_mm2) for opening in self.part.openings)


@dataclass(frozen=True, slots=True, kw_only=True)
class OffCut:
    """A rectangle of a sheet that no cutter touches: its lower left corner and its size in mm, along and across."""

    x_mm: float
    y_mm: float
    length_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSheet:
    """One sheet of stock with the parts that are cut from it; `number` counts all sheets from 1."""

    number: int
    stock: Stock
    placed: tuple[Placed, ...]
    off_cuts: tuple[OffCut, ...]

    @property
    def used_mm2(self) -> float:
        """Area of the parts."""
        return sum(placed.area_mm2 for placed in self.placed)

    @property
    def used_share(self) -> float:
        """Area of the parts as a share of the sheet's."""
        return self.used_mm2 / (self.stock.length_mm * self.stock.width_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The sheets that parts are cut from with a cutter, `gap_mm` apart at least and `edge_mm` from every edge."""

    sheets: tuple[CutSheet, ...]
    cutter: Cutter
    gap_mm: float

    @property
    def used_share(self) -> float:
        """Area of the parts as a share of all sheets'."""
        whole = sum(sheet.stock.length_mm * sheet.stock.width_mm for sheet in self.sheets)
        return sum(sheet.used_mm2 for sheet in self.sheets) / whole


def edge_mm(stock: Stock, cutter: Cutter) -> float:
    """Return how far from a sheet's edge its parts stay: the cutter goes round them and leaves the margin alone."""
    return stock.margin_mm + cutter.diameter_mm


def room_mm(stock: Stock, cutter: Cutter) -> tuple[float, float]:
    """Return the greatest length and width of what can be cut from a sheet, in mm; 0 where there is no room."""
    edge = edge_mm(stock, cutter)
    return max(stock.length_mm - 2 * edge, 0.0), max(stock.width_mm - 2 * edge, 0.0)


def placed_at(given: Part, copy: int, *, mirrored: bool, turned_deg: float, corner_mm: Sequence[float]) -> Placed:
    """Return a copy of a part whose outline, mirrored or not and turned, has its bounds' least corner at a place.

    Lines and texts for the eye that lie beyond the outline are left out: on a sheet a neighbour is there.
    """
    whole = replace(given, drawing=_within_outline(given))
    drawing = whole.turned_over if mirrored else whole.drawing
    drawing = drawing.turned(turned_deg) if turned_deg else drawing
    left, bottom, _, _ = replace(given, drawing=drawing).outline.bounds
    dx, dy = np.round([corner_mm[0] - left, corner_mm[1] - bottom], PLACE_DECIMALS + 3).tolist()
    part = replace(given, drawing=drawing.moved(dx, dy), head=())
    return Placed(part=part, given=given, copy=copy, mirrored=mirrored, turned_deg=turned_deg)


def _within_outline(part: Part) -> Drawing:
    """Return a part's drawing with what a tool follows, and of the rest what lies inside its outline."""
    inside = Polygon(part.outline.flattened(FLATTENING_MM)).buffer(MARK_FLATTENING_MM)
    prepare(inside)

    def kept(layer: Layer, contour: Contour) -> bool:
        return layer in TOOL_LAYERS or inside.covers(LineString(contour.flattened(MARK_FLATTENING_MM)))

    def readable(label: Label) -> bool:
        return bool(inside.covers(Polygon(corners(label))))

    drawing = part.drawing
    return replace(
        drawing,
        contours=tuple((layer, contour) for layer, contour in drawing.contours if kept(layer, contour)),
        labels=tuple(label for label in drawing.labels if readable(label)),
    )
