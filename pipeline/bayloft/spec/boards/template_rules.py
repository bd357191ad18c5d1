"""A board's `[templates]` table to trusted values."""

from __future__ import annotations

from bayloft.spec.boards.board import Tail
from bayloft.spec.boards.template_models import TemplatesTable
from bayloft.spec.boards.templates import Templates
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import clear_of_ends

OFF_ENDS_MM = 100.0
"""mm from either end within which there is no rail to hold a gauge against: the outline itself turns round the tip
(common practice, no source)."""


def rail_reach_mm(length_mm: float, tail: Tail | None) -> tuple[float, float]:
    """Return from where to where, mm from the tail end, there is a rail to be gauged and planed."""
    return max(OFF_ENDS_MM, tail.depth_mm + OFF_ENDS_MM / 2 if tail else 0.0), length_mm - OFF_ENDS_MM


def trusted_templates(table: TemplatesTable | None, length_mm: float, tail: Tail | None, reading: Reading) -> Templates:
    """Return what the templates show; a gauge beside the rail, and two at one station, are told as faults."""
    if table is None:
        return Templates()
    path, reach = ("templates", "rail_gauges"), rail_reach_mm(length_mm, tail)
    gauges = clear_of_ends(table.rail_gauges, path, length_mm, reach, "a rail gauge", reading)
    return Templates(deck_skin_mm=table.deck_skin or 0.0, sanding_mm=table.sanding or 0.0, rail_gauges_mm=tuple(gauges))
