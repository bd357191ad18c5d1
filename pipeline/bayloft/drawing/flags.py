"""Flags: a row of short notes over or under a view, each led to its station."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bayloft.drawing.labels import spread, text_width_mm
from bayloft.drawing.sheet import DIMENSION, LETTERING, QUIET, Drawing, Label
from bayloft.plane.contour import Contour
from bayloft.units import feet_inches

GAP_MM = 2.0
"""Between the texts of neighbouring flags."""

KNEE_MM = 2.0
"""Height of the slanted part of a leader, next to the text."""

LINES = ((1.8, QUIET), (2.5, LETTERING), (1.8, QUIET))
"""Cap height and layer of a flag's lines: where, how much on the tape, how much in mm."""

_BASELINES_MM = (6.4, 2.8, 0.0)
_BELOW_MM = 0.7
"""By which figures and letters reach below the lowest baseline."""

DEPTH_MM = _BELOW_MM + _BASELINES_MM[0] + LINES[0][0] + 0.6 + KNEE_MM
"""Height of a row of flags, leaders' slants and a little space beyond the texts included."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """A note on a station: `x_mm` on the sheet, `tip_mm` the height at which its leader ends, where the station is in
    words, the length it tells. Of two that have no room, the one with the greater `rank` goes.
    """

    x_mm: float
    tip_mm: float
    where: str
    value_mm: float
    rank: int = 0

    @property
    def texts(self) -> tuple[str, str, str]:
        """The flag's lines."""
        return self.where, feet_inches(self.value_mm), f"{self.value_mm:.1f}"

    @property
    def width_mm(self) -> float:
        """Room of the widest line."""
        return max(text_width_mm(text, height) for text, (height, _) in zip(self.texts, LINES, strict=True))


def flagged(flags: Sequence[Flag], near_mm: float, *, between_mm: tuple[float, float], above: bool) -> Drawing:
    """Return a row of flags whose leaders leave towards the view at the height `near_mm`: the texts stand KNEE_MM above
    it (or below it) and, without covering one another, as near to their stations as they can within `between_mm`.
    """
    kept = _with_room(sorted(flags, key=lambda flag: flag.x_mm), between_mm[1] - between_mm[0])
    widths = [flag.width_mm for flag in kept]
    middles = spread([flag.x_mm for flag in kept], widths, *between_mm, GAP_MM)
    away = 1.0 if above else -1.0
    text_edge = near_mm + away * KNEE_MM
    bottom = text_edge + _BELOW_MM if above else text_edge - DEPTH_MM + KNEE_MM + _BELOW_MM
    contours, labels = [], []
    for flag, middle in zip(kept, middles.tolist(), strict=True):
        points = [[middle, text_edge], [flag.x_mm, near_mm], [flag.x_mm, flag.tip_mm]]
        contours.append((DIMENSION, Contour.straight(np.array(points), closed=False)))
        for text, (height, layer), baseline in zip(flag.texts, LINES, _BASELINES_MM, strict=True):
            labels.append(
                Label(
                    text=text,
                    x_mm=middle,
                    y_mm=bottom + baseline,
                    height_mm=height,
                    anchor="middle",
                    layer=layer,
                )
            )
    return Drawing(name="flags", contours=tuple(contours), labels=tuple(labels))


def _with_room(flags: list[Flag], room_mm: float) -> list[Flag]:
    """Return the flags that fit side by side: of the least important, the most crowded go first."""
    while len(flags) > 1 and sum(flag.width_mm + GAP_MM for flag in flags) - GAP_MM > room_mm:
        x = np.array([flag.x_mm for flag in flags])
        apart = np.diff(x, prepend=-np.inf, append=np.inf)
        crowding = np.minimum(apart[:-1], apart[1:])
        lowest = max(flag.rank for flag in flags)
        out = min((i for i, flag in enumerate(flags) if flag.rank == lowest), key=lambda i: float(crowding[i]))
        flags = flags[:out] + flags[out + 1 :]
    return flags
