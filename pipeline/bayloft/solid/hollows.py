"""Whether a concave is there once the rail has rounded the bottom's edges away."""

from __future__ import annotations

from collections.abc import Iterator

from bayloft.errors import spelled
from bayloft.findings import Finding
from bayloft.solid.body import Body
from bayloft.solid.measure import bottom_hollow, stringer_from_mm
from bayloft.spec.boards.board import Board
from bayloft.units import both

LEFT_SHARE = 0.5
"""Share of a concave's depth under a straightedge below which it is told that the rail takes it (no source)."""

AGAINST = ("roll", "vee")
"""What, at the same station, fills a concave on purpose."""


def hollow_findings(board: Board, body: Body) -> Iterator[Finding]:
    """Yield a warning for each concave of which less than LEFT_SHARE is hollow under a straightedge across the bottom:
    a soft rail rises from so far inside that it takes the rest.
    """
    first = stringer_from_mm(body)
    for given in board.sections["concave"]:
        x = given.x_mm
        filled = any(other.value > 0.0 for name in AGAINST for other in board.sections[name] if other.x_mm == x)
        if given.assumed or given.form != "length" or given.value <= 0.0 or filled or not first < x < board.length_mm:
            continue
        hollow = bottom_hollow(body, x)
        if hollow >= LEFT_SHARE * given.value:
            continue
        text = (
            f"a concave of {both(given.value)} {x:.0f} mm from the tail, but under a straightedge across the bottom no "
            f"more than {both(hollow, 32)} is hollow: the rail's underside rises from further inside. A narrower "
            "concave (its width), or a rail with less tuck, keeps more of it"
        )
        yield Finding(
            code="concave-lost",
            severity="warning",
            where=spelled(given.path),
            measured=hollow,
            limit=LEFT_SHARE * given.value,
            unit="mm",
            text=text,
        )
