"""The stringer's card: how it comes out of its plank, what is ripped, glued and clamped, and its sizes by station."""

from __future__ import annotations

import math
from datetime import date

import numpy as np

from bayloft.drawing.curves.stringer_curves import stringer_heights, stringer_stations
from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    EDGE_LINE,
    FIGURE_MM,
    FINE_LINE,
    GREY,
    LABEL_MM,
    LOW_MM,
    SECOND_LINE,
    WORDS_MM,
    CardHeading,
    Line,
    cards,
    lines,
    station,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, most_rows, table
from bayloft.drawing.stacked import figure
from bayloft.drawing.templates.new_stringer import knot_rings, laid, middle_at, scarf_lines
from bayloft.foam.planks import plank_outline
from bayloft.foam.ripping import rip
from bayloft.foam.stringers import CutStringer, StringerPiece
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.spec.blanks.blank import OldStringer
from bayloft.spec.boards.board import Board
from bayloft.units import feet_inches, inches

CAUTION = (
    "Saw: guard, eyes, dust mask. Clamps hold before the glue grabs; its sheet comes first. "
    "Every joint must squeeze out along its whole length: air left in it blows through the glass."
)
UP = 2.0
"""Heights of the picture are drawn so many times as large as its lengths."""

PICTURE_MM = 46.0
"""Room for the plank on the card, as high as that."""

FINE_MM = 0.2
UNKNOWN = OldStringer(thickness_mm=0.0, wood=None)
"""An old stringer of which nothing is said."""
FACT_ROW_MM = 15.0
FT2_MM2 = 304.8**2
COLUMNS = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="height\nto cut"),
    CardColumn(head="height\nfinished"),
    CardColumn(head="bottom up\nfinished"),
    CardColumn(head="as made", kind="box"),
    CardColumn(head="done", kind="tick"),
)


def stringer_cards(
    draft: Draft, cut: CutStringer, old: OldStringer | None, digest: str, day: date | None = None
) -> list[Drawing]:
    """Return the pages of a new stringer's card, lying: how it lies on its plank, and what is ripped, glued and
    clamped; then its heights by station, tail end first. old: the stringer that is in the block, None where no block
    is named, or it has none.
    """
    board, stringer = draft.board, cut.stringer
    unit = "All in mm" if board.metric else "Inches; + is 1/32 more"
    heading = CardHeading(
        board=board.name,
        card="stringer",
        said=f"{stringer.wood}, {_size(stringer.thickness_mm, board)}{_of_strips(cut, board)}",
        caution=CAUTION,
        basis=f"Half widths are told from the stringer's middle. {unit}.",
        day=day,
        digest=digest,
        lying=True,
    )
    rows = _rows(draft, cut)
    most = most_rows(COLUMNS, heading, top_mm(heading) - LOW_MM)
    pages = [[_plank_page(draft, cut, old, heading)]]
    count = -(-len(rows) // most)
    parts = [rows[len(rows) * n // count : len(rows) * (n + 1) // count] for n in range(count)]
    pages += [[table(COLUMNS, part, heading).moved(0.0, top_mm(heading))] for part in parts]
    return cards(heading, pages)


def _rows(draft: Draft, cut: CutStringer) -> list[CardRow]:
    board, stations = draft.board, stringer_stations(draft)
    low, thick = stringer_heights(draft.body, stations)
    rows = []
    for x, rocker, own in zip(stations, low, thick, strict=True):
        sizes = (cut.height_mm(x), own, rocker)
        rows.append(
            CardRow(
                cells=(
                    station(x, metric=board.metric),
                    *(figure(size, metric=board.metric) for size in sizes),
                    "",
                    "",
                )
            )
        )
    return rows


def _plank_page(draft: Draft, cut: CutStringer, old: OldStringer | None, heading: CardHeading) -> Drawing:
    board, width, top = draft.board, width_mm(heading), top_mm(heading)
    said, why = verdict(cut, board)
    y = top - 11.0
    labels = [text(said, 0.0, y, _fitting(said, width), bold=True)]
    y -= 3.0
    contours: list[Line] = []
    if why:
        below = lines(why, 0.0, y - WORDS_MM, width, WORDS_MM)
        labels += below
        y = below[-1].y_mm - 2.0
    if cut.plank is not None and any(piece.lie for piece in cut.pieces):
        picture, high = _picture(cut, width)
        y -= high + 2.0
        contours += [(layer, contour.moved(0.0, y)) for layer, contour in picture.contours]
        labels += picture.moved(0.0, y).labels
        y -= 2.0 + LABEL_MM
        note = f"heights drawn twice as large as lengths; face with the knots up, near edge below; {cut.plank.name}"
        labels.append(text(note, 0.0, y, LABEL_MM, GREY))
    y -= 5.0
    facts = _facts(cut, board)
    step = width / 5.0
    for i, (name, value) in enumerate(facts):
        x, row = step * (i % 5), i // 5
        at = y - FACT_ROW_MM * row
        labels.append(text(name, x, at - LABEL_MM, LABEL_MM, GREY))
        labels.append(text(value, x, at - LABEL_MM - 8.5, _fitting(value, step - 2.0), bold=True))
    y -= FACT_ROW_MM * -(-len(facts) // 5) + 1.0
    for sentence in _sentences(cut, board, old):
        own = lines(sentence, 0.0, y - WORDS_MM, width, WORDS_MM)
        labels += own
        y = own[-1].y_mm - 0.45 * WORDS_MM
    return Drawing(name="stringer", contours=tuple(contours), labels=tuple(labels))


def _fitting(words: str, room_mm: float) -> float:
    """Return the height of a bold text that is to fit a room, FIGURE_MM at most."""
    return min(FIGURE_MM, FIGURE_MM * room_mm / text_width_mm(words, FIGURE_MM, bold=True))


def verdict(cut: CutStringer, board: Board) -> tuple[str, str]:
    """Return in a sentence whether the stringer comes out of its plank; and what is short, or nothing."""
    plank, pieces = cut.plank, cut.pieces
    if plank is None:
        return f"Needs a plank of {_plank_size(cut, board)}, turned {abs(cut.least.angle_deg):.2g}°.", ""
    if cut.comes_out:
        lie = pieces[0].lie
        assert lie is not None
        if len(pieces) == 1:
            return f"Comes out of {plank.name}, turned {abs(lie.angle_deg):g}°.", ""
        return f"Comes out of {plank.name} in {len(pieces)} pieces.", ""
    if cut.sawn == 0:
        thick, own = _size(plank.thickness_mm, board), _size(cut.stringer.strip_mm, board)
        count = max(math.ceil(cut.stringer.thickness_mm / plank.thickness_mm), cut.stringer.strips + 1)
        why = f"It is {thick} thick, a strip {own}. In [stringer], strips = {count} would do."
        return f"Does not come out of {plank.name}.", why
    missing = [piece for piece in pieces if piece.lie is None]
    wanted = "; ".join(_short(piece, cut, board) for piece in missing)
    if len(missing) == len(pieces):
        return f"Does not come out of {plank.name}.", wanted
    return f"{len(pieces) - len(missing)} of {len(pieces)} pieces come out of {plank.name}.", wanted


def _short(piece: StringerPiece, cut: CutStringer, board: Board) -> str:
    """Return what a plank lacks for a piece, and what plank would do."""
    plank = cut.plank
    assert plank is not None
    wide = max(plank.width_mm, plank.width_other_mm)
    lacks = "knots, crook or other pieces are in the way"
    if piece.least.width_mm > wide:
        lacks = "the plank is too narrow"
    elif piece.least.length_mm > plank.length_mm:
        lacks = "the plank is too short"
    size = f"{_up(piece.least.width_mm, board)} × {_up(piece.least.length_mm, board)}"
    ends = f"{station(max(piece.from_mm, 0.0), metric=board.metric)} to {station(piece.to_mm, metric=board.metric)}"
    return f"from {ends}: {lacks}; sound wood of {size} would do"


def _picture(cut: CutStringer, width: float) -> tuple[Drawing, float]:
    """Return the plank with what lies on it, as wide as the card, its foot at y = 0, and how high it is."""
    plank = cut.plank
    assert plank is not None
    outline = plank_outline(plank)
    scale = max(plank.length_mm / width, float(np.ptp(outline[:, 1])) * UP / PICTURE_MM)

    def shown(contour: Contour) -> Contour:
        points = contour.flattened(FINE_MM) if contour.closed else contour.points
        return Contour.straight(points * np.array([1.0, UP]) / scale, closed=contour.closed)

    contours: list[Line] = [(EDGE_LINE, Contour.straight(outline * np.array([1.0, UP]) / scale, closed=True))]
    for ring in knot_rings(plank):
        middle = ring.points.mean(axis=0)
        inner = Contour.straight(middle + (ring.points - middle) / 2.0, closed=True)
        contours += [(EDGE_LINE, shown(ring)), (FINE_LINE, shown(inner))]
    labels: list[Label] = []
    lying = [piece for piece in cut.pieces if piece.lie]
    for number, piece in enumerate(lying, 1):
        contours.append((BOARD_LINE, shown(laid(piece))))
        contours += [(SECOND_LINE, shown(stroke)) for stroke in scarf_lines(cut, piece)]
        for words, share in ((f"{number}" if len(lying) > 1 else "", 0.5), ("tail", 0.12), ("nose", 0.86)):
            x, y = middle_at(piece, share)
            wide = text_width_mm(words, LABEL_MM)
            toward = (words != "tail" or piece.from_mm < 1.0 + cut.profile.bounds[0]) and (
                words != "nose" or piece.to_mm > cut.profile.bounds[2] - 1.0
            )
            if words and toward:
                labels.append(text(words, x / scale - wide / 2.0, UP * y / scale - LABEL_MM / 2.0, LABEL_MM))
    high = float(outline[:, 1].max()) * UP / scale
    return Drawing(name="plank", contours=tuple(contours), labels=tuple(labels)), high


def _facts(cut: CutStringer, board: Board) -> list[tuple[str, str]]:
    """Return what is to be known in figures: a name and a value each."""
    stringer, facts = (
        cut.stringer,
        [
            ("plank, width at least", _up(cut.least.width_mm, board)),
            ("length at least", _up(cut.least.length_mm, board)),
        ],
    )
    facts.append(("left on each edge", _size(stringer.allowance_mm, board)))
    if len(cut.pieces) > cut.outlines:
        facts.append((f"scarf, 1:{stringer.scarf:g}", _size(stringer.bevel_mm, board)))
    count, apart = cut.clamps
    facts.append(("clamps, evenly", f"{count}"))
    facts.append(("from clamp to clamp", f"{apart:.0f} mm" if board.metric else inches(apart, 8)))
    facts.append(("glue line", _size(stringer.glue_line_mm, board)))
    area = f"{cut.glue_area_mm2 / 1e6:.2f} m²" if board.metric else f"{cut.glue_area_mm2 / FT2_MM2:.1f} ft²"
    facts.append(("glued, all joints", area))
    for name, grams in (("glue", cut.glue_g), ("pigment in it", cut.pigment_g)):
        facts += [(name, f"{grams:.0f} g")] if grams is not None else []
    for name, kilos in (("wood in the board", cut.finished_kg), ("as it is sawn", cut.sawn_kg)):
        facts += [(name, f"{kilos * 1000.0:.0f} g")] if kilos is not None else []
    facts.append(("grain, steepest", f"1:{cut.steepest.along:.1f}"))
    return facts


def _sentences(cut: CutStringer, board: Board, old: OldStringer | None) -> list[str]:
    stringer = cut.stringer
    ripped = rip(stringer, old or UNKNOWN)
    how = "once, down the middle" if ripped.once else "twice, beside the old stringer"
    told = f"Rip {how}, kerf {_size(stringer.kerf_mm, board)}: each half then stands {_moved(ripped.out_mm, board)}"
    told += " than before" if ripped.once or old else " than before, less half the old stringer's thickness"
    said = [f"{told}."]
    if cut.plank is not None and len(cut.pieces) == 1 and (lie := cut.pieces[0].lie) is not None:
        end = "the other end" if lie.nose_to_far_end else "the end that the tape begins at"
        edge = "far" if lie.deck_to_far_edge else "near"
        over = ", template turned over" if lie.turned_over else ""
        said.append(f"Lay the nose to {end}, the deck to the {edge} edge{over}; plank-layout shows it at full size.")
    if len(cut.pieces) == 1 and (clear := cut.pieces[0].clear) is not None:
        knots = f", {_size(min(clear.knots_mm), board)} off the nearest knot" if clear.knots_mm else ""
        near, far = _size(clear.near_mm, board), _size(clear.far_mm, board)
        said.append(f"So it lies {near} off the near edge, {far} off the far edge{knots}.")
    where = station(cut.steepest.x_mm, metric=board.metric)
    said.append(
        f"The grain is steepest {where} from the tail, at the {cut.steepest.edge}; of strength nothing is said."
    )
    return said


def _moved(mm: float, board: Board) -> str:
    return f"{_size(abs(mm), board)} {'further out' if mm >= 0.0 else 'further in'}"


def _of_strips(cut: CutStringer, board: Board) -> str:
    stringer = cut.stringer
    return "" if stringer.strips == 1 else f", of {stringer.strips} strips of {_size(stringer.strip_mm, board)}"


def _plank_size(cut: CutStringer, board: Board) -> str:
    return f"{_up(cut.least.width_mm, board)} × {_up(cut.least.length_mm, board)}"


def _up(mm: float, board: Board) -> str:
    """Return a length as a plank is asked for, rounded up to a mm or 1/8 in."""
    if board.metric:
        return f"{math.ceil(round(mm, 6))} mm"
    return feet_inches(math.ceil(round(mm / 3.175, 6)) * 3.175, 8)


def _size(mm: float, board: Board) -> str:
    """Return a length with its unit: in mm with what decimals it has, or in inches to 1/32; below that in mm."""
    if board.metric or mm < 1.0:
        return f"{round(round(mm, 6), 1) + 0.0:g} mm"
    return feet_inches(mm, 32)
