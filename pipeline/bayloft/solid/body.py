"""A body: the surface of its port side, its starboard side, and how its u = 0 end is closed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.solid.surface import Surface


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """A closed body bounded by two sides that meet along v = 0, v = 1 and u = 1.

    Outward from `port` is S_v x S_u. `starboard` shares the parameters and lies at smaller y; None: the mirror image of
    port in y = 0. At u = 0 the sides meet by themselves ("closed"), or a "wall" of upright lines joins the two ends of
    each side at equal y (a cut-off tail; the ends meet at v = `wall_corner`), or a level "face" in the plane z = 0
    joins port and starboard at equal v (the base of a fin).
    """

    port: Surface
    starboard: Surface | None = None
    end: Literal["closed", "wall", "face"] = "closed"
    wall_corner: float = 0.0
