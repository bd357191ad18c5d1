"""A board's `[panels]` table to trusted values."""

from __future__ import annotations

from bayloft.spec.bench.fin_panels import USUAL_PANELS, FinPanels
from bayloft.spec.bench.fin_panels_models import PanelsTable
from bayloft.spec.text.reading import Reading


def trusted_fin_panels(table: PanelsTable | None, reading: Reading, *, fins: bool) -> FinPanels:
    """Return how the fins are cut from panels; what is left out is assumed, and told of a board that has `fins`."""
    saw, bolt, between = (table.saw, table.bolt, table.between) if table else (None, None, None)
    if saw is not None and between is not None:
        reading.fault(
            ("panels", "saw"), "the saw's cut is in what is kept between two fins", hint="give one of the two"
        )
    if saw is None and between is None and fins:
        reading.assume_mm(("panels", "saw"), USUAL_PANELS.saw_mm, "what a jigsaw takes between two fins")
    if bolt is None and fins:
        reading.assume_mm(("panels", "bolt"), USUAL_PANELS.bolt_mm, "the narrower of the usual bolts of cloth")
    return FinPanels(
        saw_mm=USUAL_PANELS.saw_mm if saw is None else saw,
        bolt_mm=USUAL_PANELS.bolt_mm if bolt is None else bolt,
        between_mm=between,
    )
