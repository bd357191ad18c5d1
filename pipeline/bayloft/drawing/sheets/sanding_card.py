"""The sanding card: how many plies of glass lie where, so that it is known how far one may sand; finished sizes."""

from __future__ import annotations

from datetime import date

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

from bayloft.drawing.curves.board_curves import plan_outline
from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    DASHED_LINE,
    GREY,
    LABEL_MM,
    LOW_MM,
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
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, tables
from bayloft.laminating.glassing import BoardGlass, patch_region
from bayloft.laminating.plies import glassed_sizes, ply_zones
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.spec.bench.glass import GlassFace
from bayloft.tape import figure
from bayloft.tolerances import ARC_FIT_MM

CAUTION = "Glass and resin dust: mask, eyes, extraction, long sleeves. Never dry-sand green resin."

SIZES = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="width"),
    CardColumn(head="thick"),
    CardColumn(head="as made", kind="box"),
)
BETWEEN_MM, ON_STRINGER_MM = 9.0, 1e-6


def sanding_cards(draft: Draft, made: BoardGlass, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the card: where sanding must stop first, both faces in plan with their plies, finished sizes."""
    board, metric = draft.board, draft.board.metric
    heading = CardHeading(
        board=board.name,
        card="sanding",
        said="With its glass on, before fill coat and gloss.",
        caution=CAUTION,
        basis=f"Cured plies of E-glass without voids. {figures_in(metric=metric)}",
        day=day,
        digest=digest,
    )
    wide, top = width_mm(heading), top_mm(heading)
    zones = ply_zones(made)
    least = min((zone for zone in zones if zone.plies), key=lambda zone: zone.thick_mm)
    said = [
        f"Thinnest on the {least.face}, in the {least.name}: {_plies(least.plies)}, {least.thick_mm:.2f} mm in all. "
        "Sand the resin, not the weave.",
        "First the edges of laps and patches, then the faces, the rails last and by hand.",
    ]
    told, y = sentences(said, top - 4.0, wide, 3.0)
    drawn = [told]
    faces: tuple[GlassFace, ...] = ("deck", "bottom")
    for face in faces:
        picture, y = _picture(draft, made, face, wide, y - 3.0)
        drawn.append(picture)
    rows = []
    for each in glassed_sizes(draft, made):
        sizes = (figure(mm, metric=metric) for mm in (each.width_mm, each.thickness_mm))
        rows.append(CardRow(cells=(board_station(board, each.x_mm), *sizes, "")))
    pages = [drawn, *([part.moved(0.0, top)] for part in tables(SIZES, rows, heading, top - LOW_MM))]
    return cards(heading, pages)


def _plies(count: int) -> str:
    return "1 ply" if count == 1 else f"{count} plies"


def _picture(draft: Draft, made: BoardGlass, face: GlassFace, wide: float, top: float) -> tuple[Drawing, float]:
    """Return a face in plan, the borders of its zones dashed, with what lies in each; and the height below it."""
    board = draft.board
    scale = board.length_mm / wide
    half = plan_outline(draft.lines, draft.body, ARC_FIT_MM).scaled(1.0 / scale)
    contours: list[Line] = [(BOARD_LINE, half), (BOARD_LINE, half.mirrored())]
    laid = next((other.lap for other in made.faces if other.other == face), None)
    if laid is not None and len(laid.line):
        line = Contour.straight(laid.line, closed=False).scaled(1.0 / scale)
        contours += [(DASHED_LINE, line), (DASHED_LINE, line.mirrored())]
    highest = board.wide_point.value / 2.0 / scale
    labels: list[Label] = []
    for own in made.patches:
        if own.patch.face != face:
            continue
        region = patch_region(draft.body, own.patch)
        if region.is_empty:
            continue
        own_line = Contour.straight(_off_stringer(region) / scale, closed=False)
        contours += [(DASHED_LINE, own_line), (DASHED_LINE, own_line.mirrored())]
    zones = [zone for zone in ply_zones(made) if zone.face == face]
    words = f"{face}: " + "; ".join(f"{zone.name} {_plies(zone.plies)}, {zone.thick_mm:.2f} mm" for zone in zones)
    y = top - 2.0 * highest - 4.0
    caps = LABEL_MM if text_width_mm(words, LABEL_MM) <= wide else LABEL_MM * wide / text_width_mm(words, LABEL_MM)
    labels.append(text(words, 0.0, y - LABEL_MM, caps, GREY))
    middle = _plies(zones[0].plies)
    at = (wide - text_width_mm(middle, WORDS_MM)) / 2.0
    labels.append(text(middle, at, top - highest - WORDS_MM / 2.0, WORDS_MM))
    view = Drawing(name=face, contours=tuple(contours)).moved(0.0, top - highest)
    return view.joined(Drawing(name="said", labels=tuple(labels))), y - LABEL_MM - BETWEEN_MM


def _off_stringer(region: shapely.Polygon) -> NDArray[np.float64]:
    """Return the border of a region of the port half but for the stringer (n, 2), from its nose end round to its tail
    end.
    """
    ring = shapely.get_coordinates(orient(region, 1.0).exterior)[:-1]
    on = ring[:, 1] <= ON_STRINGER_MM
    turned = np.roll(ring, -int(np.argmax(np.where(on, ring[:, 0], -np.inf))), axis=0)
    last = int(np.flatnonzero(turned[:, 1] > ON_STRINGER_MM)[-1])
    return np.asarray(np.concatenate([turned, turned[:1]])[: last + 2], dtype=np.float64)
