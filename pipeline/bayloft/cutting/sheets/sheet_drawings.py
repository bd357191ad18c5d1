"""Drawings of a sheet of parts: at full size for the router, and to scale on a page for the maker."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from shapely import Polygon, maximum_inscribed_circle

from bayloft.cutting.sheets.layout import CutSheet, Layout, Placed
from bayloft.drawing.dimensions import arrowhead
from bayloft.drawing.labels import shortened, text_width_mm, wrapped
from bayloft.drawing.sheet import (
    CUT_FACE,
    DIMENSION,
    FRAME,
    HIDDEN,
    LETTERING,
    QUIET,
    STOCK,
    THIN,
    VISIBLE,
    Drawing,
    Label,
    Layer,
)
from bayloft.drawing.title_block import dated
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Stock
from bayloft.tolerances import MARK_FLATTENING_MM

PAGE_MM = (297.0, 210.0)
MARGIN_MM = 12.0
WIDE_MM, HIGH_MM = PAGE_MM[0] - 2 * MARGIN_MM, PAGE_MM[1] - 2 * MARGIN_MM
HEAD_MM = 17.0
GRAIN_MM = 7.0
"""Height of the row of the grain's arrow, below the sheet."""

VIEW_MM = (WIDE_MM, 122.0)
SCALES = (1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0, 50.0)
NAME_CAPS_MM, CAPS_MM, SMALL_MM = 6.0, 2.5, 2.0
NUMBER_MM = (1.6, 4.0)
"""Least and greatest cap height of a part's number."""

ROW_MM = 3.8
COLUMNS = (3, 4)
"""Of the list: wide ones, or narrow ones where it is long."""

CAUTION = (
    "Clamp the stock clear of every cut, keep the guards on, protect eyes, ears and breathing; run each program in the "
    "air first. The manuals of router and cutters and local codes come before this sheet."
)


def router_drawing(sheet: CutSheet, name: str) -> Drawing:
    """Return a sheet at full size, its lower left corner at the origin: the parts as they are cut and marked, and the
    edge of the stock on STOCK.
    """
    stock = sheet.stock
    edge = _box(0.0, 0.0, stock.length_mm, stock.width_mm)
    return Drawing(name=name, contours=((STOCK, edge),)).joined(*(placed.part.drawing for placed in sheet.placed))


def sheet_page(sheet: CutSheet, layout: Layout, board: str) -> Drawing:
    """Return a sheet on a page, A4 on its side: parts with their numbers, margin, grain, off-cuts with their sizes, and
    the list of the parts.
    """
    stock = sheet.stock
    room = VIEW_MM[0], VIEW_MM[1]
    fitting = (s for s in SCALES if stock.length_mm / s <= room[0] and stock.width_mm / s <= room[1])
    scale = next(fitting, SCALES[-1])
    high = stock.width_mm / scale
    top = HIGH_MM - HEAD_MM - 3.0
    drawn = Drawing(name=f"sheet-{sheet.number}", page_mm=PAGE_MM).joined(
        _head(sheet, layout, board, scale).moved(0.0, HIGH_MM - HEAD_MM),
        _view(sheet, marks(layout), scale).moved(0.0, top - high),
        _grain(stock, scale).moved(0.0, top - high - GRAIN_MM),
        _list(sheet, marks(layout), top - high - GRAIN_MM - 2.0),
        _caution(),
    )
    return drawn.moved(MARGIN_MM, MARGIN_MM)


def marks(layout: Layout) -> dict[tuple[int, str], str]:
    """Return what stands on the parts of a layout, by number and title: the number, and for parts that share one, as
    pieces do, which of them, in the order of their titles: 3.1, 3.2.
    """
    parts = sorted({(placed.given.number, placed.given.title) for sheet in layout.sheets for placed in sheet.placed})
    alike: dict[int, list[str]] = {}
    for number, title in parts:
        alike.setdefault(number, []).append(title)
    return {
        (number, title): f"{number}" if len(alike[number]) == 1 else f"{number}.{alike[number].index(title) + 1}"
        for number, title in parts
    }


def letter(index: int) -> str:
    """Return the letter of the off-cut with this index in a sheet's list."""
    return chr(ord("A") + index % 26) * (index // 26 + 1)


def _box(x: float, y: float, length: float, width: float) -> Contour:
    return Contour.straight([[x, y], [x + length, y], [x + length, y + width], [x, y + width]], closed=True)


def _text(words: str, x: float, y: float, height: float, layer: Layer = LETTERING, *, bold: bool = False) -> Label:
    return Label(text=words, x_mm=x, y_mm=y, height_mm=height, layer=layer, bold=bold)


def _head(sheet: CutSheet, layout: Layout, board: str, scale: float) -> Drawing:
    """Return the page's head over y = 0."""
    stock = sheet.stock
    title = dated(f"{board}: sheet {sheet.number} of {len(layout.sheets)}", sheet.placed[0].part.day)
    size = f"{stock.length_mm:g} × {stock.width_mm:g} × {stock.thickness_mm:g} mm"
    told = (
        f"{stock.name}, {size}; cutter {layout.cutter.name}, {layout.cutter.diameter_mm:g} mm; at least "
        f"{layout.gap_mm:g} mm between parts; {sheet.used_share:.1%} used; scale 1:{scale:g}"
    )
    labels = (
        _text(shortened(title, NAME_CAPS_MM, WIDE_MM, bold=True), 0.0, 8.5, NAME_CAPS_MM, bold=True),
        _text(shortened(told, CAPS_MM, WIDE_MM), 0.0, 3.0, CAPS_MM, QUIET),
    )
    line = FRAME, Contour.straight([[0.0, 0.0], [WIDE_MM, 0.0]], closed=False)
    return Drawing(name="head", contours=(line,), labels=labels)


def _view(sheet: CutSheet, marked: Mapping[tuple[int, str], str], scale: float) -> Drawing:
    """Return the sheet to scale, its lower left corner at (0, 0)."""
    stock, margin = sheet.stock, sheet.stock.margin_mm
    contours: list[tuple[Layer, Contour]] = [(VISIBLE, _box(0.0, 0.0, stock.length_mm / scale, stock.width_mm / scale))]
    inner = stock.length_mm - 2 * margin, stock.width_mm - 2 * margin
    contours += [(HIDDEN, _box(margin, margin, *inner).scaled(1.0 / scale))] if margin else []
    labels = []
    for placed in sheet.placed:
        contours.append((CUT_FACE, placed.part.outline.scaled(1.0 / scale)))
        contours += [(VISIBLE, opening.scaled(1.0 / scale)) for opening in placed.part.openings]
        contours += [(THIN, hole.scaled(1.0 / scale)) for hole in placed.part.holes]
        labels.append(_number(placed, marked[placed.given.number, placed.given.title], scale))
    for index, off_cut in enumerate(sheet.off_cuts):
        x, y, length, width = (
            size / scale for size in (off_cut.x_mm, off_cut.y_mm, off_cut.length_mm, off_cut.width_mm)
        )
        contours.append((DIMENSION, _box(x, y, length, width)))
        words = f"off-cut {letter(index)}  {off_cut.length_mm:.0f} × {off_cut.width_mm:.0f}"
        upright = length < text_width_mm(words, SMALL_MM) + 2.0
        middle = x + length / 2 + (SMALL_MM / 2 if upright else 0.0), y + width / 2 - (0.0 if upright else SMALL_MM / 2)
        fits = text_width_mm(words, SMALL_MM) + 2.0 < (width if upright else length)
        labels.append(
            Label(
                text=words if fits else letter(index),
                x_mm=middle[0],
                y_mm=middle[1],
                height_mm=SMALL_MM,
                turn_deg=90.0 if upright and fits else 0.0,
                anchor="middle",
                layer=QUIET,
            )
        )
    return Drawing(name="view", contours=tuple(contours), labels=tuple(labels))


def _number(placed: Placed, text: str, scale: float) -> Label:
    """Return a part's number in the middle of the largest circle that lies on it."""
    shape = Polygon(
        placed.part.outline.flattened(MARK_FLATTENING_MM),
        [opening.flattened(MARK_FLATTENING_MM) for opening in placed.part.openings],
    )
    circle = maximum_inscribed_circle(shape, tolerance=1.0)
    x, y = np.round(np.asarray(circle.coords)[0] / scale, 3).tolist()
    height = float(np.clip(circle.length / scale / max(text_width_mm(text, 1.0), 1.0), *NUMBER_MM))
    return Label(text=text, x_mm=x, y_mm=y - height / 2, height_mm=height, anchor="middle", layer=LETTERING, bold=True)


def _grain(stock: Stock, scale: float) -> Drawing:
    """Return the sheet's length, and the direction of its grain, as a row below it."""
    reach = min(stock.length_mm / scale, 60.0)
    y = 2.5
    if not stock.grained:
        return Drawing(name="grain", labels=(_text("no grain", 0.0, y - 1.0, SMALL_MM, QUIET),))
    line = DIMENSION, Contour.straight([[0.0, y], [reach, y]], closed=False)
    heads = arrowhead((reach, y), 0.0), arrowhead((0.0, y), 180.0)
    words = _text("grain of the faces; margin dashed", reach + 3.0, y - 1.0, SMALL_MM, QUIET)
    return Drawing(name="grain", contours=(line, *heads), labels=(words,))


def _list(sheet: CutSheet, marked: Mapping[tuple[int, str], str], top: float) -> Drawing:
    """Return the list of parts and off-cuts in columns below `top`, as far as there is room."""
    rows = max(int((top - 9.0) / ROW_MM), 1)
    entries = []
    for placed in sheet.placed:
        size = " × ".join(f"{side:.1f}" for side in placed.size_mm)
        mark = marked[placed.given.number, placed.given.title]
        entries.append((f"{mark}  {placed.given.title}{' (turned over)' * placed.mirrored}", size))
    for index, off_cut in enumerate(sheet.off_cuts):
        entries.append((f"off-cut {letter(index)}", f"{off_cut.length_mm:.0f} × {off_cut.width_mm:.0f}"))
    columns = next((count for count in COLUMNS if len(entries) <= rows * count), COLUMNS[-1])
    wide = WIDE_MM / columns
    if len(entries) > rows * columns:
        entries = [*entries[: rows * columns - 1], ("more in the cut list", "")]
    labels = []
    for index, (what, size) in enumerate(entries):
        column, row = divmod(index, rows)
        x, y = column * wide, top - ROW_MM * (row + 1) + 1.0
        free = wide - text_width_mm(size, SMALL_MM) - 6.0
        labels.append(_text(shortened(what, SMALL_MM, free), x, y, SMALL_MM))
        labels.append(Label(text=size, x_mm=x + wide - 4.0, y_mm=y, height_mm=SMALL_MM, anchor="end", layer=QUIET))
    return Drawing(name="list", labels=tuple(label for label in labels if label.text))


def _caution() -> Drawing:
    lines = wrapped(CAUTION, SMALL_MM, WIDE_MM)
    labels = [_text(line, 0.0, 1.0 + 3.2 * (len(lines) - 1 - i), SMALL_MM, QUIET) for i, line in enumerate(lines)]
    return Drawing(name="caution", labels=tuple(labels))
