"""A plank's file to trusted values, with every fault of it told at once."""

from __future__ import annotations

import os

from bayloft.errors import KeyPath, SpecError
from bayloft.spec.parsing import tables_of
from bayloft.spec.planks.plank import USUAL_CLEARANCE_MM, Knot, Plank
from bayloft.spec.planks.plank_models import PlankSpec
from bayloft.spec.text.reading import Reading
from bayloft.units import at_most, both


def load_plank(path: str | os.PathLike[str]) -> Plank:
    """Return the plank of a file.

    Raises
    ------
    SpecError : every fault of the file.
    """
    reading, spec = tables_of(PlankSpec, path)
    clearance = spec.clearance
    if clearance is None:
        clearance = reading.assume_mm(("clearance",), USUAL_CLEARANCE_MM, "sound wood round a knot")
    if spec.source is not None and spec.density is None and not reading.explained(("density",)):
        reading.fault(("source",), "without the density that it is the source of", hint='density = "380 kg/m3"')
    _on_plank(spec, reading)
    if reading.faults or not (spec.name and spec.wood and spec.length and spec.width and spec.thickness):
        raise SpecError(tuple(reading.faults))
    return Plank(
        name=spec.name,
        length_mm=spec.length,
        width_mm=spec.width,
        width_other_mm=spec.width if spec.width_other_end is None else spec.width_other_end,
        thickness_mm=spec.thickness,
        crook_mm=spec.crook or 0.0,
        wood=spec.wood,
        density_kg_m3=spec.density,
        density_source=spec.source,
        knots=tuple(
            Knot(
                from_end_mm=each.from_end,
                from_edge_mm=each.from_edge,
                across_mm=each.across,
                along_mm=each.across if each.along is None else each.along,
            )
            for each in spec.avoid
        ),
        clearance_mm=clearance,
        price=spec.price,
        note=spec.note,
        assumed=tuple(reading.assumed),
    )


def _on_plank(spec: PlankSpec, reading: Reading) -> None:
    """Tell as a fault each knot whose middle is not on the plank."""
    wide = max(filter(None, (spec.width, spec.width_other_end)), default=None)
    for place, knot in enumerate(spec.avoid):
        path: KeyPath = ("avoid", place)
        for key, mm, most in (("from_end", knot.from_end, spec.length), ("from_edge", knot.from_edge, wide)):
            if most is not None and mm > most:
                reading.fault((*path, key), "beyond the plank", allowed=f"0 to {at_most(most)}", mm=mm)
    if spec.length is not None and spec.width is not None and spec.length < spec.width:
        reading.fault(("length",), f"less than the width of {both(spec.width)}", hint="the length runs along the grain")
