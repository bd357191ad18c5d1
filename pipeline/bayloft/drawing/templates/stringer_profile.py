"""The stringer template: rocker and foil of a board in the plane of the stringer, less a deck skin, plus allowance."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.drawing.curves.figures import place, station_code
from bayloft.drawing.curves.stringer_curves import stringer_heights, stringer_stations, text_reach_mm
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.marks import line
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, SCRIBE, Drawing, Layer
from bayloft.errors import SpecError
from bayloft.plane.contour import Contour
from bayloft.plane.parting import crossings
from bayloft.solid.draft import Draft
from bayloft.solid.stringer_side import stringer_outline
from bayloft.spec.boards.board import Board
from bayloft.spec.text.naming import slug_of
from bayloft.units import both

TICK_MM = 6.0
CODE_MM = 7.5
"""From the end of a tick to the middle of the station scribed at it."""

CODE_SHARE = 0.2
"""Of the stringer's height, the most that the letters of a station take: the sizes are written over them."""


def stringer_profile(draft: Draft, tag: Tag) -> Part:
    """Return the stringer template at full size: x forward from the tail end, y up from the flat the board stands on.

    CUT: one closed contour, counter-clockwise: bottom and deck at the stringer within ARC_FIT_MM of the surface's, or,
    with allowances, of the curves parallel to them; where a deck skin or an allowance moves them, they are carried on
    straight until they meet. SCRIBE: ticks at the stations, on both edges, and which they are. TEXT: finished rocker
    and thickness there.

    Raises SpecError where the tips leave no room for a deck skin.
    """
    return marked_stringer(draft, template_outline(draft), tag, "stringer", _allowances(draft.board))


def marked_stringer(
    draft: Draft,
    cut: Contour,
    tag: Tag,
    kind: str,
    allowances: tuple[str, ...],
    more: tuple[Sequence[tuple[Layer, Contour]], Sequence[Note]] = ((), ()),
) -> Part:
    """Return a template of the stringer of an outline, as `stringer_profile` does: its kind, what is said of its
    allowances, and further contours and notes on it.
    """
    board, body = draft.board, draft.body
    # Where a skin takes the tip away there is no edge to mark.
    low, _, high, _ = cut.bounds
    stations = [x for x in stringer_stations(draft) if low + TICK_MM < x < high - TICK_MM]
    contours: list[tuple[Layer, Contour]] = [(CUT, cut), *more[0]]
    notes = list(more[1])
    heights, thick = stringer_heights(body, stations)
    for x, low, high in zip(stations, heights, thick, strict=True):
        edges = _edges(cut, x)
        contours += [
            line(SCRIBE, (x, edges[0]), (x, edges[0] + TICK_MM)),
            line(SCRIBE, (x, edges[1] - TICK_MM), (x, edges[1])),
        ]
        texts = (place(board, x), f"{both(high)} thick", f"{both(low)} rocker")
        within = text_reach_mm(stations, x)
        notes.append(Note(texts=texts, near_mm=(x, low + high / 2), within_mm=within, leader_mm=(x, low)))
        code = x, edges[0] + TICK_MM + CODE_MM
        caps = CODE_SHARE * (edges[1] - edges[0])
        notes.append(Note(texts=(station_code(board, x),), near_mm=code, within_mm=within, scribed=True, caps_mm=caps))
    middle = board.length_mm / 2
    notes += [Note(texts=("tail",), near_mm=(0.0, heights[0])), Note(texts=("nose",), near_mm=(2 * middle, 0.0))]
    notes.append(Note(texts=("deck",), near_mm=(middle, 1e3)))
    notes.append(Note(texts=("bottom",), near_mm=(middle, 0.0)))
    notes.append(Note(texts=allowances, near_mm=(0.45 * board.length_mm, 0.0)))
    drawing = Drawing(name=f"{board.slug}-{slug_of(kind)}", contours=tuple(contours))
    near = 0.45 * board.length_mm, 0.0
    part = Part(drawing=drawing, title=kind, number=tag.number, along_grain=True)
    return inscribed(part, tag.head(kind, nose=True), notes, near_mm=near, up=True)


def _edges(cut: Contour, x_mm: float) -> tuple[float, float]:
    """Return the heights of the lower and the upper edge at a station."""
    found = [crossing.y_mm for crossing in crossings(cut, x_mm)]
    return min(found), max(found)


def _allowances(board: Board) -> tuple[str, ...]:
    asked = board.templates
    said = [f"{both(asked.deck_skin_mm)} off the deck edge for a skin"] if asked.deck_skin_mm else []
    said += [f"{asked.sanding_mm:.1f} mm left on all round for sanding"] if asked.sanding_mm else []
    return (*said, "texts: finished sizes") if said else ("as lofted, nothing left on",)


def template_outline(draft: Draft) -> Contour:
    """Return the outline of the stringer template, closed; raises SpecError as `stringer_profile` does."""
    asked = draft.board.templates
    cut = stringer_outline(draft.body, asked.sanding_mm, asked.sanding_mm - asked.deck_skin_mm)
    if cut is None:
        raise _too_much(draft.board)
    return cut


def _too_much(board: Board) -> SpecError:
    """Return the error of a skin or an allowance that leaves nothing of the stringer."""
    asked = board.templates
    key = "deck_skin" if asked.deck_skin_mm else "sanding"
    problem = "more than the board is thick leaves: the stringer's edges would cross"
    typed = both(asked.deck_skin_mm or asked.sanding_mm)
    return SpecError((board.source.fault(("templates", key), typed, problem, hint="a thicker board, or less"),))
