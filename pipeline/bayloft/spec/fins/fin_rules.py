"""A fin's numbers from its tables."""

from __future__ import annotations

from bayloft.spec.fins.fin import Tab
from bayloft.spec.fins.fin_models import FoilTable, TabTable
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.units import at_most, both

LONG_BASE_MM = 150.0
LONG_BASE_THICKNESS_MM = 9.5
SIDE_FIN_THICKNESS_MM = 6.0
"""mm. A fin laid up for a base above LONG_BASE_MM, and a small side fin. Common practice, no source."""
TIP_THICKNESS_SHARE = 1 / 3
"""Tip thickness as a share of the thickness at the base. Common practice, no source."""
TRAILING_EDGE_MM = 1.0
TRAILING_EDGE_SHARE = 0.5
"""The trailing edge: this many mm, or this share of the tip thickness if that is less. Common practice, no source."""
MOST_RAKE_IN_DEPTHS = 2.0
"""Beyond this a fin lies along the board (common practice, no source)."""


def foil_numbers(table: FoilTable, base_mm: float, reading: Reading) -> tuple[float, float, float]:
    """Return the foil's thickness, tip thickness and trailing edge (mm), assumed where not given."""
    thickness = table.thickness
    if thickness is None:
        long = base_mm > LONG_BASE_MM
        reason = f"usual for a base {'above' if long else 'up to'} {both(LONG_BASE_MM)}"
        usual = LONG_BASE_THICKNESS_MM if long else SIDE_FIN_THICKNESS_MM
        thickness = reading.assume_mm(("foil", "thickness"), usual, reason)
    elif thickness > base_mm / 4:
        allowed = f"at most a quarter of the base, {at_most(base_mm / 4)}"
        reading.fault(("foil", "thickness"), "too thick for the base", allowed=allowed, mm=thickness)
    tip = table.tip_thickness
    if tip is None:
        reason = "a third of the thickness at the base"
        tip = reading.assume_mm(("foil", "tip_thickness"), TIP_THICKNESS_SHARE * thickness, reason)
    elif tip > thickness:
        allowed = f"at most {at_most(thickness)}"
        reading.fault(("foil", "tip_thickness"), "thicker than the base", allowed=allowed, mm=tip)
    edge = table.trailing_edge
    if edge is None:
        usual = min(TRAILING_EDGE_MM, TRAILING_EDGE_SHARE * tip)
        edge = reading.assume_mm(
            ("foil", "trailing_edge"), usual, "as thin as glass is sanded, and half the tip at most"
        )
    elif edge > thickness / 2:
        allowed = f"at most half the thickness, {at_most(thickness / 2)}"
        reading.fault(("foil", "trailing_edge"), "too thick for the foil", allowed=allowed, mm=edge)
    return thickness, tip, edge


def trusted_tab(table: TabTable, base_mm: float, reading: Reading) -> Tab:
    """Return the tab."""
    if table.length > base_mm:
        reading.fault(("tab", "length"), "longer than the base", allowed=f"at most {at_most(base_mm)}", mm=table.length)
    room = max(base_mm - table.length, 0.0)
    rear = table.from_rear
    if rear is None:
        rear = reading.assume_mm(("tab", "from_rear"), room / 2, "a tab in the middle of the base")
    elif rear > room and table.length <= base_mm:
        reading.fault(
            ("tab", "from_rear"), "the tab sticks out ahead of the base", allowed=f"0 to {at_most(room)}", mm=rear
        )
    return Tab(length_mm=table.length, height_mm=table.height, from_rear_mm=rear)


def rake_in_reach(rake_mm: float, depth_mm: float, reading: Reading) -> None:
    """Tell of a tip that lies too far aft or forward for the fin to stand."""
    most = MOST_RAKE_IN_DEPTHS * depth_mm
    if abs(rake_mm) > most:
        allowed = f"at most {plain(MOST_RAKE_IN_DEPTHS)} x the depth, {at_most(most)}"
        reading.fault(("rake",), "the fin would lie along the board", allowed=allowed, mm=rake_mm)
