"""The template of a new stringer, with what is left on it; and how it lies on its plank, at full size."""

from __future__ import annotations

import numpy as np

from bayloft.drawing.inscription import Note, Tag, lettered
from bayloft.drawing.labels import Block
from bayloft.drawing.marks import check_line, line
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, MARK, SCRIBE, STOCK, Drawing, Layer
from bayloft.drawing.templates.stringer_profile import marked_stringer
from bayloft.foam.planks import core_of, plank_outline
from bayloft.foam.stringers import CutStringer, StringerPiece, profile_of
from bayloft.plane.contour import Contour
from bayloft.plane.parting import crossings_at
from bayloft.solid.draft import Draft
from bayloft.spec.planks.plank import Plank
from bayloft.units import both

LEVEL_MM = 10.0
"""Heights of the level line over the flat are whole multiples of this."""

LEVEL_PLACES = 400
LEVEL_STROKE_MM = 60.0
"""Length of the two strokes that a straightedge joins to the level line; a long one would cross joints."""

POINT_TICK_MM = 14.0
"""Length of the ticks of low point and wide point."""

CAPS_MM = 5.0
RING_SWEEP = 48


def new_stringers(draft: Draft, tag: Tag) -> list[Part]:
    """Return the template of a board's new stringer, if it asks for one: the outline with its allowance, marked as the
    stringer's template is; and on SCRIBE the low and the wide point, and two strokes in a line level with the flat, by
    which it is set up between the halves.
    """
    board, lines, asked = draft.board, draft.lines, draft.board.stringer
    if asked is None:
        return []
    profile = profile_of(draft.body, asked.allowance_mm)
    contours: list[tuple[Layer, Contour]] = []
    notes: list[Note] = []
    for x, name in ((lines.lowest_x_mm, "low point"), (board.wide_point.x_mm, "wide point")):
        low, high = _edges(profile, x)
        contours += [
            line(SCRIBE, (x, low), (x, low + POINT_TICK_MM)),
            line(SCRIBE, (x, high - POINT_TICK_MM), (x, high)),
        ]
        notes.append(Note(texts=(name,), near_mm=(x, high - POINT_TICK_MM), scribed=True))
    level, first, last = _level(profile, lines.lowest_x_mm)
    for start, stop in ((first, first + LEVEL_STROKE_MM), (last - LEVEL_STROKE_MM, last)):
        contours.append(line(SCRIBE, (start, level), (stop, level)))
    said = f"level, {both(level)} over the flat"
    notes.append(Note(texts=(said,), near_mm=(first + (last - first) / 4.0, level + 4.0)))
    left = f"cut here: {both(asked.allowance_mm)} left on all round"
    said_all = left, "texts: finished sizes"
    return [marked_stringer(draft, profile, tag, "new stringer", said_all, (contours, notes))]


def plank_layout(draft: Draft, cut: CutStringer, tag: Tag) -> Drawing | None:
    """Return the plank at full size with what is cut from it, on the face that its knots were measured on: x along it
    from the end that the tape begins at, its near edge below. None where there is no plank, or nothing comes out of it.

    CUT: each piece; MARK: where its scarfs begin and end; STOCK: the plank and its knots.
    """
    plank, board = cut.plank, draft.board
    lying = [piece for piece in cut.pieces if piece.lie is not None]
    if plank is None or not lying:
        return None
    contours: list[tuple[Layer, Contour]] = [(STOCK, Contour.straight(plank_outline(plank), closed=True))]
    contours += [(STOCK, ring) for ring in knot_rings(plank)]
    labels = []
    for number, piece in enumerate(lying, 1):
        contours.append((CUT, laid(piece)))
        contours += [(MARK, stroke) for stroke in scarf_lines(cut, piece)]
        texts = [f"{number}", *(["template turned over"] if piece.lie and piece.lie.turned_over else [])]
        for words, share in ((" ".join(texts), 0.5), *zip(("to the tail", "to the nose"), (0.06, 0.94), strict=True)):
            x, y = middle_at(piece, share)
            size = Block(texts=(words,), caps_mm=CAPS_MM).size_mm
            labels += Block(texts=(words,), caps_mm=CAPS_MM).labels(x - size[0] / 2.0, y - size[1] / 2.0)
    drawing = Drawing(name=f"{board.slug}-plank-layout", contours=tuple(contours), labels=tuple(labels))
    name = f"{plank.name}: {both(plank.length_mm)} x {both(plank.width_mm)}, knots up, near edge below"
    foot = Block(texts=(name,), caps_mm=CAPS_MM)
    drawing = drawing.joined(check_line(0.0, -14.0), Drawing(name="plank", labels=tuple(foot.labels(120.0, -16.0))))
    return lettered(drawing, tag.head("plank layout"), (plank.length_mm / 2.0, plank.width_mm / 2.0))


def laid(piece: StringerPiece) -> Contour:
    """Return a piece's outline as it lies on its plank, counter-clockwise."""
    assert piece.lie is not None
    contour = piece.lie.laid(piece.profile)
    return contour if contour.area_mm2 > 0.0 else contour.reversed()


def knot_rings(plank: Plank) -> list[Contour]:
    """Return the knots and splits of a plank, closed."""
    rings = []
    for knot in plank.knots:
        core, radius = core_of(knot, plank)
        points = np.asarray(core.buffer(radius, quad_segs=RING_SWEEP // 4).exterior.coords)[:-1]
        rings.append(Contour.straight(points[::-1], closed=True))
    return rings


def scarf_lines(cut: CutStringer, piece: StringerPiece) -> list[Contour]:
    """Return where the scarfs of a piece begin, across it, as it lies on its plank; its own end is where they end."""
    assert piece.lie is not None
    low, _, high, _ = cut.profile.bounds
    bevel = cut.stringer.bevel_mm
    inner = [piece.from_mm + bevel] if piece.from_mm > low else []
    inner += [piece.to_mm - bevel] if piece.to_mm < high else []
    return [piece.lie.laid(Contour.straight([(x, y) for y in _edges(piece.profile, x)], closed=False)) for x in inner]


def middle_at(piece: StringerPiece, share: float) -> tuple[float, float]:
    """Return the middle of a piece as it lies on its plank, at a share of its own length."""
    assert piece.lie is not None
    x = piece.from_mm + share * (piece.to_mm - piece.from_mm)
    at = piece.lie.placed(np.array([[x, sum(_edges(piece.profile, x)) / 2.0]]))[0]
    return float(at[0]), float(at[1])


def _edges(profile: Contour, x_mm: float) -> tuple[float, float]:
    found = [crossing.y_mm for crossing in crossings_at(profile, [x_mm])[0]]
    return min(found), max(found)


def _level(profile: Contour, lowest_x_mm: float) -> tuple[float, float, float]:
    """Return the height of a level line through the middle of the stringer at its low point, a round one, and from
    where to where along the board it lies on the stringer, a tick's length inside of its edges.
    """
    low, high = _edges(profile, lowest_x_mm)
    height = round((low + high) / 2.0 / LEVEL_MM) * LEVEL_MM
    first, _, last, _ = profile.bounds
    x = np.linspace(first, last, LEVEL_PLACES + 2)[1:-1]
    edges = np.array([_edges(profile, each) for each in x.tolist()])
    inside = (edges[:, 0] + POINT_TICK_MM / 2.0 <= height) & (height <= edges[:, 1] - POINT_TICK_MM / 2.0)
    own = int(np.argmin(np.abs(x - lowest_x_mm)))
    outside = np.flatnonzero(~inside)
    start = int(np.max(outside[outside < own], initial=-1)) + 1
    stop = int(np.min(outside[outside > own], initial=len(x))) - 1
    return height, float(x[start]), float(x[stop])
