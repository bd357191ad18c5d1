"""The loft stage: from a trusted spec to bodies, integrals and meshes, with every check made on the way."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.findings import CheckError, Finding, judged
from bayloft.lines.audit import audit
from bayloft.lines.blending import origin_finding
from bayloft.lines.board import BoardLines
from bayloft.solid.aiming import aim_finding
from bayloft.solid.assembly import Assembly, assembled
from bayloft.solid.body import Body
from bayloft.solid.checks import CheckedMesh, checked_assembly, checked_mesh
from bayloft.solid.dimensions import Dimension, dimensions, number_findings, reading_findings
from bayloft.solid.draft import Draft, FinDraft, drafted
from bayloft.solid.drops import drop_findings
from bayloft.solid.hollows import hollow_findings
from bayloft.solid.integrals import Integrals, integrals
from bayloft.solid.looks import looks
from bayloft.solid.measure import area_curve, simpsons
from bayloft.solid.meshing import MOST_PLACES, MeshingError
from bayloft.solid.plugs import plug_findings, pockets
from bayloft.solid.standing import Cut, base_foil, standing
from bayloft.spec.boards.board import Board
from bayloft.tolerances import AREA_CURVE_RELATIVE, AREA_CURVE_STEPS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoftedFin:
    """A fin lofted: its draft, integrals and checked mesh."""

    draft: FinDraft
    exact: Integrals
    checked: CheckedMesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoftedBoard:
    """A board lofted: its draft, integrals and checked mesh; its fins, each once; board and fins where they stand (None
    without fins); the section-area curve (stations in mm, areas in mm2); all findings.
    """

    draft: Draft
    exact: Integrals
    checked: CheckedMesh
    dimensions: tuple[Dimension, ...]
    area_stations_mm: tuple[float, ...]
    section_areas_mm2: tuple[float, ...]
    fins: tuple[LoftedFin, ...]
    with_fins: Assembly | None
    findings: tuple[Finding, ...]

    @property
    def board(self) -> Board:
        """The numbers."""
        return self.draft.board

    @property
    def lines(self) -> BoardLines:
        """The lines."""
        return self.draft.lines

    @property
    def body(self) -> Body:
        """The body."""
        return self.draft.body

    @property
    def cut_fins(self) -> tuple[tuple[FinDraft, Cut], ...]:
        """Every fin as a place of its own, or several alike, cut it, in the order of `with_fins.cut_fins`."""
        if self.with_fins is None:
            return ()
        by_slug = {fin.fin.slug: fin for fin in self.draft.fins}
        return tuple((by_slug[cut.stands[0].placement.fin.slug], cut) for cut, _ in self.with_fins.cut_fins)

    @property
    def failures(self) -> tuple[Finding, ...]:
        """The findings with which nothing may be written."""
        return tuple(finding for finding in self.findings if not finding.passed)


def lofted_fin(fin: FinDraft, tolerance_mm: float) -> LoftedFin:
    """Return a fin lofted and checked, within a chord tolerance in mm."""
    exact = integrals(fin.body)
    return LoftedFin(draft=fin, exact=exact, checked=checked_mesh(fin.body, exact, tolerance_mm, fin.fin.name))


def _area_curve(board: Board, body: Body, exact: Integrals) -> tuple[tuple[float, ...], tuple[float, ...], Finding]:
    x, areas = area_curve(body, board.length_mm, AREA_CURVE_STEPS)
    short = abs(simpsons(x, areas) / exact.volume_mm3 - 1.0)
    text = "volume from the section-area curve by Simpson's rule against the integral"
    good = short <= AREA_CURVE_RELATIVE
    finding = judged("area-curve", board.name, short, AREA_CURVE_RELATIVE, "relative", text, good=good)
    return tuple(map(float, x)), tuple(map(float, areas)), finding


def lofted(board: Board, tolerance_mm: float) -> LoftedBoard:
    """Return a board and its fins lofted and checked; `tolerance_mm` is the chord tolerance of the board's mesh.

    Raises
    ------
    SpecError, CheckError
        Where the numbers make no fair lines, or a shape that no mesh follows.
    """
    return loft(drafted(board), tolerance_mm)


def loft(draft: Draft, tolerance_mm: float) -> LoftedBoard:
    """Return a draft lofted and checked, as `lofted` does a board.

    Raises
    ------
    CheckError
        For a shape that no mesh follows.
    """
    board, lines, body = draft.board, draft.lines, draft.body
    exact = integrals(body)
    try:
        checked = checked_mesh(body, exact, tolerance_mm, board.name)
    except MeshingError:
        text = "no mesh follows this shape: somewhere it changes too quickly"
        failed = judged("mesh-grid", board.name, MOST_PLACES, MOST_PLACES, "places", text, good=False)
        raise CheckError(
            board.name, (failed,), "numbers of rails, deck and bottom that change over a longer way"
        ) from None
    measured = dimensions(board, lines, body)
    stations, areas, area_finding = _area_curve(board, body, exact)
    fins = tuple(lofted_fin(fin, tolerance_mm) for fin in draft.fins)
    findings = [*audit(lines), *looks(lines, body), *drop_findings(board, lines, body), *hollow_findings(board, body)]
    findings += plug_findings(board, pockets(board, body))
    findings += [*origin_finding(board), *aim_finding(board, exact.volume_mm3)]
    findings += [*number_findings(measured), *reading_findings(measured, lines), area_finding, *checked.findings]
    for fin in fins:
        findings += fin.checked.findings
    with_fins = None
    if fins:
        stands = standing(board.fins, {fin.fin.slug: base_foil(fin.body) for fin in draft.fins}, body)
        with_fins = assembled(checked.solid, stands, {fin.draft.fin.slug: fin.checked.mesh for fin in fins})
        findings += checked_assembly(with_fins, checked.volume_mm3, board.name)
    return LoftedBoard(
        draft=draft,
        exact=exact,
        checked=checked,
        dimensions=measured,
        area_stations_mm=stations,
        section_areas_mm2=areas,
        fins=fins,
        with_fins=with_fins,
        findings=tuple(findings),
    )
