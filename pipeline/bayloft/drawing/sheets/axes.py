"""The axes of a view: two arrows at its origin, and their names."""

from __future__ import annotations

from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.card import BLUE_LINE, LABEL_MM, Line, straight, text

ARROW_MM, HEAD_MM = 14.0, (2.6, 1.0)
"""Length of an arrow; how far its head reaches back, and to either side."""


def axes(across: str, up: str) -> Drawing:
    """Return the axes of a view, named."""
    back, aside = HEAD_MM
    drawn: list[Line] = []
    for x, y in ((1.0, 0.0), (0.0, 1.0)):
        tip = (ARROW_MM * x, ARROW_MM * y)
        drawn.append(straight(BLUE_LINE, (0.0, 0.0), tip))
        ends = [(tip[0] - back * x + off * y, tip[1] - back * y + off * x) for off in (-aside, aside)]
        drawn += [straight(BLUE_LINE, end, tip) for end in ends]
    labels = (
        text(across, ARROW_MM - 2.0, -LABEL_MM - 1.6, LABEL_MM, bold=True),
        text(up, -3.2, ARROW_MM - LABEL_MM, LABEL_MM, bold=True),
    )
    return Drawing(name="axes", contours=tuple(drawn), labels=labels)
