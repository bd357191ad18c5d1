"""The sheet of a lifted fin or of lifted rails: the points that were read, on the curves drawn through them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.labels import shortened, text_width_mm
from bayloft.drawing.sheet import DIMENSION, FRAME, LETTERING, QUIET, VISIBLE, Drawing, Label, Layer
from bayloft.plane.contour import Contour

Array = NDArray[np.float64]

PAGE_MM, MARGIN_MM = (297.0, 210.0), 12.0
NAME_CAPS_MM, CAPS_MM, SMALL_CAPS_MM = 4.5, 2.5, 1.8
HEAD_MM, GAP_MM, CROSS_MM, LABEL_MM = 16.0, 16.0, 1.2, 4.0
SCALES = (2.0, 1.0, 0.5, 0.4, 0.25, 0.2, 0.1, 0.05)
"""Scales of a view, the largest that fits the page is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedView:
    """Curves (n, 2) and points read, mm in one plane, and how far off the curves each point is, mm."""

    caption: str
    curves: tuple[Array, ...]
    points: tuple[tuple[float, float], ...]
    off_mm: tuple[float, ...]

    @property
    def box(self) -> tuple[Array, Array]:
        """The lower left and upper right corners of all that is drawn."""
        every = np.vstack([*self.curves, np.array(self.points)])
        return every.min(axis=0), every.max(axis=0)


def traced_sheet(name: str, views: Sequence[TracedView], play_mm: float) -> Drawing:
    """Return the sheet, A4 lying: the views in rows at one scale, each point a cross with how far off it is, as far
    as there is room.
    """
    inner = np.array(PAGE_MM) - 2 * MARGIN_MM
    room = inner - [0.0, HEAD_MM]
    sizes = [high - low for low, high in (view.box for view in views)]
    placed = next((found for scale in SCALES if (found := _rows(sizes, scale, room)) is not None), None)
    scale, corners = placed if placed is not None else (SCALES[-1], [(0.0, 0.0)] * len(views))
    written = f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:g}"
    top = float(inner[1])
    said = f"scale {written}; at each point how far it is off, mm; it may be {play_mm:.3g} mm, square to the curve"
    labels = (
        Label(
            text=shortened(f"{name}: readings and curves", NAME_CAPS_MM, float(inner[0]), bold=True),
            x_mm=0.0,
            y_mm=top - 6.0,
            height_mm=NAME_CAPS_MM,
            layer=LETTERING,
            bold=True,
        ),
        Label(text=said, x_mm=0.0, y_mm=top - 11.0, height_mm=CAPS_MM, layer=QUIET),
    )
    frame = (
        FRAME,
        Contour.straight([[0.0, top - HEAD_MM + 2.0], [float(inner[0]), top - HEAD_MM + 2.0]], closed=False),
    )
    sheet = Drawing(name="traced", contours=(frame,), labels=labels, page_mm=PAGE_MM)
    for view, (x, y) in zip(views, corners, strict=True):
        sheet = sheet.joined(_view(view, scale).moved(x, top - HEAD_MM - y))
    return sheet.moved(MARGIN_MM, MARGIN_MM)


def _rows(sizes: Sequence[Array], scale: float, room: Array) -> tuple[float, list[tuple[float, float]]] | None:
    """Return the scale and where the lower left corner of each view is, from the left and down from the top; None where
    they don't fit.
    """
    found: list[tuple[float, float]] = []
    x = down = row = 0.0
    for size in sizes:
        wide, high = (size * scale + GAP_MM).tolist()
        if x and x + wide > room[0]:
            x, down, row = 0.0, down + row, 0.0
        row = max(row, high)
        if x + wide > room[0] or down + row > room[1]:
            return None
        found.append((x + GAP_MM / 2, down + high - GAP_MM / 2 + 4.0))
        x += wide
    return scale, found


def _view(view: TracedView, scale: float) -> Drawing:
    """Return a view with its lower left corner at (0, 0)."""
    low, high = view.box
    contours: list[tuple[Layer, Contour]] = [
        (VISIBLE, Contour.straight((curve - low) * scale, closed=False)) for curve in view.curves
    ]
    labels = [
        Label(
            text=view.caption,
            x_mm=0.0,
            y_mm=float(high[1] - low[1]) * scale + 4.0,
            height_mm=CAPS_MM,
            layer=LETTERING,
        )
    ]
    for x, y in (np.array(view.points) - low) * scale:
        contours += [
            (DIMENSION, Contour.straight([[x - CROSS_MM, y], [x + CROSS_MM, y]], closed=False)),
            (DIMENSION, Contour.straight([[x, y - CROSS_MM], [x, y + CROSS_MM]], closed=False)),
        ]
    return Drawing(name=view.caption, contours=tuple(contours), labels=(*labels, *_offs(view, low, scale)))


def _offs(view: TracedView, low: Array, scale: float) -> list[Label]:
    """Return how far off the points are, outside the curve; of two that would overlap the greater."""
    centre = (np.vstack(view.curves).mean(axis=0) - low) * scale
    half = np.array([text_width_mm("0.0", SMALL_CAPS_MM) / 2.0 + 0.4, SMALL_CAPS_MM / 2.0 + 0.4])
    kept: list[Array] = []
    labels = []
    for off, point in sorted(zip(view.off_mm, view.points, strict=True), reverse=True):
        at = (np.array(point) - low) * scale
        out = at - centre
        at = at + LABEL_MM * out / max(float(np.hypot(*out)), 1e-9)
        if any(bool((np.abs(at - other) < 2.0 * half).all()) for other in kept):
            continue
        kept.append(at)
        labels.append(
            Label(
                text=f"{off:.1f}",
                x_mm=float(at[0]),
                y_mm=float(at[1]) - SMALL_CAPS_MM / 2.0,
                height_mm=SMALL_CAPS_MM,
                anchor="middle",
                layer=QUIET,
            )
        )
    return labels
