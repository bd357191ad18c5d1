"""The written part of a board sheet: title block, table of stations, fins, and what the checks found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from bayloft.drawing.curves.figures import Figures, Station
from bayloft.drawing.labels import shortened, text_width_mm, wrapped
from bayloft.drawing.sheet import FAINT, LETTERING, QUIET, THIN, VISIBLE, Drawing, Label, Layer
from bayloft.findings import Finding
from bayloft.plane.contour import Contour
from bayloft.solid.standing import FIRST_FIN
from bayloft.units import feet_inches, litres

NAME_CAPS_MM, LEAST_NAME_CAPS_MM, SIZE_CAPS_MM, CAPS_MM, SMALL_CAPS_MM = 6.0, 2.5, 3.0, 2.2, 1.8
ROW_MM, HEAD_MM = 6.8, 5.0
PAD_MM = 2.5
TITLE_WIDTH_MM = 84.0
TEXTS_WIDTH_MM = 79.0
TABLE_WIDTH_MM = 76.0

MOST_FINS = 4
MOST_LINES = 5
"""Rows of fins and lines of findings that the sheet has room for; the report holds all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPanel:
    """A part of the sheet with its size in mm, its lower left corner at (0, 0)."""

    width_mm: float
    height_mm: float
    drawing: Drawing


def dated(text: str, day: date | None) -> str:
    """Return a text with the day behind it, if one is given."""
    return text if day is None else f"{text}, {day.isoformat()}"


def _text(text: str, x: float, y: float, height: float, layer: Layer = LETTERING, *, bold: bool = False) -> Label:
    return Label(text=text, x_mm=x, y_mm=y, height_mm=height, layer=layer, bold=bold)


def _level(layer: Layer, left: float, right: float, y: float) -> tuple[Layer, Contour]:
    return layer, Contour.straight([[left, y], [right, y]], closed=False)


def table(
    name: str, heads: Sequence[str], rows: Sequence[Sequence[tuple[str, str]]], columns: Sequence[float]
) -> SheetPanel:
    """Return a table of cells of two lines: large over small; `columns` are the left edges and the whole width."""
    height = HEAD_MM + ROW_MM * len(rows)
    labels = [_text(head, x, height - 3.0, SMALL_CAPS_MM, QUIET) for head, x in zip(heads, columns, strict=False)]
    contours = [_level(VISIBLE, 0.0, columns[-1], height - HEAD_MM + 0.6)]
    for i, row in enumerate(rows):
        base = height - HEAD_MM - ROW_MM * (i + 1)
        for (large, small), x in zip(row, columns, strict=False):
            labels.append(_text(large, x, base + 3.9, CAPS_MM))
            labels.append(_text(small, x, base + 1.2, SMALL_CAPS_MM, QUIET))
        contours.append(_level(FAINT, 0.0, columns[-1], base + 0.3))
    return SheetPanel(
        width_mm=columns[-1],
        height_mm=height,
        drawing=Drawing(name=name, contours=tuple(contours), labels=tuple(label for label in labels if label.text)),
    )


def _length(value_mm: float | None) -> tuple[str, str]:
    return ("-", "") if value_mm is None else (feet_inches(value_mm), f"{value_mm:.1f}")


def station_table(shown: Figures) -> SheetPanel:
    """Return the table of the sections' stations and both ends: width, thickness, rocker, tape over mm."""
    ends: list[Station] = [station for station in shown.heights if station.where in ("tail end", "nose tip")]
    stations = sorted({station.x_mm: station for station in (*ends, *shown.section_stations)}.items())
    rows = [
        [
            _length(x),
            *(_length(value) for value in (station.width_mm, station.thickness_mm, station.rocker_mm)),
        ]
        for x, station in stations
    ]
    return table(
        "stations", ("from tail", "width", "thickness", "rocker"), rows, (0.0, 22.0, 41.0, 58.0, TABLE_WIDTH_MM)
    )


def fin_table(shown: Figures) -> SheetPanel | None:
    """Return the table of the fins, by their numbers; None where there are none."""
    rows = []
    for number, placed in list(enumerate(shown.board.fins, FIRST_FIN))[:MOST_FINS]:
        name = shortened(f"{number}  {placed.fin.name}", CAPS_MM, 28.0)
        size = f"{feet_inches(placed.fin.base_mm)} × {feet_inches(placed.fin.depth_mm)}"
        pair = placed.off_stringer_mm > 0.0
        rows.append(
            [
                (name, shortened(size, SMALL_CAPS_MM, 28.0)),
                _length(placed.from_tail_mm),
                _length(placed.off_stringer_mm) if pair else ("centre", ""),
                (f"{placed.toe_deg:.3g}°", f"cant {placed.cant_deg:.3g}°") if pair else ("-", ""),
            ]
        )
    if not rows:
        return None
    more = len(shown.board.fins) - len(rows)
    heads = (f"fins ({more} more)" if more else "fin, base × depth", "from tail", "off stringer", "toe")
    return table("fins", heads, rows, (0.0, 29.0, 47.0, 65.0, TEXTS_WIDTH_MM))


def findings_panel(findings: Sequence[Finding]) -> SheetPanel:
    """Return how many checks passed, and in words the warnings, what was drawn otherwise than read, and what the board
    is derived from, as far as there is room.
    """
    warnings = [finding for finding in findings if finding.severity != "note"]
    passed = len(findings) - len(warnings)
    # Swells are seen in the curvature strips; of lines that have none the report tells.
    told = [finding for finding in findings if finding.code in {"moved", "derived"}]
    told = [*(finding for finding in warnings if finding.code != "swells"), *told]
    lines = [line for finding in told for line in wrapped(finding.text, SMALL_CAPS_MM, TEXTS_WIDTH_MM)]
    if len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], "more in the report"]
    elif any(finding.code == "swells" for finding in warnings):
        lines.append("waves: see the report")
    count = f"{passed} checks passed, {len(warnings)} warning{'s' if len(warnings) != 1 else ''}"
    height = HEAD_MM + 3.0 * len(lines) + 0.5
    labels = [_text(count, 0.0, height - 3.0, CAPS_MM)]
    labels += [_text(line, 0.0, height - HEAD_MM - 3.0 * i - 2.2, SMALL_CAPS_MM, QUIET) for i, line in enumerate(lines)]
    return SheetPanel(width_mm=TEXTS_WIDTH_MM, height_mm=height, drawing=Drawing(name="findings", labels=tuple(labels)))


def _name(name: str, room_mm: float, y: float) -> list[Label]:
    """Return the name in one line as large as it fits, or in two small ones over the baseline `y`."""
    caps = NAME_CAPS_MM * min(1.0, room_mm / text_width_mm(name, NAME_CAPS_MM, bold=True))
    if caps >= LEAST_NAME_CAPS_MM:
        return [_text(name, PAD_MM, y, caps, bold=True)]
    caps = LEAST_NAME_CAPS_MM
    first, *rest = wrapped(name, caps, room_mm, bold=True)
    second = shortened(" ".join(rest), caps, room_mm, bold=True)
    return [_text(text, PAD_MM, y + up, caps, bold=True) for text, up in ((first, 1.6 * caps), (second, 0.0)) if text]


def title_block(
    shown: Figures, volume_mm3: float, area_mm2: float, scales: tuple[float, float], day: date | None = None
) -> SheetPanel:
    """Return the title block: name, sizes, volume, area, tail, scales of views and sections; the day, if given."""
    board = shown.board
    thickest = max(station.thickness_mm or 0.0 for station in shown.thicknesses)
    sizes = (board.length_mm, board.wide_point.value, thickest)
    width, inner = TITLE_WIDTH_MM, TITLE_WIDTH_MM - 2 * PAD_MM
    cells = (
        (("volume", f"{litres(volume_mm3):.1f} L"), ("surface", f"{area_mm2 / 1e6:.2f} m²"), ("tail", board.tail.kind)),
        (
            ("plan, profile", f"1:{scales[0]:g}"),
            ("sections", f"1:{scales[1]:g}"),
            ("lengths", "inches, mm") if day is None else ("inches, mm", day.isoformat()),
        ),
    )
    cell_mm, columns = 9.0, (0.0, width / 3, 2 * width / 3)
    foot = cell_mm * len(cells)
    height = foot + 22.0
    labels = [
        *_name(board.name, inner, height - 2.8 - NAME_CAPS_MM),
        _text(" × ".join(feet_inches(size) for size in sizes), PAD_MM, foot + 6.8, SIZE_CAPS_MM),
        _text(" × ".join(f"{size:.1f}" for size in sizes) + " mm", PAD_MM, foot + 2.6, CAPS_MM, QUIET),
    ]
    frame = Contour.straight([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]], closed=True)
    contours: list[tuple[Layer, Contour]] = [(VISIBLE, frame), _level(VISIBLE, 0.0, width, foot)]
    for i, row in enumerate(cells):
        base = foot - cell_mm * (i + 1)
        contours += [_level(THIN, 0.0, width, base)] if base > 0.0 else []
        for (head, value), x in zip(row, columns, strict=True):
            labels.append(_text(head, x + PAD_MM, base + 5.9, SMALL_CAPS_MM, QUIET))
            labels.append(_text(value, x + PAD_MM, base + 1.9, CAPS_MM))
    contours += [(THIN, Contour.straight([[x, 0.0], [x, foot]], closed=False)) for x in columns[1:]]
    drawing = Drawing(name="title", contours=tuple(contours), labels=tuple(labels))
    return SheetPanel(width_mm=width, height_mm=height, drawing=drawing)
