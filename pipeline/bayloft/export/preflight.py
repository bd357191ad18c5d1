"""What must hold before a drawing is written: a maker's router does exactly what stands in the file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from bayloft.drawing.sheet import Drawing
from bayloft.errors import BayloftError
from bayloft.export.lettering import identifier
from bayloft.plane.contour import Contour
from bayloft.tolerances import FLATTENING_MM, SAME_CUT_MM, SHORTEST_CUT_MM

if TYPE_CHECKING:
    from shapely import LinearRing


Box = tuple[float, float, float, float]


class ExportError(BayloftError):
    """A drawing or solid that must not be written as it is: every reason found. A defect of bayloft, not of a spec."""

    def __init__(self, name: str, problems: tuple[str, ...]) -> None:
        self.name = name
        self.problems = problems
        super().__init__("\n".join([f"{name}: not written", *(f"    {problem}" for problem in problems)]))

    def __reduce__(self) -> tuple[type[ExportError], tuple[str, tuple[str, ...]]]:
        return ExportError, (self.name, self.problems)


def drawing_problems(drawing: Drawing) -> Iterator[str]:
    """Return what keeps a drawing out of any file.

    Numbers that are not finite, sizes not above 0, layers alike in name, text on a cutting layer, nothing drawn.
    """
    if not drawing.contours and not drawing.labels:
        yield "nothing is drawn"
    if drawing.page_mm is not None and not (np.isfinite(drawing.page_mm).all() and min(drawing.page_mm) > 0.0):
        yield f"the page is {drawing.page_mm} mm"
    for label in drawing.labels:
        if not np.isfinite([label.x_mm, label.y_mm, label.height_mm, label.turn_deg]).all() or label.height_mm <= 0.0:
            yield f"the label {label.text[:40]!r} has no finite place, turn and height above 0"
        if label.layer.cuts:
            yield f"the label {label.text[:40]!r} stands on the cutting layer {label.layer.name}"
    names = [identifier(layer.name) for layer in drawing.layers]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"more than one layer is named {name}"


def cutting_problems(drawing: Drawing, contours: Sequence[tuple[str, Contour]]) -> Iterator[str]:
    """Return what keeps contours (by layer name, as a reader finds them) from being cut as the drawing means them.

    On cutting layers: an open contour, a segment below `SHORTEST_CUT_MM`, a contour that crosses or touches itself or
    lies on another within `SAME_CUT_MM`.
    """
    from shapely import LinearRing  # noqa: PLC0415

    cutting = {identifier(layer.name) for layer in drawing.layers if layer.cuts}
    rings: list[tuple[Box, LinearRing]] = []
    for name, contour in contours:
        if name not in cutting:
            continue
        where = f"the contour at ({contour.points[0][0]:.3f}, {contour.points[0][1]:.3f}) on {name}"
        shortest_mm = _shortest_mm(contour)
        if shortest_mm < SHORTEST_CUT_MM:
            yield f"{where} has a segment of {shortest_mm:.4f} mm; the least is {SHORTEST_CUT_MM} mm"
        flattened = contour.flattened(FLATTENING_MM)
        if not contour.closed or len(flattened) < 3:
            yield f"{where} is open or encloses nothing"
            continue
        ring = LinearRing(flattened)
        if not ring.is_simple:
            yield f"{where} crosses or touches itself"
        box = contour.bounds
        if any(_near(box, other_box) and ring.hausdorff_distance(other) < SAME_CUT_MM for other_box, other in rings):
            yield f"{where} is cut twice"
        rings.append((box, ring))


def _shortest_mm(contour: Contour) -> float:
    """Return the shortest straight distance from one point of a contour to the next."""
    ends = np.roll(contour.points, -1, axis=0) if contour.closed else contour.points[1:]
    return float(np.hypot(*(ends - contour.points[: len(ends)]).T).min())


def _near(box: Box, other: Box) -> bool:
    return all(abs(a - b) < SAME_CUT_MM for a, b in zip(box, other, strict=True))
