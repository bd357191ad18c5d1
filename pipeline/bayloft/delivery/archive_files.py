"""What is kept of a board for twenty years: its spec, its surface as numbers, tables and drawings, in words that need
no program of ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from bayloft.delivery.archive_readme import readme
from bayloft.drawing.sheets.board_sheet import board_sheet
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.export import dxf, pdf, step, stl, svg
from bayloft.record.archived import MANIFEST, OFFSETS, README, REPORT, SPEC, SURFACE, manifest
from bayloft.record.figures import report_bytes
from bayloft.record.report import report
from bayloft.record.surface_text import surface_text
from bayloft.solid.brep import board_brep
from bayloft.solid.draft import Draft
from bayloft.solid.loft import LoftedBoard
from bayloft.solid.measure import face_heights, rocker, stringer_from_mm, thickness, width

EVERY_MM, SHARES = 50.0, (0.2, 0.4, 0.6, 0.8, 0.9)
"""Stations of the table of offsets, and the shares of the half-width at which heights are told there."""

ENDS_MM = 2.0
"""mm from a closed end within which a section has no heights to be laid off."""


def archive_files(shape: LoftedBoard, spec: str, files: Mapping[str, bytes], version: str) -> dict[str, bytes]:
    """Return the members of a board's archive by their names; spec: the board's own file among `files`, those that it
    was read from, by their paths in one folder.
    """
    draft, board = shape.draft, shape.board
    said = report(shape, None, version)
    exact = shape.exact
    sheet = board_sheet(draft, exact.volume_mm3, exact.area_mm2, shape.findings)
    members = {
        **{f"{SPEC}{name}": data for name, data in files.items()},
        REPORT: report_bytes(said),
        SURFACE: surface_text(shape.body).encode("ascii"),
        OFFSETS: "\n".join([*_offsets(draft), ""]).encode("ascii"),
        "drawing.svg": svg.content(sheet, style="sheet"),
        "drawing.pdf": pdf.content([sheet], title=f"{board.name}: drawing"),
        "half-outline.dxf": dxf.content(half_outline(draft)),
        "board.stl": stl.content(shape.checked.mesh, name=board.name),
        "board.step": step.content(board_brep(shape.body), name=board.name),
        **{f"fins/{fin.fin.slug}.txt": surface_text(fin.body).encode("ascii") for fin in draft.fins},
    }
    members[README] = readme(board.name, f"{SPEC}{spec}", said, exact.volume_mm3).encode("ascii")
    members[MANIFEST] = manifest(members)
    return members


def _offsets(draft: Draft) -> Iterator[str]:
    """Yield the table of offsets: at each station half width, heights at the stringer, and heights of bottom and deck
    at shares of the half width, mm over the flat.
    """
    body, length = draft.body, draft.board.length_mm
    wall = draft.lines.wall
    first = max(stringer_from_mm(body), 0.0 if wall is None else wall.corner_x_mm)
    stations = [x for x in np.arange(EVERY_MM, length, EVERY_MM).tolist() if first + ENDS_MM < x < length - ENDS_MM]
    yield "Offsets in mm: station from the tail end; half width; heights over the flat that the board stands on,"
    yield "of bottom (b) and deck (d) at the stringer and at shares of the half width."
    heads = ["station", "half", "b", "d", *(f"{face} {share:g}" for share in SHARES for face in ("b", "d"))]
    yield " ".join(f"{head:>9}" for head in heads)
    low, thick, wide = rocker(body, stations), thickness(body, stations), width(body, stations)
    columns = [np.array(stations), wide / 2.0, low, low + thick]
    for share in SHARES:
        columns += [face_heights(body, stations, share, deck=deck) for deck in (False, True)]
    for row in np.column_stack(columns).tolist():
        yield " ".join(f"{round(value, 3) + 0.0:>9.3f}" for value in row)
