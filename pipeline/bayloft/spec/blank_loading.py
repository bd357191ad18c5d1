"""A blank's file to trusted values, with every fault of it told at once."""

from __future__ import annotations

import os

from bayloft.errors import SpecError
from bayloft.spec.blanks.blank import USUAL_ERROR_MM, Blank, Foam, OldStringer
from bayloft.spec.blanks.blank_models import BlankSpec
from bayloft.spec.boards.quantities import RailKind
from bayloft.spec.boards.section_models import RailAt
from bayloft.spec.loading import shape_and_faults
from bayloft.spec.parsing import tables_of

USUAL_RAIL: RailKind = "boxy"
"""The rail of a block where nothing is said of it (common practice, no source)."""


def load_blank(path: str | os.PathLike[str]) -> Blank:
    """Return the blank of a file.

    Raises
    ------
    SpecError : every fault of the file, and of the file of its rails.
    """
    reading, spec = tables_of(BlankSpec, path)
    if spec.rails is None and not reading.explained(("rails",)):
        reading.assume(("rails", 0, "kind"), USUAL_RAIL, "usual for a block of foam")
        spec = spec.model_copy(update={"rails": [RailAt(kind=USUAL_RAIL)]})
    shape, faults = shape_and_faults(spec, reading, None)
    if faults or shape is None or spec.foam is None:
        raise SpecError(tuple(faults))
    half_mark = USUAL_ERROR_MM if spec.read_to is None else spec.read_to / 2
    return Blank(
        shape=shape,
        foam=Foam(
            kind=spec.foam.kind,
            density_kg_m3=spec.foam.density,
            source=spec.foam.source,
            stiffness_mpa=spec.foam.stiffness,
            most_strain=spec.foam.most_strain,
        ),
        stringer=OldStringer(thickness_mm=spec.stringer.thickness, wood=spec.stringer.wood) if spec.stringer else None,
        error_mm=half_mark if spec.error is None else spec.error,
        price=spec.price,
        note=spec.note,
    )
