"""What goes to a machine-shaping service: solids in the formats that it reads, a sheet, a manifest, all in one zip."""

from __future__ import annotations

import dataclasses
import datetime
from dataclasses import dataclass
from typing import Any

import numpy as np

from bayloft import arithmetic
from bayloft.delivery.deliveries import of_cards
from bayloft.drawing.sheets.machine_sheet import MachinedFigures, machine_sheet
from bayloft.drawing.templates.hot_wire import hot_wire_paths
from bayloft.errors import spelled
from bayloft.export import dxf, step, stl, threemf
from bayloft.export.zipped import stored
from bayloft.foam.asking import FittedBoard
from bayloft.foam.fitting import Fit
from bayloft.record.figures import figures, report_bytes, rounded, summed
from bayloft.record.heading import FILE_NAME, head, shape_digest
from bayloft.record.report import byte_entries
from bayloft.solid.assembly import stood
from bayloft.solid.brep import board_brep, fin_brep
from bayloft.solid.holding import Held, Holding, held, with_tabs
from bayloft.solid.insetting import under_laminate
from bayloft.solid.loft import LoftedBoard
from bayloft.solid.mesh import Mesh, single_precision
from bayloft.solid.meshing import grid_for, meshed
from bayloft.solid.offsetting import Allowance, OffsetSolid, with_allowance
from bayloft.solid.plugs import Pocket, pockets, with_pockets
from bayloft.spec.boards.board import Board
from bayloft.tape import fine
from bayloft.tolerances import CUT_FIN_DECIMALS

MACHINE_MM = 0.02
"""mm, chord tolerance of the solids for a machine: finer than foam is cut."""

BLOCK_MM = 0.2
"""mm, chord tolerance of the blank's solid: finer than a tape reads."""

MANIFEST = "manifest.json"

BOTTOM_UP = np.array([1.0, -1.0, -1.0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Machining:
    """What the solid to cut is to be: the allowance left on, None for none; how thick the laminate is within which the
    foam lies, 0 where the board's sizes are those of its foam; whether the pockets of plugs are cut; how the board is
    held, None where it is not.
    """

    allowance: Allowance | None = None
    laminate_mm: float = 0.0
    pockets: bool = False
    holding: Holding | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToCut:
    """The solid that a machine is to cut, None where that is the finished board; the board with its allowance in it;
    the pockets cut into it; how it is held.
    """

    mesh: Mesh | None
    left: OffsetSolid | None
    pockets: tuple[Pocket, ...]
    held: Held | None


def machine_files(
    shape: LoftedBoard, asked: Machining, fitted: FittedBoard | None, version: str, date: datetime.date | None
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the files of a package by their names, among them the zip that is sent, with all others and a manifest in
    it, and the folder's own report; and what that says. fitted: where the board lies in its blank, if that is told.

    Raises OffsetError where the surface does not bear the allowance, ExportError as the formats do.
    """
    board, slug = shape.board, shape.board.slug
    solid, mesh, cut = board_brep(shape.body), shape.checked.mesh, _to_cut(shape, asked)
    files = {
        f"{slug}.step": step.content(solid, name=board.name),
        f"{slug}.stl": stl.content(mesh, name=board.name),
        f"{slug}.3mf": threemf.content(_standing(shape), title=board.name),
        **{
            f"{fin.draft.fin.slug}.step": step.content(fin_brep(fin.draft.body), name=fin.draft.fin.name)
            for fin in shape.fins
        },
    }
    if cut.mesh is not None:
        name = f"{board.name}, to cut"
        files |= {
            f"{slug}-to-cut-deck-up.stl": stl.content(cut.mesh, name=f"{name}, deck up"),
            f"{slug}-to-cut-bottom-up.stl": stl.content(turned_up(cut.mesh), name=f"{name}, bottom up"),
            f"{slug}-to-cut.3mf": threemf.content({name: cut.mesh}, title=name),
        }
    if fitted is not None:
        fit = fitted.fit
        solids = {board.name: cut.mesh or mesh, f"blank: {fit.blank.name}": block_about(fit)}
        files[f"{slug}-in-blank.3mf"] = threemf.content(solids, title=f"{board.name} in its blank")
    if board.hot_wire is not None:
        for path, drawing in hot_wire_paths(shape.draft, board.hot_wire, date).items():
            files[f"{slug}-hot-wire-{path}.dxf"] = dxf.content(drawing)
    told = MachinedFigures(
        volume_mm3=shape.exact.volume_mm3,
        allowance=_in_words(asked),
        cut_mm3=None if cut.mesh is None else cut.mesh.volume_mm3,
        tolerance_mm=max(MACHINE_MM, shape.checked.tolerance_mm),
        gap_mm=solid.gap_mm,
        held=cut.held,
        more=[*_wired(board), *_holding(cut), *_placed(fitted, board)],
    )
    sheet = machine_sheet(shape.draft, told, shape_digest(shape.draft, version), date)
    files |= {each.name: each.content() for each in of_cards(sheet, "sheet", f"{board.name}: for the machine")}
    told_all = _report(shape, asked, fitted, cut, version, date)
    files[MANIFEST] = report_bytes({**told_all, "files": byte_entries(files)})
    files[f"{slug}-machine.zip"] = stored(files)
    said = {**told_all, "files": byte_entries(files)}
    files[FILE_NAME] = report_bytes(said)
    return files, said


def _to_cut(shape: LoftedBoard, asked: Machining) -> ToCut:
    """Return the solid to cut: the finished board, and what is asked for over it, in it and beside it."""
    left = None if asked.allowance is None else with_allowance(shape.body, asked.allowance, MACHINE_MM)
    mesh = None if left is None else left.mesh
    if asked.laminate_mm:
        mesh = under_laminate(shape.body, asked.laminate_mm, MACHINE_MM)
    sunk = pockets(shape.board, shape.body) if asked.pockets else ()
    if sunk:
        over = (asked.allowance.deck_mm, asked.allowance.bottom_mm) if asked.allowance else (-asked.laminate_mm,) * 2
        mesh = with_pockets(mesh or shape.checked.mesh, sunk, over)
    how = None if asked.holding is None else held(shape.body, shape.board.length_mm, asked.holding)
    if how is not None:
        mesh = with_tabs(mesh or shape.checked.mesh, how)
    return ToCut(mesh=mesh, left=left, pockets=sunk, held=how)


def block_about(fit: Fit) -> Mesh:
    """Return the block of a fit as a solid in the board's own axes, within BLOCK_MM of its chords."""
    block = fit.block.body
    mesh = meshed(block, grid_for(block, BLOCK_MM))
    moved = arithmetic.rounded(fit.placing.taken_back(mesh.vertices, fit.middle_mm), CUT_FIN_DECIMALS)
    return single_precision(Mesh(vertices=moved, triangles=mesh.triangles))


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


def _in_words(asked: Machining) -> str:
    """Return what is left on, or taken off: in mm, as the shop that reads it works."""
    allowance = asked.allowance
    if asked.laminate_mm:
        return f"nothing: {asked.laminate_mm:.4g} mm of laminate is taken off, in the files to cut"
    if allowance is None:
        return "nothing: these are the finished sizes"
    if allowance.is_even:
        return f"{allowance.deck_mm:.4g} mm everywhere, square to the surface, in the files to cut"
    leaning = np.array([[0.0, 1.0, 1.0], [0.0, 1.0, -1.0]]) / np.sqrt(2.0)
    over, under = allowance.square_mm(leaning).tolist()
    return (
        f"{allowance.deck_mm:.4g} mm on the deck, {allowance.bottom_mm:.4g} mm on the bottom, {allowance.rail_mm:.4g} "
        f"mm on the rails; square to a face that leans by 45°, {over:.2f} mm above, {under:.2f} mm below; in the files "
        "to cut"
    )


def _wired(board: Board) -> list[tuple[str, str]]:
    """Return what a hot wire is told, where there is one."""
    wire = board.hot_wire
    if wire is None:
        return []
    said = f"its middle {wire.off_mm:.4g} mm outside the board: {wire.left_on_mm:.4g} left on, half a kerf"
    return [("hot wire", f"{said} of {wire.kerf_mm:.4g} mm")]


def _holding(cut: ToCut) -> list[tuple[str, str]]:
    """Return what is in the files to cut besides the board, a name and a text each."""
    found = []
    if cut.pockets:
        names = ", ".join(dict.fromkeys(pocket.plug.name for pocket in cut.pockets))
        found.append(("pockets", f"cut in the files to cut: {names}"))
    if cut.held is not None:
        how = cut.held.holding
        tab = f"{how.tab_width_mm:.4g} mm wide, {how.tab_height_mm:.4g} mm high"
        tail, nose = (f"x = {x:.1f} mm" for x in cut.held.dowels_mm)
        holes = f"upright {how.dowel_mm:.4g} mm holes on y = 0, {tail}, {nose}"
        found.append(("held by", f"tabs {tab}; {holes}"))
    return found


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
    fitted: FittedBoard | None,
    cut: ToCut,
    version: str,
    date: datetime.date | None,
) -> dict[str, Any]:
    fit = None if fitted is None else fitted.fit
    left, how = cut.left, cut.held
    return {
        "format": 1,
        **head(shape, version, date),
        "unit": "mm",
        "axes": {"x": "tail end to nose", "y": "stringer to port", "z": "up", "origin": "tail end, on the flat plane"},
        "datums": {
            "flat_plane": "z = 0",
            "stringer": "y = 0",
            "tail_end": "x = 0",
            "centre_mm": rounded(shape.board.length_mm / 2.0),
            "nose_tip_mm": rounded(shape.board.length_mm),
            "dowel_holes": None
            if how is None
            else {"diameter_mm": rounded(how.holding.dowel_mm), "at_mm": [[rounded(x), 0.0] for x in how.dowels_mm]},
        },
        "volume_mm3": summed(shape.exact.volume_mm3),
        "laminate_mm": rounded(asked.laminate_mm),
        "to_cut_mm3": None if cut.mesh is None else summed(cut.mesh.volume_mm3),
        "pockets": [
            {"plug": pocket.plug.name, "key": spelled(pocket.plug.path), "each_takes_mm3": summed(pocket.volume_mm3)}
            for pocket in cut.pockets
        ],
        "tabs_mm": []
        if how is None
        else [{key: rounded(value) for key, value in dataclasses.asdict(tab).items()} for tab in how.tabs],
        "hot_wire_off_mm": None if shape.board.hot_wire is None else rounded(shape.board.hot_wire.off_mm),
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
