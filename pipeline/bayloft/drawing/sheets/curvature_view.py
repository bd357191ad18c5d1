"""Curvature strips under the profile: how each long line bends, and where each is fullest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.curves.figures import TIPS_MM, Figures
from bayloft.drawing.labels import spread, text_width_mm
from bayloft.drawing.sheet import DIMENSION, FAINT, LETTERING, QUIET, THIN, VISIBLE, Drawing, Label, Layer
from bayloft.lines.audit import Strip, Summit
from bayloft.plane.contour import Contour
from bayloft.tape import coarse
from bayloft.units import feet_inches

Array = NDArray[np.float64]

CAPS_MM = 1.8
HEADING_MM = 3.2
GAP_MM = 1.2

BODY_SHARE = (0.15, 0.85)
"""Stretch of the length whose curvature sets a strip's height, besides that of any swell: towards a round tip it grows
without bound."""

HEADROOM = 1.25
QUILL_MM = 3.0
EVERY = 4
"""Of the audit's places every fourth is drawn: on paper they stand 2 mm apart at most."""

STRIP_OF = {
    "wide point": "outline",
    "lowest rocker": "rocker",
    "deepest roll": "rocker",
    "deepest concave": "rocker",
    "greatest thickness": "foil",
}
"""The strip in which a summit is marked."""


def curvature_height_mm(shown: Figures, strip_mm: float) -> float:
    """Return the height of all strips, each `strip_mm` high under its heading."""
    return len(shown.strips) * (HEADING_MM + strip_mm + GAP_MM) - GAP_MM


def curvature_view(shown: Figures, scale: float, strip_mm: float, between_mm: tuple[float, float]) -> Drawing:
    """Return the strips one over the other, stations at 1 : `scale`, the lowest baseline at y = 0."""
    view = Drawing(name="curvature")
    low = curvature_height_mm(shown, strip_mm) - HEADING_MM - strip_mm
    for strip in shown.strips:
        marked = [summit for summit in shown.summits if STRIP_OF.get(summit.line) == strip.line]
        view = view.joined(_strip(shown, strip, marked, scale, strip_mm, between_mm).moved(0.0, low))
        low -= HEADING_MM + strip_mm + GAP_MM
    return view


def _strip(
    shown: Figures, strip: Strip, marked: list[Summit], scale: float, height: float, between_mm: tuple[float, float]
) -> Drawing:
    length = shown.board.length_mm
    x, bend = strip.x_mm[::EVERY], strip.curvature_per_m[::EVERY]
    body = (x > BODY_SHARE[0] * length) & (x < BODY_SHARE[1] * length)
    swells = np.interp(strip.swells_mm, strip.x_mm, strip.curvature_per_m)
    most = HEADROOM * float(np.concatenate([bend[body], swells]).max())
    least = float(np.clip(HEADROOM * bend.min(), -most, 0.0))
    rise = height / max(most - least, 1e-9)
    zero = -least * rise
    contours: list[tuple[Layer, Contour]] = [
        (FAINT, _line(at / scale, 0.0, at / scale, height)) for at in (TIPS_MM, length / 2, length - TIPS_MM)
    ]
    contours.append((THIN, _line(0.0, zero, length / scale, zero)))
    contours += [(FAINT, _line(at, zero, at, tip)) for at, tip in _quills(x / scale, bend * rise + zero, height)]
    contours += [(VISIBLE, Contour.straight(run, closed=False)) for run in _runs(x / scale, bend * rise + zero, height)]
    contours += [(DIMENSION, _line(summit.x_mm / scale, 0.0, summit.x_mm / scale, height)) for summit in marked]
    return Drawing(
        name="strip",
        contours=tuple(contours),
        labels=_headings(strip, marked, most, scale, height, between_mm, metric=shown.board.metric),
    )


def _headings(
    strip: Strip,
    marked: list[Summit],
    most: float,
    scale: float,
    height: float,
    between_mm: tuple[float, float],
    *,
    metric: bool,
) -> tuple[Label, ...]:
    name = {"foil": "thickness"}.get(strip.line, strip.line)
    left, right = f"curvature of the {name}", f"full height {most:.2g} per m"
    marked = sorted(marked, key=lambda summit: summit.x_mm)
    texts = [f"{summit.line} {_near(summit.x_mm, metric=metric)}" for summit in marked]
    widths = [text_width_mm(text, CAPS_MM) for text in texts]
    low = between_mm[0] + text_width_mm(left, CAPS_MM) + 3.0
    high = between_mm[1] - text_width_mm(right, CAPS_MM) - 3.0
    middles = spread([summit.x_mm / scale for summit in marked], widths, low, high, 3.0)
    y = height + 0.7
    ends = (
        Label(text=left, x_mm=between_mm[0], y_mm=y, height_mm=CAPS_MM, layer=QUIET),
        Label(text=right, x_mm=between_mm[1], y_mm=y, height_mm=CAPS_MM, anchor="end", layer=QUIET),
    )
    if sum(widths) + 3.0 * len(widths) > high - low:
        return ends
    return ends + tuple(
        Label(text=text, x_mm=middle, y_mm=y, height_mm=CAPS_MM, anchor="middle", layer=LETTERING)
        for text, middle in zip(texts, middles.tolist(), strict=True)
    )


def _line(x0: float, y0: float, x1: float, y1: float) -> Contour:
    return Contour.straight([[x0, y0], [x1, y1]], closed=False)


def _quills(x: Array, y: Array, height: float) -> list[tuple[float, float]]:
    """Return stations QUILL_MM apart, and how high the line stands there, as far as the strip reaches."""
    at = np.arange(x[0], x[-1], QUILL_MM)
    return list(zip(at.tolist(), np.clip(np.interp(at, x, y), 0.0, height).tolist(), strict=True))


def _runs(x: Array, y: Array, height: float) -> list[Array]:
    """Return the stretches (n, 2) of a line that stay within 0 to height."""
    within = (y >= 0.0) & (y <= height)
    edges = np.flatnonzero(np.diff(within)) + 1
    runs = np.split(np.column_stack([x, y]), edges)
    return [run for run in runs if len(run) > 1 and 0.0 <= run[0, 1] <= height]


def _near(x_mm: float, *, metric: bool) -> str:
    """Return about where a summit is: a curve has no sharp one."""
    return coarse(x_mm, metric=True) if metric else feet_inches(x_mm, 4)
