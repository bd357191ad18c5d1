"""A board's `[stringer]` table to trusted values."""

from __future__ import annotations

from bayloft.spec.bench.stringer import Stringer
from bayloft.spec.bench.stringer_models import StringerTable
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.references import named_file
from bayloft.units import both

USUAL_GLUE_LINE_MM = 0.3
USUAL_KERF_MM = {True: 3.0, False: 3.175}
USUAL_ALLOWANCE_MM = {True: 3.0, False: 3.175}
USUAL_CLAMPS_MM = {True: 200.0, False: 203.2}
"""A glue line; and, for a board told in mm and one in inches, the kerf of a hand-held circular saw; wood left on for
the plane; clamps so near that a bent half lies on the line between them (common practice, no source)."""

USUAL_SCARF = 12.0
"""1:12 (Wood Handbook, FPL-GTR-190, chapter 10: 1:12 or flatter is strongest; a joint needs ten times the section)."""

LEAST_STRIP_MM = 1.0
"""A strip thinner than this is veneer."""

TABLE = "stringer"


def trusted_stringer(table: StringerTable | None, reading: Reading, *, metric: bool) -> Stringer | None:
    """Return the new stringer, what is not given assumed and listed, in mm or in inches as the board is; None where
    there is none, or where its plank's file or its strips are told as faults.
    """
    if table is None:
        return None

    def usual(key: str, given: float | None, mm: float, reason: str) -> float:
        return reading.assume_mm((TABLE, key), mm, reason) if given is None else given

    if table.strips is None:
        reading.assume((TABLE, "strips"), "1", "one strip makes the thickness")
    if table.rip is None:
        reading.assume((TABLE, "rip"), "beside the old stringer", "usual where the old stringer is not kept")
    if table.scarf is None:
        reading.assume((TABLE, "scarf"), f"1:{USUAL_SCARF:g}", "the Wood Handbook's, where a plank is too short")
    if table.pigment is not None and table.spread is None:
        reading.fault(
            (TABLE, "pigment"), "without spread, which says how much glue there is", hint='spread = "300 g/m2"'
        )
    if table.source is not None and table.density is None and not reading.explained((TABLE, "density")):
        reading.fault((TABLE, "source"), "without the density that it is the source of", hint='density = "380 kg/m3"')
    plank = None
    if table.plank is not None:
        plank = named_file(table.plank, (TABLE, "plank"), reading, example="../planks/greenhouse-bench.toml")
    stringer = Stringer(
        wood=table.wood,
        density_kg_m3=table.density,
        density_source=table.source,
        thickness_mm=table.thickness,
        strips=table.strips or 1,
        glue_line_mm=usual("glue_line", table.glue_line, USUAL_GLUE_LINE_MM, "usual for a clamped joint"),
        kerf_mm=usual("kerf", table.kerf, USUAL_KERF_MM[metric], "usual for a circular saw"),
        through=table.rip == "through the old stringer",
        allowance_mm=usual("allowance", table.allowance, USUAL_ALLOWANCE_MM[metric], "planed off with the foam"),
        spread_g_m2=table.spread,
        pigment_share=table.pigment,
        clamps_every_mm=usual(
            "clamps_every", table.clamps_every, USUAL_CLAMPS_MM[metric], "lest a half stand off between two"
        ),
        scarf=table.scarf or USUAL_SCARF,
        plank=plank,
        stiffness_mpa=table.stiffness,
    )
    if stringer.strip_mm < LEAST_STRIP_MM:
        problem = f"leaves strips of {plain(stringer.strip_mm, 2)} mm between the glue lines"
        most = int((stringer.thickness_mm + stringer.glue_line_mm) / (LEAST_STRIP_MM + stringer.glue_line_mm))
        allowed = f"1 to {most} for a stringer of {both(stringer.thickness_mm)}"
        reading.fault((TABLE, "strips"), problem, allowed=allowed)
    return stringer
