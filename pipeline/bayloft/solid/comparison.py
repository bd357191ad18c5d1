"""Two shapes held against one another: aligned, their sizes in rows, lines at stations, and how far apart they lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from bayloft.solid.apart import Apart, ApartPlace, apart
from bayloft.solid.compared import ComparedShape, LongLines
from bayloft.solid.compared_rows import OFF_MM, SizeRow, size_rows
from bayloft.solid.compared_sizes import BoardSizes, compared_sizes
from bayloft.tape import FINE_MM, along

Array = NDArray[np.float64]

Align = Literal["tail", "nose", "centre", "wide"]
ALIGNS: tuple[Align, ...] = get_args(Align)
ALIGN_SAID = {
    "tail": "tail on tail",
    "nose": "nose on nose",
    "centre": "centre on centre",
    "wide": "wide point on wide point",
}
EVERY_MM = {True: 100.0, False: 101.6}
"""mm between the stations of the table of lines: 4 in."""
LEAST_OFF_MM = 2.0
"""mm inside the ends of A of the outermost station."""


class UnalignedError(ValueError):
    """Wide points are to be laid on one another, and a shape has none."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """B held against A. Lengths in mm in A's axes: x from A's tail end; B is moved along by `shift_mm`. Both stand on
    the flat at their lowest place. stations: mm, with the lines of both there. metric: told in mm, else in inches.
    """

    names: tuple[str, str]
    metric: bool
    align: Align
    shift_mm: float
    a: ComparedShape
    b: ComparedShape
    rows: tuple[SizeRow, ...]
    stations_mm: Array
    lines: tuple[LongLines, LongLines]
    apart: Apart

    @property
    def off_mm(self) -> float:
        """How far from the ends sizes of nose and tail are told."""
        return OFF_MM[self.metric]

    @property
    def reaches_beyond(self) -> bool:
        """Whether B reaches beyond an end of A by more than a tape shows."""
        return self.shift_mm < -FINE_MM or self.shift_mm + self.b.length_mm > self.a.length_mm + FINE_MM

    def place_said(self, place: ApartPlace) -> str:
        """Return in words where a place is: on which side, how far along A, how far off the stringer."""
        beyond = place.x_mm - self.a.length_mm
        if place.x_mm < -FINE_MM:
            where = f"{along(-place.x_mm, metric=self.metric)} behind A's tail"
        elif beyond > FINE_MM:
            where = f"{along(beyond, metric=self.metric)} ahead of A's nose"
        else:
            where = f"{along(max(place.x_mm, 0.0), metric=self.metric)} from A's tail"
        off = abs(place.y_mm)
        aside = "at the stringer" if off < 0.5 else f"{along(off, metric=self.metric)} off the stringer"
        return f"on the {place.side}, {where}, {aside}"


def compared(names: tuple[str, str], a: ComparedShape, b: ComparedShape, *, align: Align, metric: bool) -> Comparison:
    """Return two shapes held against one another.

    Raises
    ------
    UnalignedError, TangledMeshError
        Where they cannot be aligned as asked; where distances would take hours.
    """
    sizes = compared_sizes(a, OFF_MM[metric]), compared_sizes(b, OFF_MM[metric])
    shift = _shift_mm(*sizes, align)
    step, length = EVERY_MM[metric], a.length_mm
    stations: Array = np.arange(1.0, int((length - LEAST_OFF_MM) / step) + 1.0) * step
    return Comparison(
        names=names,
        metric=metric,
        align=align,
        shift_mm=shift,
        a=a,
        b=b,
        rows=size_rows(*sizes, metric=metric),
        stations_mm=stations,
        lines=(a.lines_at(stations), b.lines_at(stations - shift)),
        apart=apart(a, b, shift),
    )


def _shift_mm(a: BoardSizes, b: BoardSizes, align: Align) -> float:
    """Return how far B is moved along."""
    if align == "tail":
        return 0.0
    if align == "nose":
        return a.length - b.length
    middle = (a.length - b.length) / 2.0
    if align == "centre":
        return middle
    if a.wide_point is None or b.wide_point is None:
        raise UnalignedError
    return middle + a.wide_point - b.wide_point
