"""What a shop file says of a router that carves boards: what is assumed where nothing is given; faults."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.errors import KeyPath
from bayloft.spec.shops.shop import Cutter, Gantry
from bayloft.spec.shops.shop_models import CAUTIOUS, GantryTable
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import nearest
from bayloft.units import both

CLEARANCE_MM = 5.0
"""Between holder and foam: what a block bows (common practice, no source)."""
LEVEL_MM, LEVEL_DIAMETERS = 12.0, 1.5
"""Depth of a level in foam, in mm and at most in diameters of the cutter: cautious (common practice, no source)."""
ALLOWANCE_MM = 1.0
"""Left by roughing: more than its own unevenness (common practice, no source)."""
CUSP_MM = 0.1
"""Height of ridges that the first sanding takes (common practice, no source)."""
FRAME_MM = 30.0
"""Beside the cleared ground: a clamp's foot (common practice, no source)."""
MARGIN_MM = 3.0
"""Over and under the board: what a sawn or moulded block is off (common practice, no source)."""
DOWEL_MM, DOWEL_IN_BED_MM = 10.0, 12.0
"""A common dowel, and two thirds of a spoil board of 18 mm (common practice, no source)."""
TAB_WIDTH_MM, TAB_HEIGHT_MM = 40.0, 25.0
"""Of the tabs of foam: what a saw takes off in a minute (common practice, no source)."""


def trusted_gantry(table: GantryTable, cutters: Sequence[Cutter], reading: Reading) -> Gantry:
    """Return what carves boards; a cutter that the shop does not have, one without a round end that is to finish, and a
    level deeper than the cutting edges are faults.
    """

    def length(key: str, usual_mm: float, reason: str) -> float:
        given = getattr(table, key)
        return float(given) if given is not None else reading.assume_mm(("gantry", key), usual_mm, reason)

    balls = [each.name for each in cutters if each.kind == "ball"]
    finishing = table.finishing_cutter or (balls[0] if balls else "")
    roughing = table.roughing_cutter or finishing
    named = {each.name: each for each in cutters}
    for key, name in (("finishing_cutter", table.finishing_cutter), ("roughing_cutter", table.roughing_cutter)):
        if name is not None and name not in named:
            near = nearest(name, tuple(named))
            hint = f'{key} = "{near}"' if near else ""
            reading.fault(("gantry", key), "the shop has no cutter of this name", hint=hint)
    if table.finishing_cutter in named and table.finishing_cutter not in balls:
        hint = f'finishing_cutter = "{balls[0]}"' if balls else 'kind = "ball" for a cutter with a round end'
        reading.fault(("gantry", "finishing_cutter"), "boards are finished with a ball; this is flat", hint=hint)
    elif not balls and not reading.explained(("gantry", "finishing_cutter")):
        hint = 'kind = "ball" in the table of a cutter with a round end'
        where: KeyPath = ("cutters",)
        reading.fault(where, "the gantry has no ball cutter to finish a board with", hint=hint)
    rougher = named.get(roughing)
    level = table.level_depth
    if level is None:
        usual = min(LEVEL_MM, LEVEL_DIAMETERS * rougher.diameter_mm, rougher.depth_mm) if rougher else LEVEL_MM
        level = reading.assume_mm(("gantry", "level_depth"), usual, CAUTIOUS)
    elif rougher is not None and level > rougher.depth_mm:
        allowed = f"at most the cutting depth of {rougher.name}, {both(rougher.depth_mm)}"
        reading.fault(("gantry", "level_depth"), "deeper than the cutting edges are long", allowed=allowed, mm=level)
    return Gantry(
        z_travel_mm=table.z_travel,
        holder_mm=table.holder_diameter,
        stick_out_mm=table.stick_out,
        clearance_mm=length("clearance", CLEARANCE_MM, "what a block bows"),
        level_mm=level,
        allowance_mm=length("allowance", ALLOWANCE_MM, "more than the roughing's own unevenness"),
        cusp_mm=length("cusp", CUSP_MM, "ridges that the first sanding takes"),
        finishing_feed_mm_min=table.finishing_feed,
        frame_mm=length("frame", FRAME_MM, "room for a clamp's foot"),
        margin_mm=length("margin", MARGIN_MM, "what a sawn block is off"),
        dowel_mm=length("dowel", DOWEL_MM, "a common dowel"),
        dowel_in_bed_mm=length("dowel_in_bed", DOWEL_IN_BED_MM, "two thirds of a usual spoil board"),
        tab_width_mm=length("tab_width", TAB_WIDTH_MM, "a board must not come loose"),
        tab_height_mm=length("tab_height", TAB_HEIGHT_MM, "a board must not come loose"),
        roughing_cutter=roughing,
        finishing_cutter=finishing,
        path=("gantry",),
    )
