"""The board sheet: one A3 landscape page with plan, profile, curvature, sections, tables and title block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from bayloft.drawing.curves.figures import Figures, figures
from bayloft.drawing.sheet import CUT_FACE, FOAM, FRAME, TINT, Drawing
from bayloft.drawing.sheets.curvature_view import curvature_height_mm, curvature_view
from bayloft.drawing.sheets.end_panel import ends_panel
from bayloft.drawing.sheets.plan_view import plan_height_mm, plan_view
from bayloft.drawing.sheets.profile_view import profile_height_mm, profile_view
from bayloft.drawing.sheets.section_view import LEAST_CELL_MM, section_view
from bayloft.drawing.sheets.section_view import ROOM_MM as SECTION_ROOM_MM
from bayloft.drawing.sheets.sheet_layout import BETWEEN_MM, FRAME_MM, MARGIN_MM, PAD_MM, PAGE_MM, Needs, best_layout
from bayloft.drawing.title_block import SheetPanel, fin_table, findings_panel, station_table, title_block
from bayloft.findings import Finding
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft

STRIP_MM = (7.5, 13.0)
VIEW_GAP_MM = (2.0, 9.0)
"""Least and greatest height of a curvature strip, and of the gaps between the views: they share what room is left."""

PANEL_GAP_MM, MOST_PANEL_GAP_MM = 4.5, 12.0

VIEWS_SHARE = 0.6
"""Of the height left over, what goes to the views; the rest goes between the sections."""

Columns = tuple[tuple[SheetPanel, ...], ...]


def board_sheet(
    draft: Draft,
    volume_mm3: float,
    area_mm2: float,
    findings: Sequence[Finding],
    day: date | None = None,
) -> Drawing:
    """Return the sheet of a board, A3 landscape within a margin of 10 mm.

    Plan and profile one over the other at one round scale with the curvature of their lines under them, sections at a
    larger one, both ends where there is room, widths, thicknesses and rocker as dimensions, tables of stations and
    fins, `findings` in short, and a title block with volume (mm3), area (mm2) and the day, if given. Scales and places
    follow from the board's size.

    Raises ValueError for a board too large for the smallest scale, which no spec admits.
    """
    shown = figures(draft)
    tables = [panel for panel in (station_table(shown), fin_table(shown), findings_panel(findings)) if panel]
    # The title block's size does not depend on the scales that stand in it.
    title = title_block(shown, volume_mm3, area_mm2, (1.0, 1.0))
    layout = best_layout(_needs(shown, (*tables, title)))
    title = title_block(shown, volume_mm3, area_mm2, (layout.scale, layout.section_scale), day)
    texts = _columns((*tables, title), paired=layout.paired)
    texts_mm, inner_mm = _size(texts)[0], FRAME_MM[0] - 2 * PAD_MM
    views_mm = inner_mm - (0.0 if layout.beside == "sections" else texts_mm)
    sections_mm = inner_mm - (0.0 if layout.beside == "views" else texts_mm)
    spare = FRAME_MM[1] - 2 * PAD_MM - BETWEEN_MM - layout.upper_mm - layout.lower_mm
    upper, lower = layout.upper_mm + VIEWS_SHARE * spare, layout.lower_mm + (1.0 - VIEWS_SHARE) * spare
    border = lower + PAD_MM + BETWEEN_MM / 2
    low = border if layout.beside == "views" else 0.0
    high = border if layout.beside == "sections" else FRAME_MM[1]
    texts = _with_ends(texts, shown, layout.scale, high - low)
    frame = Contour.straight([[0.0, 0.0], [FRAME_MM[0], 0.0], FRAME_MM, [0.0, FRAME_MM[1]]], closed=True)
    sheet = Drawing(name=f"{draft.board.slug}-sheet", contours=((FRAME, frame),), page_mm=PAGE_MM).joined(
        _views(shown, layout.scale, (views_mm, upper)).moved(PAD_MM, lower + PAD_MM + BETWEEN_MM),
        section_view(shown, layout.section_scale, layout.columns, (sections_mm, lower)).moved(PAD_MM, PAD_MM),
        _set(texts, high - low).moved(FRAME_MM[0] - texts_mm, low),
    )
    # What is filled must not cover what is drawn on it.
    filled_first = sorted(sheet.contours, key=lambda drawn: drawn[0] not in (FOAM, CUT_FACE, TINT))
    return replace(sheet, contours=tuple(filled_first)).moved(MARGIN_MM, MARGIN_MM)


def _needs(shown: Figures, panels: tuple[SheetPanel, ...]) -> Needs:
    """Return the sizes that the layout has to bring onto the page."""
    room = plan_height_mm(shown, 1.0) + profile_height_mm(shown, 1.0)
    height = shown.greatest_width_mm + shown.greatest_height_mm
    return Needs(
        length_mm=shown.board.length_mm,
        height_mm=height,
        views_room_mm=room - height + curvature_height_mm(shown, STRIP_MM[0]) + 2 * VIEW_GAP_MM[0],
        section_mm=shown.section_size_mm,
        section_room_mm=SECTION_ROOM_MM,
        least_cell_mm=LEAST_CELL_MM,
        sections=len(shown.sections),
        stacked_mm=_size(_columns(panels, paired=False)),
        paired_mm=_size(_columns(panels, paired=True)),
    )


def _columns(panels: tuple[SheetPanel, ...], *, paired: bool) -> Columns:
    """Return the panels in columns, each from top to bottom, the title block the last of the last."""
    return (panels[:1], panels[1:]) if paired else (panels,)


def _with_ends(columns: Columns, shown: Figures, scale: float, height_mm: float) -> Columns:
    """Return the columns with both ends over the title block, if there is room left for them."""
    *others, last = columns
    ends = ends_panel(shown, scale, height_mm - _size((last,))[1] - PANEL_GAP_MM)
    return columns if ends is None else (*others, (*last[:-1], ends, last[-1]))


def _size(columns: Columns) -> tuple[float, float]:
    """Return the width and least height of columns of panels, with pads above all and between the columns."""
    widths = [max(panel.width_mm for panel in column) for column in columns]
    heights = [sum(panel.height_mm + PANEL_GAP_MM for panel in column) for column in columns]
    return sum(widths) + PAD_MM * (len(columns) - 1), max(heights)


def _set(columns: Columns, height_mm: float) -> Drawing:
    """Return the columns side by side, panels from the top down, the last of all at the foot of the last column."""
    drawn, x = Drawing(name="texts"), 0.0
    for column in columns:
        spare = height_mm - _size((column,))[1]
        y, gap = height_mm - PANEL_GAP_MM, PANEL_GAP_MM + min(spare / len(column), MOST_PANEL_GAP_MM - PANEL_GAP_MM)
        for panel in column:
            y -= panel.height_mm
            at = 0.0 if panel is columns[-1][-1] else y
            drawn = drawn.joined(panel.drawing.moved(x, at))
            y -= gap
        x += max(panel.width_mm for panel in column) + PAD_MM
    return drawn


def _views(shown: Figures, scale: float, size_mm: tuple[float, float]) -> Drawing:
    """Return plan, profile and curvature strips one over the other in a rectangle from (0, 0)."""
    length, (width, height) = shown.board.length_mm / scale, size_mm
    plan, profile = plan_height_mm(shown, scale), profile_height_mm(shown, scale)
    strips = curvature_height_mm(shown, STRIP_MM[0])
    spare = height - plan - profile - strips - 2 * VIEW_GAP_MM[0]
    ranges = len(shown.strips) * (STRIP_MM[1] - STRIP_MM[0]), 2 * (VIEW_GAP_MM[1] - VIEW_GAP_MM[0])
    share = min(1.0, spare / sum(ranges))
    strip = STRIP_MM[0] + share * (STRIP_MM[1] - STRIP_MM[0])
    strips = curvature_height_mm(shown, strip)
    gap = (height - plan - profile - strips) / 2
    # What is still left goes to both sides of the views.
    gap, beyond = min(gap, VIEW_GAP_MM[1]), max(0.0, gap - VIEW_GAP_MM[1])
    side = (width - length) / 2
    between = (max(-side, -length), min(length + side, 2 * length))
    return (
        plan_view(shown, scale, between)
        .moved(side, height - plan - beyond)
        .joined(
            profile_view(shown, scale, between).moved(side, beyond + strips + gap),
            curvature_view(shown, scale, strip, between).moved(side, beyond),
        )
    )
