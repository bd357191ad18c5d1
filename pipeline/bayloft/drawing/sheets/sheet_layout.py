"""How a board sheet is filled: scales, columns and places, chosen by the sizes of what must go on the page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import ceil
from typing import Literal

PAGE_MM = (420.0, 297.0)
MARGIN_MM = 10.0
FRAME_MM = (PAGE_MM[0] - 2 * MARGIN_MM, PAGE_MM[1] - 2 * MARGIN_MM)

PAD_MM = 4.5
"""Between the frame and what it holds, and between what stands side by side."""

BETWEEN_MM = 7.0
"""Between the views and the sections below them, where their caption stands."""

GUTTER_MM = 10.0
"""Beside the board, for flags at its ends."""

SCALES = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 16.0, 20.0, 25.0, 30.0, 40.0)
"""Round scales of shop drawings, metric and by the foot."""

SECTION_WEIGHT = 0.7
"""How much the scale of the sections counts against that of plan and profile: the board comes first."""

Size = tuple[float, float]
Beside = Literal["views", "sections", "both"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """Sizes on the sheet in mm: the board's length, width, height above the flat, and the room its views need besides;
    a section's width and height, and room besides; how many sections; texts stacked in one column, or in two.
    """

    length_mm: float
    height_mm: float
    views_room_mm: float
    section_mm: Size
    section_room_mm: Size
    least_cell_mm: float
    sections: int
    stacked_mm: Size
    paired_mm: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """Scales of views and sections, columns of sections; whether the texts stand in two columns, and beside what they
    stand at the right: the views, the sections below them, or both. Least heights in mm of the page's upper and lower
    part.
    """

    scale: float
    section_scale: float
    columns: int
    paired: bool
    beside: Beside
    upper_mm: float
    lower_mm: float

    @property
    def merit(self) -> float:
        """The larger the better drawn."""
        return 1.0 / (self.scale * float(self.section_scale**SECTION_WEIGHT))


def best_layout(needs: Needs) -> Arrangement:
    """Return the layout that draws the largest of all that fit, sections at a larger scale than the views if any does.

    Raises ValueError where not even the smallest scales fit.
    """
    fitting = list(_fitting(needs))
    larger = [layout for layout in fitting if layout.section_scale < layout.scale]
    if not fitting:
        raise ValueError(f"no scale brings a board of {needs.length_mm:.0f} mm onto the sheet")
    return max(larger or fitting, key=lambda layout: layout.merit)


def _fitting(needs: Needs) -> Iterator[Arrangement]:
    wide, high = FRAME_MM[0] - 2 * PAD_MM, FRAME_MM[1] - 2 * PAD_MM
    besides: tuple[Beside, ...] = ("both", "sections", "views")
    for scale, section_scale in product(SCALES, SCALES):
        views = needs.length_mm / scale + 2 * GUTTER_MM, needs.height_mm / scale + needs.views_room_mm
        cell = [size / section_scale + room for size, room in zip(needs.section_mm, needs.section_room_mm, strict=True)]
        cell[0] = max(cell[0], needs.least_cell_mm)
        for beside, paired, columns in product(besides, (False, True), range(1, needs.sections + 1)):
            sections = columns * cell[0], ceil(needs.sections / columns) * cell[1]
            texts = needs.paired_mm if paired else needs.stacked_mm
            # Texts end flush with the frame at the right, so beside them one pad less is needed.
            free = wide - texts[0]
            upper = max(views[1], texts[1]) if beside == "views" else views[1]
            lower = max(sections[1], texts[1]) if beside == "sections" else sections[1]
            if (
                views[0] <= (wide if beside == "sections" else free)
                and sections[0] <= (wide if beside == "views" else free)
                and max(upper + BETWEEN_MM + lower, texts[1]) <= high
            ):
                yield Arrangement(
                    scale=scale,
                    section_scale=section_scale,
                    columns=columns,
                    paired=paired,
                    beside=beside,
                    upper_mm=upper,
                    lower_mm=lower,
                )
