"""How plugs and boxes are marked on templates: the outline of each pocket, and what it is."""

from __future__ import annotations

import numpy as np

from bayloft.plane.contour import Contour
from bayloft.plane.shapes import rounded_rectangle
from bayloft.spec.boards.plug import Plug
from bayloft.tape import fine
from bayloft.units import both


def plug_outline(plug: Plug) -> Contour:
    """Return the outline of a pocket in plan on the port half, full size: x from the tail end, y off the stringer;
    closed, or the port half of one on the stringer, open.
    """
    whole = rounded_rectangle(plug.length_mm, plug.width_mm, plug.corner_mm)
    if plug.off_mm == 0.0:
        w, h, r = plug.length_mm / 2.0, plug.width_mm / 2.0, plug.corner_mm
        quarter = float(np.tan(np.pi / 8.0))
        rows = [(w, 0.0, 0.0), (w, h - r, quarter), (w - r, h, 0.0), (r - w, h, quarter), (-w, h - r, 0.0)]
        apart = [row for row, after in zip(rows, [*rows[1:], (-w, 0.0, 0.0)], strict=True) if row[:2] != after[:2]]
        points = np.array([*apart, (-w, 0.0, 0.0)])
        whole = Contour(points=points[:, :2], bulges=points[:, 2], closed=False)
    return whole.turned(-plug.toe_deg).moved(plug.x_mm, plug.off_mm)


def plug_texts(plug: Plug, *, metric: bool) -> tuple[str, ...]:
    """Return what is written beside a plug, in the board's unit: which it is, where, how large, how deep."""

    def told(mm: float) -> str:
        return fine(mm, metric=metric)

    side = f", {plug.sides[0]} only" if len(plug.sides) == 1 and plug.off_mm else ""
    place = [f"{told(plug.off_mm)} off middle"] if plug.off_mm else []
    size = f"{told(plug.length_mm)} round" if plug.is_round else f"{told(plug.length_mm)} x {told(plug.width_mm)}"
    toe = [f"toe {plug.toe_deg:.3g}°"] if plug.toe_deg else []
    cant = [] if plug.cant_deg is None else [f"cant {plug.cant_deg:.3g}°"]
    return (
        plug.name,
        f"{plug.face}{side}",
        f"{both(plug.x_mm)} from tail",
        *place,
        size,
        f"{told(plug.depth_mm)} deep",
        *([", ".join([*toe, *cant])] if toe or cant else []),
    )
