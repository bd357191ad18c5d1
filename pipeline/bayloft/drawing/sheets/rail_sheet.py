"""The rail sheet: the rails of a board's sections at full size, each with its height, radius and tuck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from bayloft.drawing.curves.figures import place, section_stations
from bayloft.drawing.curves.section_curves import SectionCurve, section_curves
from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.labels import shortened
from bayloft.drawing.marks import CHECK_MM, check_strokes
from bayloft.drawing.sheet import DIMENSION, FRAME, LETTERING, QUIET, THIN, VISIBLE, Drawing, Label
from bayloft.drawing.title_block import dated
from bayloft.lines.section_places import APEX, EDGE
from bayloft.plane.biarcs import fitted
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.measure import edge_radius, places, rail_radius
from bayloft.spec.boards.board import Board
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

PAGES_MM = ((297.0, 210.0), (420.0, 297.0))
"""A4 and A3, landscape: the smaller one unless the rails are too high for it."""

SCALES = (1.0, 2.0)
COLUMNS = 3
MARGIN_MM = (21.0, 13.0)
"""At the sides, and above and below: what is inside prints on a sheet of 8 1/2 x 11 in as well."""

HEAD_MM, NAME_CAPS_MM, CAPS_MM, SMALL_CAPS_MM = 14.0, 5.0, 2.2, 1.8
REACH_MM = 45.0
"""How far inside the widest point a rail is shown, on paper."""

HEADING_MM, UNDER_MM = 8.0, 7.5
"""Room over a rail for its heading, and below it for its tuck."""

HEIGHT_ROW_MM, TUCK_ROW_MM, BEYOND_MM = 5.0, 5.0, 2.0
"""From the widest point to the dimension of its height, from the lowest place to that of the tuck, and how far
the line of the bottom at the stringer passes the first."""

SOFT_EDGE_MM = 13.0
"""Radius of the bottom edge, mm, from which there is none to be seen, and no tuck to be measured."""
HARD_EDGE_DEG = 8.0
"""Turn of the section at the bottom edge from which it is a hard one, whatever the radius beside it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rail:
    """A rail at a station, starboard looking forward, its widest point at x = 0, the bottom at the stringer at y = 0:
    the height and the radius of the widest point, place (x, y) and radius of the bottom edge, 0 for a hard one; mm.
    """

    where: str
    x_mm: float
    line: Contour
    height_mm: float
    radius_mm: float
    edge_mm: tuple[float, float]
    edge_radius_mm: float


def rail_sheet(draft: Draft, day: date | None = None) -> Drawing:
    """Return the sheet of rails at 1:1, or where they are too high for the largest page at 1:2, tail first; the day, if
    given.
    """
    for scale, page in ((scale, page) for scale in SCALES for page in PAGES_MM):
        rails = rails_at(draft, section_stations(draft.board), REACH_MM * scale)
        rows = [rails[i : i + COLUMNS] for i in range(0, len(rails), COLUMNS)]
        highs = [HEADING_MM + (high - low) / scale + UNDER_MM for low, high in map(_limits, rows)]
        spare = page[1] - 2 * MARGIN_MM[1] - HEAD_MM - sum(highs)
        if spare >= 0.0:
            break
    inner, top = page[0] - 2 * MARGIN_MM[0], page[1] - 2 * MARGIN_MM[1] - HEAD_MM
    sheet = Drawing(name=f"{draft.board.slug}-rails", page_mm=page).joined(
        _head(draft.board, scale, day, inner).moved(0.0, top)
    )
    for row in rows:
        low, high = (limit / scale for limit in _limits(row))
        top -= HEADING_MM + high - low + UNDER_MM + max(spare, 0.0) / len(rows)
        for column, rail in enumerate(row):
            across = column * inner / COLUMNS + REACH_MM
            sheet = sheet.joined(_cell(rail, scale, low, high).moved(across, top + UNDER_MM - low))
    return sheet.moved(*MARGIN_MM)


def rails_at(draft: Draft, stations: Sequence[float], reach_mm: float) -> list[Rail]:
    """Return a board's rails at stations where it has a stringer, as far inside the widest point as told."""
    board, body = draft.board, draft.body
    radii, edges = rail_radius(body, stations), edge_radius(body, stations)
    low, edge, apex = places(body, stations, (0.0, EDGE, APEX))[..., 1:]
    curves = section_curves(body, stations)
    return [
        Rail(
            where=place(board, curve.x_mm),
            x_mm=curve.x_mm,
            line=_line(curve, float(apex[i, 0]) - reach_mm).moved(-float(apex[i, 0]), -float(low[i, 1])),
            height_mm=float(apex[i, 1] - low[i, 1]),
            radius_mm=float(radii[i]),
            edge_mm=(float(edge[i, 0] - apex[i, 0]), float(edge[i, 1] - low[i, 1])),
            edge_radius_mm=0.0 if curve.turn_deg(EDGE) > HARD_EDGE_DEG else float(edges[i]),
        )
        for i, curve in enumerate(curves)
    ]


def _line(curve: SectionCurve, from_mm: float) -> Contour:
    """Return a section from the bottom to the deck beyond a distance off the stringer, or all of it."""
    ends = (0.0, 1.0) if from_mm <= 0.0 else tuple(curve.where(from_mm, deck=deck) for deck in (False, True))
    return fitted(curve.stretches(*ends), ARC_FIT_MM)


def _limits(row: Sequence[Rail]) -> tuple[float, float]:
    """Return the lowest and the highest place of rails, and of the bottom at the stringer, at full size."""
    boxes = [rail.line.bounds for rail in row]
    return min(0.0, *(box[1] for box in boxes)), max(box[3] for box in boxes)


def _head(board: Board, scale: float, day: date | None, wide_mm: float) -> Drawing:
    """Return the head over y = 0: name, what is drawn, and a line to measure the print by."""
    size = "full size" if scale == 1.0 else f"1:{scale:g}"
    said = dated(f"rails {size}, starboard looking forward: widest point over the bottom at the stringer, tuck", day)
    y = HEAD_MM - NAME_CAPS_MM - 1.0
    name = shortened(board.name, NAME_CAPS_MM, wide_mm - CHECK_MM - 10.0, bold=True)
    labels = (
        Label(text=name, x_mm=0.0, y_mm=y, height_mm=NAME_CAPS_MM, layer=LETTERING, bold=True),
        Label(text=said, x_mm=0.0, y_mm=y - 4.6, height_mm=SMALL_CAPS_MM, layer=QUIET),
        Label(
            text=f"check: {CHECK_MM:g} mm",
            x_mm=wide_mm - CHECK_MM / 2,
            y_mm=y + 1.5,
            height_mm=CAPS_MM,
            anchor="middle",
            layer=QUIET,
        ),
    )
    line = FRAME, Contour.straight([[0.0, 0.0], [wide_mm, 0.0]], closed=False)
    check = [(THIN, stroke) for stroke in check_strokes(wide_mm - CHECK_MM, y, 2.0)]
    return Drawing(name="head", contours=(line, *check), labels=labels)


def _cell(rail: Rail, scale: float, low_mm: float, high_mm: float) -> Drawing:
    """Return a rail with its figures, its widest point at x = 0, the bottom at the stringer at y = 0; the row's rails
    reach from `low_mm` to `high_mm`.
    """
    apex, inside = rail.height_mm / scale, -REACH_MM
    line = rail.line.scaled(1.0 / scale)
    flat = Contour.straight([[inside, 0.0], [HEIGHT_ROW_MM + BEYOND_MM, 0.0]], closed=False)
    figure = Label(
        text=both(rail.height_mm),
        x_mm=HEIGHT_ROW_MM + 1.2,
        y_mm=apex / 2 - CAPS_MM / 2,
        height_mm=CAPS_MM,
        layer=LETTERING,
    )
    said = f"radius {both(rail.radius_mm)}"
    drawn = Drawing(name="rail", contours=((VISIBLE, line), (DIMENSION, flat)), labels=(figure,))
    drawn = drawn.joined(upright(HEIGHT_ROW_MM, (0.0, apex), from_x_mm=(HEIGHT_ROW_MM, 0.0)))
    if rail.edge_radius_mm < SOFT_EDGE_MM:
        x, y = (place / scale for place in rail.edge_mm)
        drawn = drawn.joined(horizontal((x, 0.0), low_mm - TUCK_ROW_MM, both(-rail.edge_mm[0]), from_y_mm=(y, apex)))
        said += ", hard edge" if rail.edge_radius_mm == 0.0 else f", edge {both(rail.edge_radius_mm)}"
    y = high_mm + HEADING_MM - CAPS_MM - 1.0
    heading = (
        Label(text=rail.where, x_mm=inside, y_mm=y, height_mm=CAPS_MM, layer=LETTERING, bold=True),
        Label(text=said, x_mm=inside, y_mm=y - 3.4, height_mm=SMALL_CAPS_MM, layer=QUIET),
    )
    return drawn.joined(Drawing(name="heading", labels=heading))
