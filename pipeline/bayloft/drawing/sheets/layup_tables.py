"""The written parts of a layup sheet: materials and panel, the ladder of sessions, weights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from bayloft.drawing.labels import wrapped
from bayloft.drawing.sheet import FAINT, LETTERING, QUIET, THIN, VISIBLE, Drawing, Label, Layer
from bayloft.drawing.title_block import SheetPanel as Block
from bayloft.laminating.laminate import Session
from bayloft.laminating.layup import FinLayup, assumed_limits
from bayloft.plane.contour import Contour
from bayloft.spec.fins.fin import Fin
from bayloft.spec.fins.layup import CAUTIOUS
from bayloft.units import G_M2_PER_CLOTH_WEIGHT, both

CAPS_MM, SMALL_MM = 2.2, 1.8
ROW_MM, NOTE_MM, HEAD_MM = 5.0, 2.9, 5.6

MOST_RUNGS = 14
"""Sessions that are drawn one by one; of more, equal neighbours share a rung."""

BOX_MM = 2.6
"""Side of the box in which a session is ticked off."""

STACK_MM = (7.0, 19.0)
"""From where to where across the ladder the plies are drawn."""

HEADS_MM = 5.4
LEAST_RUNG_MM, MOST_RUNG_MM = 4.6, 10.0
LEAST_PLY_MM = 0.6
"""Heights of the columns' heads, of a rung, and of a ply that is drawn."""


def text(words: str, x: float, y: float, height: float, layer: Layer = LETTERING, *, bold: bool = False) -> Label:
    """Return a label on a sheet."""
    return Label(text=words, x_mm=x, y_mm=y, height_mm=height, layer=layer, bold=bold)


def _right(words: str, x: float, y: float, layer: Layer = LETTERING) -> Label:
    return Label(text=words, x_mm=x, y_mm=y, height_mm=CAPS_MM, layer=layer, anchor="end")


def _level(layer: Layer, width: float, y: float) -> tuple[Layer, Contour]:
    return layer, Contour.straight([[0.0, y], [width, y]], closed=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of a table: what, how much, and a remark below."""

    what: str
    value: str
    note: str = ""


def _table(head: str, rows: Sequence[Row], width: float) -> Block:
    """Return a table of rows, values flush right, remarks small below their row."""
    notes = [wrapped(row.note, SMALL_MM, width) for row in rows]
    height = HEAD_MM + sum(ROW_MM + NOTE_MM * len(lines) for lines in notes)
    y = height - HEAD_MM
    labels = [text(head, 0.0, y + 2.2, CAPS_MM, bold=True)]
    contours = [_level(VISIBLE, width, y)]
    for row, lines in zip(rows, notes, strict=True):
        labels += [text(row.what, 0.0, y - 3.6, CAPS_MM, QUIET), _right(row.value, width, y - 3.6)]
        y -= ROW_MM
        for line in lines:
            y -= NOTE_MM
            labels.append(text(line, 0.0, y + 1.1, SMALL_MM, QUIET))
        contours.append(_level(FAINT, width, y))
    drawing = Drawing(name="table", contours=tuple(contours), labels=tuple(label for label in labels if label.text))
    return Block(width_mm=width, height_mm=height, drawing=drawing)


def _not_given(fin: Fin) -> frozenset[str]:
    return frozenset(str(item.path[-1]) for item in fin.assumed if item.path[0] == "layup")


def panel_table(fin: Fin, laid: FinLayup, width_mm: float) -> Block:
    """Return the table of materials and panel: what was assumed is marked, a cautious limit in full."""
    layup, panel, cautious = fin.layup, laid.panel, assumed_limits(fin)
    guessed = _not_given(fin) - cautious

    def row(what: str, value: str, *keys: str) -> Row:
        return Row(what=what + (" *" if guessed.intersection(keys) else ""), value=value)

    densities = f"{layup.glass_density_kg_m3:.0f}, {layup.resin_density_kg_m3:.0f} kg/m³"
    rows = [
        row("cloth", f"{ounces(fin)} = {layup.cloth_g_m2:.0f} g/m²", "cloth"),
        row("glass by mass", f"{100.0 * layup.fibre_share:.0f} %", "fibre_share"),
        row("glass, resin", densities, "glass_density", "resin_density"),
        Row(what="a ply cures to", value=f"{panel.laminate.ply_mm:.3f} mm"),
        *_thickness_rows(fin, laid),
        row("margin round the outline", f"{layup.margin_mm:.0f} mm", "margin"),
        Row(what="cloth in all", value=f"{laid.cloth_m2:.2f} m², {laid.cloth_g:.0f} g"),
        Row(what="resin in all", value=f"{laid.resin_g:.0f} g"),
        Row(
            what="most plies at once",
            value=f"{layup.plies_per_session}",
            note=CAUTIOUS if "plies_per_session" in cautious else "",
        ),
        Row(what="most resin in a pot", value=f"{layup.pot_g:.0f} g", note=CAUTIOUS if "pot" in cautious else ""),
    ]
    if guessed:
        rows.append(Row(what="* assumed, common practice", value=""))
    return _table("core and skins" if fin.core else "panel", rows, width_mm)


def ounces(fin: Fin) -> str:
    """Return the weight of a fin's cloth as it is spoken of: ``7.5 oz/yd²``."""
    return f"{round(fin.layup.cloth_g_m2 / float(G_M2_PER_CLOTH_WEIGHT['oz/yd2']), 2):g} oz/yd²"


def _thickness_rows(fin: Fin, laid: FinLayup) -> list[Row]:
    panel = laid.panel
    if fin.core is None:
        where = "half from each face" if fin.foil == "double" else "all from the outer face"
        middle = "edges between two plies" if panel.plies % 2 == 0 else "edges inside the middle ply"
        return [
            Row(what="plies", value=f"{panel.plies}", note=middle if fin.foil == "double" else ""),
            Row(
                what="panel, laid up",
                value=f"{panel.thickness_mm:.2f} mm",
                note=f"{panel.ground_mm:.2f} mm more than the foil: grind {where}",
            ),
        ]
    core = fin.core.thickness_mm
    return [
        Row(what="core", value=both(core), note=f"{fin.core.material}, {fin.core.density_kg_m3:.0f} kg/m³"),
        Row(
            what="core at its thickest, foiled",
            value=f"{fin.thickness_mm - panel.plies * panel.laminate.ply_mm:.2f} mm",
            note="everywhere thinner than the lines by both skins",
        ),
        Row(what="plies on each face", value=f"{panel.plies // 2}"),
    ]


def weight_table(fin: Fin, laid: FinLayup, width_mm: float) -> Block:
    """Return the table of weights."""
    core = [Row(what="core", value=f"{laid.core_g:.0f} g")] if fin.core else []
    rows = [
        Row(what="cloth", value=f"{laid.cloth_g:.0f} g"),
        Row(what="resin", value=f"{laid.resin_g:.0f} g"),
        *core,
        Row(what="panel", value=f"{laid.panel_g:.0f} g"),
        Row(what="sawn and ground off", value=f"{laid.waste_g:.0f} g"),
        Row(what="finished fin" + (", with its tab" if fin.tab else ""), value=f"{laid.finished_g:.0f} g"),
    ]
    return _table("weights", rows, width_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One rung of the ladder: the first and last of the equal sessions it stands for."""

    first: int
    last: int
    session: Session


def rungs(sessions: Sequence[Session]) -> list[Rung]:
    """Return a rung for each session, or, of too many, one for each run of equal ones; the first session first."""
    numbered = list(enumerate(sessions, 1))
    if len(numbered) <= MOST_RUNGS:
        return [Rung(first=i, last=i, session=session) for i, session in numbered]
    found = []
    for _, run in groupby(numbered, key=lambda entry: (entry[1].face, entry[1].plies)):
        members = list(run)
        found.append(Rung(first=members[0][0], last=members[-1][0], session=members[-1][1]))
    return found


def ladder(laid: FinLayup, size_mm: tuple[float, float]) -> Drawing:
    """Return the sessions as a ladder hanging in a rectangle from (0, 0), the first at its foot, each as high as its
    plies.

    On every rung a box to tick, the plies as they lie, the session's number, plies, cloth, resin, and how thick the
    laminate is when it is laid.
    """
    (wide, high), shown = size_mm, rungs(laid.panel.sessions)
    heads = ("session", "plies", "cloth", "resin", "laid so far")
    columns = (32.0, 45.0, 62.0, 79.0, wide)
    room = high - HEAD_MM - HEADS_MM
    counts = np.array([(rung.last - rung.first + 1) * rung.session.plies for rung in shown], dtype=np.float64)
    least = min(LEAST_RUNG_MM, room / len(shown))
    heights = least + (min(room, MOST_RUNG_MM * len(shown)) - least * len(shown)) * counts / counts.sum()
    labels = [text("sessions, the first at the foot", 0.0, high - HEAD_MM + 2.2, CAPS_MM, bold=True)]
    labels += [_right(head, x, high - HEAD_MM - 3.6, QUIET) for head, x in zip(heads, columns, strict=True)]
    y = room - float(heights.sum())
    contours = [_level(VISIBLE, wide, high - HEAD_MM), _level(VISIBLE, wide, y)]
    for rung, height, count in zip(shown, heights.tolist(), counts.tolist(), strict=True):
        middle = y + (height - CAPS_MM) / 2
        contours += [*_tick_box(y + (height - BOX_MM) / 2), *_stack(y, height, int(count))]
        labels += [_right(cell, x, middle) for cell, x in zip(_cells(rung), columns, strict=True)]
        y += height
        contours.append(_level(THIN, wide, y))
    return Drawing(name="ladder", contours=tuple(contours), labels=tuple(labels))


def _stack(y: float, height: float, plies: int) -> list[tuple[Layer, Contour]]:
    """Return the lines between a session's plies, where they can be told apart."""
    if height / plies < LEAST_PLY_MM:
        return []
    levels = y + height * np.arange(1, plies) / plies
    return [(FAINT, Contour.straight([[STACK_MM[0], up], [STACK_MM[1], up]], closed=False)) for up in levels.tolist()]


def _tick_box(y: float) -> list[tuple[Layer, Contour]]:
    corners = [[1.0, y], [1.0 + BOX_MM, y], [1.0 + BOX_MM, y + BOX_MM], [1.0, y + BOX_MM]]
    return [(THIN, Contour.straight(corners, closed=True))]


def _cells(rung: Rung) -> tuple[str, str, str, str, str]:
    session = rung.session
    number = f"{rung.first}" if rung.first == rung.last else f"{rung.first} to {rung.last}"
    each = "" if rung.first == rung.last else " each"
    where = "" if session.face == "panel" else f"{session.face}, "
    return (
        number,
        f"{session.plies}{each}",
        f"{session.cloth_g:.0f} g",
        f"{session.resin_g:.0f} g",
        f"{where}{session.laid_mm:.2f} mm",
    )
