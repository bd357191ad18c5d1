"""The picture of a section on the shaping card: where each figure of the table is measured."""

from __future__ import annotations

from collections.abc import Mapping

from bayloft.drawing.curves.bench_figures import BenchStation
from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BLUE,
    BLUE_HEAD,
    BLUE_LINE,
    BOARD_LINE,
    EDGE_LINE,
    GREY,
    INK,
    LABEL_MM,
    LINE_PITCH,
    MIDDLE_LINE,
    WORDS_MM,
    Line,
    straight,
    text,
)
from bayloft.drawing.sheets.rail_sheet import SOFT_EDGE_MM, Rail
from bayloft.tape import station

PICTURE_MM = 80.0
"""Height of the picture with its words, whose foot is y = 0."""
ROOM_MM = (150.0, 29.0)
"""Room for the half section itself, width and height."""
SCALES = (2.0, 2.5, 3.0, 4.0, 5.0)
LEFT_MM, FLOOR_MM = 5.0, 42.0
"""Where the stringer stands, and the height of the bottom there."""
BEYOND_MM, BELOW_MM = 9.0, 9.0
"""From the widest point to the dimension of its height, and from the bottom down to that of the tuck."""
LAYERS = (BLUE_LINE, BLUE_HEAD, BLUE)


def shaping_picture(
    rail: Rail, measured: BenchStation, inside_mm: float, letters: Mapping[str, str], *, metric: bool
) -> Drawing:
    """Return the half section at a station, its stringer at the left, with the letters of apex, tuck, drop, rise and
    hollow, as far as they have one, at what is measured, and what each of them is in words; `inside_mm`: where the fall
    of deck and bottom is measured.
    """
    left, low, right, high = rail.line.bounds
    fits = (s for s in SCALES if (right - left) / s <= ROOM_MM[0] and (high - low) / s <= ROOM_MM[1])
    scale = next(fits, SCALES[-1])
    apex = LEFT_MM - left / scale, FLOOR_MM + rail.height_mm / scale
    top = FLOOR_MM + (measured.thickness_mm or 0.0) / scale
    contours: list[Line] = [
        (BOARD_LINE, rail.line.scaled(1.0 / scale).moved(apex[0], FLOOR_MM)),
        straight(MIDDLE_LINE, (LEFT_MM, FLOOR_MM - 4.0), (LEFT_MM, top + 4.0)),
        straight(EDGE_LINE, (LEFT_MM, top), (apex[0], top)),
        straight(EDGE_LINE, (LEFT_MM, FLOOR_MM), (apex[0] + BEYOND_MM + 2.0, FLOOR_MM)),
    ]
    across = apex[0] + BEYOND_MM
    drawn = [upright(across, (FLOOR_MM, apex[1]), from_x_mm=(across, apex[0]), layers=LAYERS)]
    labels = [_letter(letters, "apex", across + 4.0, (FLOOR_MM + apex[1]) / 2.0 - WORDS_MM / 2.0)]
    if rail.edge_radius_mm < SOFT_EDGE_MM:
        edge = apex[0] + rail.edge_mm[0] / scale, FLOOR_MM + rail.edge_mm[1] / scale
        y = FLOOR_MM - BELOW_MM
        drawn.append(horizontal((edge[0], apex[0]), y, "", from_y_mm=(edge[1], apex[1]), layers=LAYERS))
        labels.append(_letter(letters, "tuck", apex[0] + 7.0, y - WORDS_MM / 2.0))
    inside = apex[0] - inside_mm / scale
    for name, level, off, y in (
        ("drop", top, -(measured.across.drop_mm or 0.0) if measured.across else 0.0, top + 2.2),
        ("rise", FLOOR_MM, (measured.across.rise_mm or 0.0) if measured.across else 0.0, FLOOR_MM - 2.2 - WORDS_MM),
    ):
        if off:
            ends = sorted((level, level + off / scale))
            contours.append(straight(BLUE_LINE, (inside, ends[0]), (inside, ends[1])))
        labels.append(_letter(letters, name, inside, y))
    labels.append(_letter(letters, "hollow", LEFT_MM + (apex[0] - LEFT_MM) / 4.0, FLOOR_MM - 2.2 - WORDS_MM))
    where = f"section at {station(rail.x_mm, metric=metric)}, drawn 1:{scale:g}"
    labels.append(text(where, LEFT_MM + 4.0, (FLOOR_MM + top) / 2.0 - LABEL_MM / 2.0, LABEL_MM, GREY))
    distance = f"{inside_mm:g} mm" if metric else f"{inside_mm / 25.4:g} in"
    labels = [label for label in labels if label.text]
    words = {
        "apex": "widest point over the bottom at the stringer",
        "tuck": "edge inside the widest point, where there is one to be seen",
        "drop": f"straightedge level on the deck: down to the deck {distance} inside",
        "rise": f"level with the bottom at the stringer: up to the bottom {distance} inside",
        "hollow": "straightedge across the bottom: the most that is hollow under it",
    }
    for i, (name, letter) in enumerate(letters.items()):
        meaning = words[name]
        y = LABEL_MM * LINE_PITCH * (len(letters) - 1 - i) + 2.0
        labels += [text(letter, 0.0, y, LABEL_MM, bold=True), text(meaning, 6.0, y, LABEL_MM, GREY)]
    return Drawing(name="section", contours=tuple(contours), labels=tuple(labels)).joined(*map(_lines_only, drawn))


def _letter(letters: Mapping[str, str], name: str, x: float, y: float) -> Label:
    """Return the letter of what is measured, an empty label where it has none."""
    return Label(text=letters.get(name, ""), x_mm=x, y_mm=y, height_mm=WORDS_MM, anchor="middle", layer=INK, bold=True)


def _lines_only(drawing: Drawing) -> Drawing:
    return Drawing(name=drawing.name, contours=drawing.contours)
