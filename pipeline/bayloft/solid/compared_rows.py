"""The sizes of two shapes in rows, each with what it is in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.solid.compared_sizes import BoardSizes
from bayloft.tape import NOTHING, change, figure, fine
from bayloft.units import litres

OFF_MM = {True: 300.0, False: 304.8}
"""mm from the ends at which sizes of nose and tail are told, for who measures in mm and in inches: the trade's foot."""
OFF_SAID = {True: "300 mm", False: "12 in"}

Kind = Literal["length", "place", "volume", "area"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRow:
    """A size of both shapes, in mm, mm2 or mm3; a "place" is so far ahead of the centre. None: nothing to measure."""

    key: str
    what: str
    kind: Kind
    a: float | None
    b: float | None

    @property
    def difference(self) -> float | None:
        """B's less A's."""
        return None if self.a is None or self.b is None else self.b - self.a

    def told(self, value: float | None, *, metric: bool) -> str:
        """Return one of the two as it is told: a length as `tape.fine` has it."""
        if value is None:
            return NOTHING
        if self.kind == "volume":
            return f"{litres(value):.2f} L"
        if self.kind == "area":
            return f"{value / 1e6:.3f} m²"
        told = f"{figure(abs(value), metric=True)} mm" if metric else fine(abs(value), metric=False)
        return told if value >= 0.0 or not told.strip('0. m"') else f"−{told}"

    def told_change(self, *, metric: bool) -> str:
        """Return by how much B's differs, as the difference of both as they are told; "0" where they are told alike."""
        if self.a is None or self.b is None:
            return NOTHING
        if self.kind in ("length", "place"):
            return change(self.a, self.b, metric=metric)
        size, decimals, unit = (litres(1.0), 2, "L") if self.kind == "volume" else (1e-6, 3, "m²")
        less = round(self.b * size, decimals) - round(self.a * size, decimals)
        return (
            f"{'+' if less > 0.0 else '−'}{abs(less):.{decimals}f} {unit}" if abs(less) > 10.0**-decimals / 2 else "0"
        )


_WORDS: tuple[tuple[str, str, Kind], ...] = (
    ("length", "length", "length"),
    ("nose_width", "width {off} from nose", "length"),
    ("greatest_width", "greatest width", "length"),
    ("wide_point", "wide point, ahead of centre", "place"),
    ("tail_width", "width {off} from tail", "length"),
    ("nose_thickness", "thickness {off} from nose", "length"),
    ("centre_thickness", "thickness at centre", "length"),
    ("greatest_thickness", "greatest thickness", "length"),
    ("thickest_point", "thickest, ahead of centre", "place"),
    ("tail_thickness", "thickness {off} from tail", "length"),
    ("nose_tip_rocker", "nose tip over the flat", "length"),
    ("nose_rocker", "rocker {off} from nose", "length"),
    ("tail_rocker", "rocker {off} from tail", "length"),
    ("tail_end_rocker", "tail end over the flat", "length"),
    ("volume", "volume", "volume"),
    ("surface_area", "surface, deck and bottom", "area"),
    ("plan_area", "plan area", "area"),
)


def size_rows(a: BoardSizes, b: BoardSizes, *, metric: bool) -> tuple[SizeRow, ...]:
    """Return the sizes of both in rows."""
    return tuple(
        SizeRow(key=key, what=what.format(off=OFF_SAID[metric]), kind=kind, a=getattr(a, key), b=getattr(b, key))
        for key, what, kind in _WORDS
    )
