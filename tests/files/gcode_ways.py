"""The ways of a cutter as an independent interpreter (pygcode) finds them in a file."""

from __future__ import annotations

from math import atan2, ceil, hypot, pi

import numpy as np
from numpy.typing import NDArray

from bayloft.tolerances import ARC_RULE_MM

Array = NDArray[np.float64]

FINE_MM = 0.005
"""Flattening of the ways, and with it the size of the rounding of what is measured with them."""


def ways(text: str) -> list[tuple[str, Array]]:
    """Return each motion as pygcode understands it: its word, and points (n, 3) along it in mm."""
    from pygcode import Line, Machine  # noqa: PLC0415

    machine = Machine()
    place = np.array([0.0, 0.0, 0.0])
    found = []
    for line in text.splitlines():
        if line == "%":
            continue
        block = Line(line).block
        machine.process_block(block)
        target = np.array([machine.pos.values[axis] for axis in "XYZ"])
        codes = [code for code in block.gcodes if code.word_letter == "G" and code.word.value in (0, 1, 2, 3)]
        if codes:
            word = f"G{codes[0].word.value:.0f}"
            centre = [codes[0].params[axis].value if axis in codes[0].params else 0.0 for axis in "IJ"]
            found.append((word, along(word, place, target, centre)))
        place = target
    return found


def along(word: str, start: Array, end: Array, centre: list[float]) -> Array:
    if word in ("G0", "G1"):
        return np.array([start, end])
    x, y = start[0] + centre[0], start[1] + centre[1]
    first, last = atan2(start[1] - y, start[0] - x), atan2(end[1] - y, end[0] - x)
    sweep = (last - first) % (2 * pi) if word == "G3" else -((first - last) % (2 * pi))
    radius = hypot(*centre)
    assert abs(radius - hypot(end[0] - x, end[1] - y)) <= ARC_RULE_MM
    share = np.linspace(0.0, 1.0, 2 + ceil(abs(sweep) / np.sqrt(8 * FINE_MM / radius)))
    angles = first + share * sweep
    heights = start[2] + share * (end[2] - start[2])
    return np.column_stack([x + radius * np.cos(angles), y + radius * np.sin(angles), heights])
