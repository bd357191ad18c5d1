"""A part: what is cut out of a sheet, with what is marked on it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from bayloft.drawing.sheet import CUT, DRILL, Drawing, Label
from bayloft.plane.contour import Contour


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A drawing at full size with one outer CUT contour; further CUT contours are openings inside it, DRILL circles are
    holes drilled to their diameter, SCRIBE contours are followed shallowly, and everything else is for the eye.

    `number` is its number in the set; `head` are those of its labels, on SCRIBE, that say what it is. `along_grain`:
    its x axis lies along the face grain; `count` of them are cut, `mirrored` of these turned over. `board` and `day`
    are those written on it; `kind` names the parts of a set that are drawn together; `on_request`:
    always drawn, but cut and printed only where it is asked for.
    """

    drawing: Drawing
    title: str
    number: int
    along_grain: bool = False
    count: int = 1
    mirrored: int = 0
    board: str = ""
    day: date | None = None
    kind: str = ""
    on_request: bool = False
    head: tuple[Label, ...] = ()

    @property
    def turned_over(self) -> Drawing:
        """The mirror image of its drawing in the x axis, to be read as before: the lines of its head from the top."""
        texts = dict(zip(self.head, reversed(self.head), strict=True))
        labels = tuple(replace(label, text=texts.get(label, label).text) for label in self.drawing.labels)
        return replace(self.drawing, labels=labels).mirrored()

    @property
    def outline(self) -> Contour:
        """The outer contour: the CUT contour of the greatest area."""
        return max(
            (contour for layer, contour in self.drawing.contours if layer == CUT and contour.closed),
            key=lambda contour: abs(contour.area_mm2),
        )

    @property
    def openings(self) -> tuple[Contour, ...]:
        """The CUT contours inside the outline."""
        outline = self.outline
        return tuple(contour for layer, contour in self.drawing.contours if layer == CUT and contour is not outline)

    @property
    def holes(self) -> tuple[Contour, ...]:
        """The DRILL circles."""
        return tuple(contour for layer, contour in self.drawing.contours if layer == DRILL)
