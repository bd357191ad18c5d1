"""What a drawing is made of: layers, contours of lines and arcs, single-line labels; millimetres, y upward."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from bayloft.plane.contour import Contour


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """A layer by its operation: whether a tool cuts it, how thick it is drawn (mm), dashes (mm on, off, ...), ink."""

    name: str
    cuts: bool = False
    weight_mm: float = 0.18
    dashes_mm: tuple[float, ...] = ()
    colour: str = "#1c1f22"
    fill: str | None = None


CUT = Layer(name="CUT", cuts=True, weight_mm=0.35)
DRILL = Layer(name="DRILL", weight_mm=0.25, colour="#7a3b2e")
SCRIBE = Layer(name="SCRIBE", weight_mm=0.18, colour="#5b4b7a")
MARK = Layer(name="MARK", weight_mm=0.18, colour="#30506b")
TEXT = Layer(name="TEXT", weight_mm=0.18, colour="#30506b")
CENTRE = Layer(name="CENTRE", weight_mm=0.13, dashes_mm=(6.0, 1.2, 1.2, 1.2), colour="#555b60")
THICKNESS = Layer(name="THICKNESS", weight_mm=0.13, colour="#7c8a94")
PLY = Layer(name="PLY", weight_mm=0.09, colour="#9aa5ad")
PLY_INSIDE = Layer(name="PLY_INSIDE", weight_mm=0.09, dashes_mm=(1.6, 0.8), colour="#9aa5ad")
FRAME = Layer(name="FRAME", weight_mm=0.5)
FAINT = Layer(name="FAINT", weight_mm=0.1, colour="#bdbab0")
FOAM = Layer(name="FOAM", weight_mm=0.5, fill="#f3f1ea")
TINT = Layer(name="TINT", weight_mm=0.05, colour="#f3f1ea", fill="#f3f1ea")
CUT_FACE = Layer(name="CUT_FACE", weight_mm=0.35, fill="#f3f1ea")
VISIBLE = Layer(name="VISIBLE", weight_mm=0.35)
THIN = Layer(name="THIN", weight_mm=0.18)
HIDDEN = Layer(name="HIDDEN", weight_mm=0.18, dashes_mm=(1.6, 0.8))
DIMENSION = Layer(name="DIMENSION", weight_mm=0.13, colour="#30506b")
ARROW = Layer(name="ARROW", weight_mm=0.05, colour="#30506b", fill="#30506b")
STOCK = Layer(name="STOCK", weight_mm=0.13, colour="#7c8a94")
LETTERING = Layer(name="LETTERING")
QUIET = Layer(name="QUIET", colour="#666b70")


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """One line of text: its anchor point in mm, cap height in mm, turn in degrees counter-clockwise. anchor "axis": a
    figure whose fraction is stacked, its whole figures ending at the anchor point; see stacked.py.
    """

    text: str
    x_mm: float
    y_mm: float
    height_mm: float = 3.5
    turn_deg: float = 0.0
    anchor: Literal["start", "middle", "end", "axis"] = "start"
    layer: Layer = TEXT
    bold: bool = False

    def turned(self, deg: float) -> Label:
        """Return the label turned about the origin, degrees counter-clockwise."""
        cosine, sine = float(np.cos(np.radians(deg))), float(np.sin(np.radians(deg)))
        x, y = self.x_mm * cosine - self.y_mm * sine, self.x_mm * sine + self.y_mm * cosine
        return replace(self, x_mm=x, y_mm=y, turn_deg=(self.turn_deg + deg) % 360.0)

    def mirrored(self) -> Label:
        """Return the label in the place that mirroring in the x axis gives it, its letters as they were."""
        # The line's upper edge becomes its foot: the anchor goes over to it.
        turn = np.radians(self.turn_deg)
        x = self.x_mm - self.height_mm * float(np.sin(turn))
        y = -self.y_mm - self.height_mm * float(np.cos(turn))
        return replace(self, x_mm=x, y_mm=y, turn_deg=-self.turn_deg % 360.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A named drawing: contours and labels on layers. With `page_mm` it is a sheet of that width and height whose lower
    left corner is the origin; without, it is a part at full size with whatever extent it has.
    """

    name: str
    contours: tuple[tuple[Layer, Contour], ...] = ()
    labels: tuple[Label, ...] = ()
    page_mm: tuple[float, float] | None = None

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers in use, in order of first use."""
        return tuple(dict.fromkeys([layer for layer, _ in self.contours] + [label.layer for label in self.labels]))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of the contours in mm; exact. Raises ValueError without contours."""
        if not self.contours:
            raise ValueError(f"the drawing {self.name} has no contours and so no bounds")
        boxes = np.array([contour.bounds for _, contour in self.contours])
        (left, bottom), (right, top) = boxes[:, :2].min(axis=0).tolist(), boxes[:, 2:].max(axis=0).tolist()
        return left, bottom, right, top

    def moved(self, dx_mm: float, dy_mm: float) -> Drawing:
        """Return this drawing moved by (dx, dy); a page stays where it is."""
        return replace(
            self,
            contours=tuple((layer, contour.moved(dx_mm, dy_mm)) for layer, contour in self.contours),
            labels=tuple(replace(label, x_mm=label.x_mm + dx_mm, y_mm=label.y_mm + dy_mm) for label in self.labels),
        )

    def turned(self, deg: float) -> Drawing:
        """Return this drawing turned about the origin, degrees counter-clockwise; a page stays where it is."""
        return replace(
            self,
            contours=tuple((layer, contour.turned(deg)) for layer, contour in self.contours),
            labels=tuple(label.turned(deg) for label in self.labels),
        )

    def mirrored(self) -> Drawing:
        """Return the mirror image in the x axis, its labels where they go but still to be read; without the page."""
        return replace(
            self,
            contours=tuple((layer, contour.mirrored().reversed()) for layer, contour in self.contours),
            labels=tuple(label.mirrored() for label in self.labels),
            page_mm=None,
        )

    def joined(self, *others: Drawing) -> Drawing:
        """Return this drawing with the contours and labels of others laid over it."""
        return replace(
            self,
            contours=self.contours + tuple(item for other in others for item in other.contours),
            labels=self.labels + tuple(label for other in others for label in other.labels),
        )
