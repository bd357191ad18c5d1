"""What goes to a machine-shaping service: solids in the formats that it reads, a sheet, a manifest, all in one zip."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

import numpy as np

from bayloft.delivery.deliveries import of_cards
from bayloft.drawing.sheets.machine_sheet import MachinedFigures, machine_sheet
from bayloft.export import step, stl, threemf
from bayloft.export.zipped import stored
from bayloft.foam.asking import FittedBoard
from bayloft.record.figures import figures, report_bytes, rounded, summed
from bayloft.record.heading import FILE_NAME, head, shape_digest
from bayloft.record.report import byte_entries
from bayloft.solid.assembly import stood
from bayloft.solid.brep import board_brep, fin_brep
from bayloft.solid.loft import LoftedBoard
from bayloft.solid.mesh import Mesh
from bayloft.solid.offsetting import Allowance, OffsetSolid, with_allowance
from bayloft.spec.boards.board import Board
from bayloft.tape import fine

MACHINE_MM = 0.02
"""mm, chord tolerance of the solids for a machine: finer than foam is cut."""

MANIFEST = "manifest.json"

BOTTOM_UP = np.array([1.0, -1.0, -1.0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Machining:
    """What a package is to hold: the allowance left on, None for none; where the board lies in its blank, if asked."""

    allowance: Allowance | None
    fitted: FittedBoard | None


def machine_files(
    shape: LoftedBoard, asked: Machining, version: str, date: datetime.date | None
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the files of a package by their names, among them the zip that is sent, with all others and a manifest in
    it, and the folder's own report; and what that says.

    Raises OffsetError where the surface does not bear the allowance, ExportError as the formats do.
    """
    board, slug = shape.board, shape.board.slug
    solid, mesh = board_brep(shape.body), shape.checked.mesh
    left = None if asked.allowance is None else with_allowance(shape.body, asked.allowance, MACHINE_MM)
    files = {
        f"{slug}.step": step.content(solid, name=board.name),
        f"{slug}.stl": stl.content(mesh, name=board.name),
        f"{slug}.3mf": threemf.content(_standing(shape), title=board.name),
        **{
            f"{fin.draft.fin.slug}.step": step.content(fin_brep(fin.draft.body), name=fin.draft.fin.name)
            for fin in shape.fins
        },
    }
    if left is not None:
        name = f"{board.name}, with allowance"
        files |= {
            f"{slug}-allowance-deck-up.stl": stl.content(left.mesh, name=f"{name}, deck up"),
            f"{slug}-allowance-bottom-up.stl": stl.content(turned_up(left.mesh), name=f"{name}, bottom up"),
            f"{slug}-allowance.3mf": threemf.content({name: left.mesh}, title=name),
        }
    told = MachinedFigures(
        volume_mm3=shape.exact.volume_mm3,
        allowance=_in_words(asked.allowance, board),
        allowance_mm3=None if left is None else left.mesh.volume_mm3,
        tolerance_mm=max(MACHINE_MM, shape.checked.tolerance_mm),
        gap_mm=solid.gap_mm,
        more=_placed(asked.fitted, board),
    )
    sheet = machine_sheet(shape.draft, told, shape_digest(shape.draft, version), date)
    files |= {each.name: each.content() for each in of_cards(sheet, "sheet", f"{board.name}: for the machine")}
    told_all = _report(shape, asked, left, version, date)
    files[MANIFEST] = report_bytes({**told_all, "files": byte_entries(files)})
    files[f"{slug}-machine.zip"] = stored(files)
    said = {**told_all, "files": byte_entries(files)}
    files[FILE_NAME] = report_bytes(said)
    return files, said


def turned_up(mesh: Mesh) -> Mesh:
    """Return a solid turned about the x axis, its lowest place on z = 0."""
    vertices = mesh.vertices * BOTTOM_UP
    return Mesh(vertices=vertices - [0.0, 0.0, float(vertices[:, 2].min())], triangles=mesh.triangles)


def _standing(shape: LoftedBoard) -> dict[str, Mesh]:
    """Return the board and each fin where it stands, by name."""
    solids = {shape.board.name: shape.checked.mesh}
    if shape.with_fins is not None:
        meshes = {fin.draft.fin.slug: fin.checked.mesh for fin in shape.fins}
        for stand in shape.with_fins.stands:
            for side in stand.sides:
                name = f"fin {stand.number}{f', {side}' if len(stand.sides) > 1 else ''}: {stand.placement.fin.name}"
                solids[name] = stood(meshes[stand.placement.fin.slug], stand, side)
    return solids


def _in_words(allowance: Allowance | None, board: Board) -> str:
    if allowance is None:
        return "nothing: these are the finished sizes"
    deck, bottom, rail = (
        fine(mm, metric=board.metric) for mm in (allowance.deck_mm, allowance.bottom_mm, allowance.rail_mm)
    )
    if allowance.is_even:
        return f"{deck} everywhere, square to the surface, in the files called so"
    return f"{deck} on the deck, {bottom} on the bottom, {rail} on the rails, in the files called so"


def _placed(fitted: FittedBoard | None, board: Board) -> list[tuple[str, str]]:
    """Return where the board lies in its blank, a name and a text each."""
    if fitted is None:
        return []
    fit = fitted.fit
    lie = (
        f"{fit.blank.name}, {fine(fit.blank.shape.length_mm, metric=board.metric)} of {fit.blank.foam.kind}"
        f"{', re-glued' if fit.block.regluing else ''}: the board's tail end "
        f"{fine(abs(fit.tail_gap_mm), metric=board.metric)} {'ahead of' if fit.tail_gap_mm >= 0.0 else 'BEHIND'} the "
        f"block's, turned {abs(np.degrees(fit.nose_up_rad)):.2f}° nose {'up' if fit.nose_up_rad >= 0.0 else 'down'}"
    )
    return [("blank", lie)]


def _report(
    shape: LoftedBoard,
    asked: Machining,
    left: OffsetSolid | None,
    version: str,
    date: datetime.date | None,
) -> dict[str, Any]:
    fit = None if asked.fitted is None else asked.fitted.fit
    return {
        "format": 1,
        **head(shape, version, date),
        "unit": "mm",
        "axes": {"x": "tail end to nose", "y": "stringer to port", "z": "up", "origin": "tail end, on the flat plane"},
        "volume_mm3": summed(shape.exact.volume_mm3),
        "chord_tolerance_mm": shape.checked.tolerance_mm,
        "allowance": None
        if left is None
        else {
            "deck_mm": rounded(left.allowance.deck_mm),
            "bottom_mm": rounded(left.allowance.bottom_mm),
            "rail_mm": rounded(left.allowance.rail_mm),
            "volume_mm3": summed(left.mesh.volume_mm3),
            "chord_tolerance_mm": MACHINE_MM,
            "short_of_it_at_most_mm": figures(left.short_mm),
            "facets_turned": left.folded,
            "triangles": len(left.mesh.triangles),
        },
        "blank": None
        if fit is None
        else {
            "name": fit.blank.name,
            "tail_end_ahead_of_its_own_mm": rounded(fit.tail_gap_mm),
            "nose_up_deg": figures(float(np.degrees(fit.nose_up_rad))),
            "least_cover_mm": rounded(fit.sure_mm),
        },
    }
