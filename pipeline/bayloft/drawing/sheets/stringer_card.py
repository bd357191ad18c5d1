"""The stringer's card: how it comes out of its plank, what is ripped, glued and clamped, and its sizes by station."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from bayloft.drawing.curves.stringer_curves import stringer_heights, stringer_stations
from bayloft.drawing.labels import shortened, text_width_mm
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
    board_station,
    cards,
    figures_in,
    sentences,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, heads_mm, most_rows, row_mm, table
from bayloft.drawing.templates.new_stringer import knot_rings, laid, middle_at, scarf_lines
from bayloft.foam.plank_words import verdict
from bayloft.foam.planks import plank_outline
from bayloft.foam.ripping import rip
from bayloft.foam.stringers import CutStringer
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.spec.blanks.blank import Blank, OldStringer
from bayloft.spec.boards.board import Board
from bayloft.tape import coarse, figure, fine, station, stock
from bayloft.units import both

CAUTION = (
    "Saw: guard, eyes, dust mask. Clamps hold before the glue grabs; its sheet comes first. "
    "Every joint must squeeze out along its whole length: air left in it blows through the glass."
)
UP = 2.0
"""Heights of the picture are drawn so many times as large as its lengths."""

PICTURE_MM = 46.0
"""Room for the plank on the card, as high as that."""

FINE_MM, MOST_NAMED = 0.2, 3
"""mm within which arcs are drawn as lines; pieces on a plank up to which their ends are named."""

UNKNOWN = OldStringer(thickness_mm=0.0, wood=None)
"""An old stringer of which nothing is said."""
FACT_ROW_MM = 15.0
SENTENCE_GAP_MM, TABLE_GAP_MM = 0.45 * WORDS_MM, 7.0
FT2_MM2 = 304.8**2
LAID = (
    CardColumn(head="piece", kind="words"),
    CardColumn(head="tail end\nfrom end"),
    CardColumn(head="\nfrom edge"),
    CardColumn(head="nose end\nfrom end"),
    CardColumn(head="\nfrom edge"),
    CardColumn(head="template", kind="words"),
    CardColumn(head="done", kind="tick"),
)
SIZED = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="height\nto cut"),
    CardColumn(head="height\nfinished"),
    CardColumn(head="bottom up\nfinished"),
    CardColumn(head="as made", kind="box"),
    CardColumn(head="done", kind="tick"),
)


def stringer_cards(
    draft: Draft, cut: CutStringer, blank: Blank | None, digest: str, day: date | None = None
) -> list[Drawing]:
    """Return the pages of a new stringer's card, lying: how it lies on its plank, and what is ripped, glued and
    clamped; where its pieces are laid on the plank; its heights by station, tail end first. blank: the block that it is
    glued into, None where none is named.
    """
    board, stringer = draft.board, cut.stringer
    heading = CardHeading(
        board=board.name,
        card="stringer",
        said=f"{stringer.wood}, {fine(stringer.thickness_mm, metric=board.metric)}{_of_strips(cut, board)}",
        caution=CAUTION,
        basis=f"Heights over the flat that the board stands on. {figures_in(metric=board.metric)}",
        day=day,
        digest=digest,
        lying=True,
    )
    first, told = _plank_page(draft, cut, blank, heading)
    tables = [(LAID, rows) for rows in [_laid_rows(cut, board)] if rows] + [(SIZED, _rows(draft, cut))]
    return cards(heading, [[first], *_following(told, tables, heading)])


def _following(
    told: Sequence[str], tables: Sequence[tuple[Sequence[CardColumn], Sequence[CardRow]]], heading: CardHeading
) -> list[list[Drawing]]:
    """Return the pages of sentences that had no room, and of tables, each below the one before as far as there is room
    for its rows.
    """
    pages: list[list[Drawing]] = [[]]
    y, wide = top_mm(heading), width_mm(heading)
    for n, sentence in enumerate(told):
        drawn, low = sentences([sentence], y - (0.0 if n else 4.0), wide, SENTENCE_GAP_MM)
        if low < LOW_MM:
            pages.append([])
            drawn, low = sentences([sentence], top_mm(heading) - 4.0, wide, SENTENCE_GAP_MM)
        pages[-1].append(drawn)
        y = low
    y -= TABLE_GAP_MM if told else 0.0
    for columns, rows in tables:
        left = list(rows)
        while left:
            room = most_rows(columns, heading, y - LOW_MM)
            if room < min(len(left), 3):
                pages.append([])
                y = top_mm(heading)
                continue
            own, left = left[:room], left[room:]
            pages[-1].append(table(columns, own, heading).moved(0.0, y))
            y -= heads_mm(columns) + len(own) * row_mm(heading) + TABLE_GAP_MM
    return pages


def _laid_rows(cut: CutStringer, board: Board) -> list[CardRow]:
    """Return the row of each piece that comes out of the plank: where its ends are marked on it."""
    rows = []
    lying = [piece for piece in cut.pieces if piece.lie is not None]
    for number, piece in enumerate(lying, 1):
        ends = None if cut.plank is None else piece.ends_on(cut.plank)
        if ends is None or piece.lie is None:
            continue
        sizes = [size for end in ends for size in (end.from_end_mm, end.from_edge_mm)]
        over = "turned over" if piece.lie.turned_over else "as it is"
        rows.append(CardRow(cells=(f"{number}", *(figure(size, metric=board.metric) for size in sizes), over, "")))
    return rows


def _rows(draft: Draft, cut: CutStringer) -> list[CardRow]:
    board, stations = draft.board, stringer_stations(draft)
    low, thick = stringer_heights(draft.body, stations)
    return [
        CardRow(
            cells=(
                board_station(board, x),
                *(figure(size, metric=board.metric) for size in (cut.height_mm(x), own, rocker)),
                "",
                "",
            )
        )
        for x, rocker, own in zip(stations, low, thick, strict=True)
    ]


def _plank_page(
    draft: Draft, cut: CutStringer, blank: Blank | None, heading: CardHeading
) -> tuple[Drawing, Sequence[str]]:
    """Return verdict, plank and figures, and below them as many sentences as there is room for; and the others."""
    board, width, top = draft.board, width_mm(heading), top_mm(heading)
    said, why = verdict(cut, metric=board.metric)
    y = top - 11.0
    labels = [text(said, 0.0, y, _fitting(said, width), bold=True)]
    y -= 3.0
    contours: list[Line] = []
    if cut.plank is not None and any(piece.lie for piece in cut.pieces):
        picture, high = _picture(cut, width)
        y -= high + 2.0
        contours += [(layer, contour.moved(0.0, y)) for layer, contour in picture.contours]
        labels += picture.moved(0.0, y).labels
        y -= 2.0 + LABEL_MM
        note = f"heights drawn twice as large as lengths; face with the knots up, near edge below; {cut.plank.name}"
        labels.append(text(shortened(note, LABEL_MM, width), 0.0, y, LABEL_MM, GREY))
    y -= 5.0
    facts = _facts(cut, board)
    step = width / 5.0
    for i, (name, value) in enumerate(facts):
        x, row = step * (i % 5), i // 5
        at = y - FACT_ROW_MM * row
        labels.append(text(name, x, at - LABEL_MM, LABEL_MM, GREY))
        labels.append(text(value, x, at - LABEL_MM - 8.5, _fitting(value, step - 2.0), bold=True))
    y -= FACT_ROW_MM * -(-len(facts) // 5) + 1.0
    told = [*([why] if why else []), *_told(cut, board, blank)]
    fitting = next(
        n for n in range(len(told), -1, -1) if n == 0 or sentences(told[:n], y, width, SENTENCE_GAP_MM)[1] >= LOW_MM
    )
    drawn = Drawing(name="stringer", contours=tuple(contours), labels=tuple(labels))
    return drawn.joined(sentences(told[:fitting], y, width, SENTENCE_GAP_MM)[0]), told[fitting:]


def _fitting(words: str, room_mm: float) -> float:
    """Return the height of a bold text that is to fit a room, FIGURE_MM at most."""
    return min(FIGURE_MM, FIGURE_MM * room_mm / text_width_mm(words, FIGURE_MM, bold=True))


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
            if words and toward and (len(lying) <= MOST_NAMED or words.isdigit()):
                labels.append(text(words, x / scale - wide / 2.0, UP * y / scale - LABEL_MM / 2.0, LABEL_MM))
    high = float(outline[:, 1].max()) * UP / scale
    return Drawing(name="plank", contours=tuple(contours), labels=tuple(labels)), high


def _facts(cut: CutStringer, board: Board) -> list[tuple[str, str]]:
    """Return what is to be known in figures: a name and a value each."""
    stringer, metric = cut.stringer, board.metric
    facts = [
        ("plank, width at least", stock(cut.least.width_mm, metric=metric)),
        ("length at least", stock(cut.least.length_mm, metric=metric)),
        ("left on each edge", fine(stringer.allowance_mm, metric=metric)),
    ]
    if len(cut.pieces) > cut.outlines:
        facts.append((f"scarf, 1:{stringer.scarf:g}", fine(stringer.bevel_mm, metric=metric)))
    count, apart = cut.clamps
    facts.append(("clamps, evenly", f"{count}"))
    facts.append(("from clamp to clamp", coarse(apart, metric=metric)))
    facts.append(("glue line", _thin(stringer.glue_line_mm, board)))
    area = f"{cut.glue_area_mm2 / 1e6:.2f} m²" if metric else f"{cut.glue_area_mm2 / FT2_MM2:.1f} ft²"
    facts.append(("glued, all joints", area))
    for name, grams in (("glue", cut.glue_g), ("pigment in it", cut.pigment_g)):
        facts += [(name, f"{grams:.0f} g")] if grams is not None else []
    for name, kilos in (("wood in the board", cut.finished_kg), ("as it is sawn", cut.sawn_kg)):
        facts += [(name, f"{kilos * 1000.0:.0f} g")] if kilos is not None else []
    facts.append(("grain, steepest", f"1:{cut.steepest.along:.1f}"))
    return facts


def _told(cut: CutStringer, board: Board, blank: Blank | None) -> list[str]:
    """Return what else is to be known, a sentence each."""
    stringer, metric = cut.stringer, board.metric
    ripped = rip(stringer, UNKNOWN if blank is None else blank.stringer)
    how = "once, down the middle" if ripped.once else "twice, beside the old stringer"
    told = f"Rip the block {how}, kerf {fine(stringer.kerf_mm, metric=metric)}: each half then stands "
    told += f"{fine(abs(ripped.out_mm), metric=metric)} further {'out' if ripped.out_mm >= 0.0 else 'in'} than before"
    told += ", less half the old stringer's thickness" if blank is None and not ripped.once else ""
    said = [f"{told}."]
    if len(cut.pieces) == 1 and (lie := cut.pieces[0].lie) is not None:
        end = "the other end" if lie.nose_to_far_end else "the end that the tape begins at"
        edge = "far" if lie.deck_to_far_edge else "near"
        over = ", template turned over" if lie.turned_over else ""
        said.append(f"Lay the nose to {end}, the deck to the {edge} edge{over}, by the four sizes overleaf.")
    if len(cut.pieces) == 1 and (clear := cut.pieces[0].clear) is not None:
        knots = f", {fine(min(clear.knots_mm), metric=metric)} off the nearest knot" if clear.knots_mm else ""
        near, far = (fine(mm, metric=metric) for mm in (clear.near_mm, clear.far_mm))
        said.append(f"So it lies {near} off the near edge, {far} off the far edge{knots}.")
    if (plank := cut.plank) is not None and stringer.density_kg_m3 is None and plank.wood != stringer.wood:
        said.append(f"Weights are those of the plank's wood, {plank.wood}.")
    if len(cut.pieces) > 1 and cut.comes_out:
        said.append("Lay the pieces by the sizes overleaf: their bottom edge at both ends, from end and near edge.")
    if any(cut.scarfs):
        at = sorted({round(x, 6) for own in cut.scarfs for x in own})
        where = ", ".join(station(x, metric=metric) for x in at)
        said.append(f"Scarfs, in their middle {where} from the tail; their faces have the slope told above.")
    where = station(cut.steepest.x_mm, metric=metric)
    said.append(
        f"The grain is steepest {where} from the tail, at the {cut.steepest.edge}; of strength nothing is said."
    )
    return said


def _of_strips(cut: CutStringer, board: Board) -> str:
    count, mm = cut.stringer.strips, cut.stringer.strip_mm
    each = fine(mm, metric=True) if board.metric else both(mm, 32)
    return "" if count == 1 else f", of {count} strips of {each}"


def _thin(mm: float, board: Board) -> str:
    """Return a length that may be less than an inch's finest mark: then in mm for every maker."""
    return fine(mm, metric=board.metric or mm < 1.0)
