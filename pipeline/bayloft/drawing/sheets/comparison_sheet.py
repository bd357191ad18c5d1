"""The sheet of a comparison: sizes side by side, lines over one another; then where one stands out over the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bayloft.drawing.labels import shortened, text_width_mm
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    EDGE_LINE,
    FIGURE_MM,
    GREY,
    LABEL_MM,
    LINE_PITCH,
    LIVE_MM,
    LOW_MM,
    ROW_LINE,
    CardHeading,
    Line,
    cards,
    ending,
    lines,
    straight,
    text,
    top_mm,
)
from bayloft.drawing.sheets.comparison_views import (
    A_LINE,
    B_LINE,
    foil_view,
    outline_view,
    outlines,
    reach_mm,
    rocker_view,
    section_views,
)
from bayloft.drawing.sheets.distance_map import first_step_mm, most_marked, scale_bar, side_map
from bayloft.solid.apart import SIDES, THIRDS
from bayloft.solid.comparison import ALIGN_SAID, Comparison
from bayloft.tape import at_most, change

ROW_MM, CAPS_MM, HEAD_ROW_MM = 4.7, 2.8, 5.4
COLUMNS_MM = (104.0, 142.0, 180.0)
"""Where the columns of A, of B and of the difference end."""
SCALES = (
    3.0,
    4.0,
    5.0,
    6.0,
    7.0,
    8.0,
    9.0,
    10.0,
    11.0,
    12.0,
    12.5,
    13.0,
    14.0,
    15.0,
    16.0,
    18.0,
    20.0,
    25.0,
    30.0,
    40.0,
)
TIMES = (3.0, 2.0, 1.0)
"""By how much heights are drawn larger than lengths: the most for which there is room."""
BESIDE_MM = 2.0
VIEW_GAP_MM, CAPTION_MM = 3.0, 5.0
SECTION_GAP_MM = 7.0
MAP_CAPTION_MM, BAR_MM, LEAST_SECTIONS_MM = 7.6, 22.0, 50.0
"""Heights of a map's caption and of the bar, and the least that sections have."""
MOST_LOOKS = 6
"""Lines of what to look at that the sheet has room for; the report has all."""


def comparison_sheet(held: Comparison, looks: Sequence[str], digest: str) -> list[Drawing]:
    """Return the two pages of a comparison."""
    a, b = held.names
    heading = CardHeading(
        board=b,
        card=f"against {shortened(a, FIGURE_MM, 70.0)}",
        said=f"A: {shortened(a, LABEL_MM, 50.0)}; B: {shortened(b, LABEL_MM, 50.0)}; laid {ALIGN_SAID[held.align]}.",
        caution="Measured on the files; hold the boards themselves against one another before you cut.",
        basis="Both stand on the flat at their lowest place. "
        + ("mm and litres." if held.metric else "Inches to 1/32, and litres."),
        digest=digest,
    )
    return cards(heading, [_first(held, looks, top_mm(heading)), _second(held, top_mm(heading))])


def _first(held: Comparison, looks: Sequence[str], top: float) -> list[Drawing]:
    table, y = _table(held, top - 4.0)
    told, foot = _looks(looks, LOW_MM)
    scale, times, views = _fitted(held, y - 5.0 - foot)
    drawn = [table, told]
    left = BESIDE_MM - reach_mm(held)[0] / scale
    spare = (y - 5.0 - foot - _views_mm(views)) / (len(views) + 1)
    y -= 5.0
    for caption, view in zip(_captions(scale, times), views, strict=True):
        y -= min(spare, 8.0)
        drawn.append(_caption(caption, y))
        y -= CAPTION_MM
        low, high = _reach(view)
        drawn.append(view.moved(left, y - high))
        y -= high - low + VIEW_GAP_MM
    return drawn


def _captions(scale: float, times: float) -> tuple[str, ...]:
    more = "" if times == 1.0 else f", heights x {times:g}"
    return (
        f"outline, 1:{scale:g}, tail at the left; below, B's width less A's",
        f"rocker, bottom at the stringer{more}; below, B's height less A's",
        f"foil, thickness at the stringer{more}; below, B's less A's",
    )


def _fitted(held: Comparison, room: float) -> tuple[float, float, tuple[Drawing, ...]]:
    """Return the largest scale for which the views have room, how much larger heights are, and the views."""
    left, right = reach_mm(held)
    views: tuple[Drawing, ...] = ()
    scale = times = 1.0
    for scale in SCALES:
        if (right - left) / scale > LIVE_MM[0] - 2 * BESIDE_MM:
            continue
        for times in TIMES:
            views = outline_view(held, scale), rocker_view(held, scale, times), foil_view(held, scale, times)
            if _views_mm(views) <= room:
                return scale, times, views
    return scale, times, views


def _views_mm(views: Sequence[Drawing]) -> float:
    """Return how much height views take with their captions."""
    return sum(high - low + CAPTION_MM + VIEW_GAP_MM for low, high in map(_reach, views))


def _reach(view: Drawing) -> tuple[float, float]:
    lows = [label.y_mm - 0.3 * label.height_mm for label in view.labels]
    return min([view.bounds[1], *lows]), view.bounds[3]


def _table(held: Comparison, top: float) -> tuple[Drawing, float]:
    """Return the sizes in rows, hanging from a height, under a head with a stroke of each one's line; and the height
    below which all is free.
    """
    contours: list[Line] = []
    labels: list[Label] = []
    for end, letter, name, layer in zip(COLUMNS_MM, "AB", held.names, (A_LINE, B_LINE), strict=False):
        said = f"{letter}  {shortened(name, LABEL_MM, 33.0 - text_width_mm(letter, LABEL_MM, bold=True), bold=True)}"
        labels.append(ending(said, end, top - LABEL_MM, LABEL_MM, bold=True))
        contours.append(straight(layer, (end - 16.0, top - LABEL_MM - 2.2), (end, top - LABEL_MM - 2.2)))
    labels.append(ending("B less A", COLUMNS_MM[2], top - LABEL_MM, LABEL_MM, bold=True))
    y = top - HEAD_ROW_MM - 1.6
    contours.append(straight(EDGE_LINE, (0.0, y), (LIVE_MM[0], y)))
    metric = held.metric
    for row in held.rows:
        y -= ROW_MM
        labels.append(text(row.what, 0.0, y + 1.2, CAPS_MM))
        cells = (row.told(row.a, metric=metric), row.told(row.b, metric=metric), row.told_change(metric=metric))
        labels += [ending(cell, end, y + 1.2, CAPS_MM) for cell, end in zip(cells, COLUMNS_MM, strict=True)]
        contours.append(straight(ROW_LINE, (0.0, y), (LIVE_MM[0], y)))
    return Drawing(name="sizes", contours=tuple(contours), labels=tuple(labels)), y


def _looks(looks: Sequence[str], low: float) -> tuple[Drawing, float]:
    """Return what to look at, standing on a height; and the height above it."""
    broken = [line for look in looks for line in lines(f"Look: {look}", 0.0, 0.0, LIVE_MM[0], 2.6)][:MOST_LOOKS]
    labels = []
    for n, line in enumerate(reversed(broken)):
        labels.append(text(line.text, 0.0, low + 1.0 + n * LINE_PITCH * 2.6, 2.6))
    return Drawing(name="looks", labels=tuple(labels)), low + len(broken) * LINE_PITCH * 2.6 + (2.0 if broken else 0.0)


def _second(held: Comparison, top: float) -> list[Drawing]:
    """Return where B stands out over A: in words, on deck and bottom, and in sections."""
    lies = held.apart
    drawn: list[Drawing] = []
    labels: list[Label] = []
    y = top - 3.0
    for sentence in _said(held):
        own = lines(sentence, 0.0, y - CAPS_MM, LIVE_MM[0], CAPS_MM)
        labels += own
        y = own[-1].y_mm - 1.4
    drawn.append(Drawing(name="said", labels=tuple(labels)))
    left, right = reach_mm(held)
    wide = max(float(np.nanmax(shape.lines.widths_mm)) for shape in (held.a, held.b))
    room = (y - LOW_MM - LEAST_SECTIONS_MM - BAR_MM) / len(SIDES) - MAP_CAPTION_MM
    fits = [s for s in SCALES if (right - left) / s <= LIVE_MM[0] - 2 * BESIDE_MM and wide / s <= room]
    scale = fits[0] if fits else SCALES[-1]
    step = first_step_mm(lies, metric=held.metric)
    for side in SIDES:
        caption = f"{'deck, from above' if side == 'deck' else 'bottom, seen through the deck'}, 1:{scale:g}; A dashed"
        drawn.append(_caption(caption, y - 2.0))
        y -= MAP_CAPTION_MM
        view = side_map(lies, side, scale, step)
        edges = [(B_LINE, line.moved(held.shift_mm / scale, 0.0)) for line in outlines(held.b.lines, scale)]
        edges += [(A_LINE, line) for line in outlines(held.a.lines, scale)]
        marks = most_marked(lies, side, scale, step, metric=held.metric)
        whole = Drawing(name=side, contours=(*view.contours, *edges)).joined(marks)
        drawn.append(whole.moved(BESIDE_MM - left / scale, y - wide / scale / 2.0))
        y -= wide / scale
    drawn.append(scale_bar(step, metric=held.metric).moved(BESIDE_MM, y - 8.5))
    y -= BAR_MM
    cut, section_scale = section_views(held, (LIVE_MM[0] - BESIDE_MM, y - LOW_MM - 5.0), SECTION_GAP_MM)
    drawn.append(_caption(f"half sections to port, 1:{section_scale:g}; A dashed", y))
    drawn.append(cut.moved(BESIDE_MM, y - 6.5))
    return drawn


def _caption(words: str, top: float) -> Drawing:
    return Drawing(name="caption", labels=(text(words, 0.0, top - LABEL_MM, LABEL_MM, GREY),))


def _said(held: Comparison) -> list[str]:
    """Return in sentences how far apart both lie."""
    lies, metric = held.apart, held.metric
    told = []
    for place, out, words in ((lies.greatest, 1.0, "stands out over A"), (lies.least, -1.0, "lies under A")):
        most = change(0.0, place.out_mm, metric=metric)
        if most == "0" or out * place.out_mm < 0.0:
            told.append(f"B {words} nowhere by as much as a tape shows.")
            continue
        told.append(f"B {words} most by {most[1:]}: {held.place_said(place)}.")
    within, beside = (at_most(mm, metric=metric) for mm in (lies.most_of_mm, lies.most_alongside_mm))
    beside = f", alongside A within {beside}" if held.reaches_beyond else ""
    mean = change(0.0, lies.mean_mm, metric=metric)
    told.append(f"95 % of B's surface is within {within} of A's{beside}; the mean of all is {mean}.")
    means = []
    for side in SIDES:
        thirds = {part.third: change(0.0, part.mean_mm, metric=metric) for part in lies.parts if part.side == side}
        means.append(f"{side}: " + ", ".join(f"{third} {thirds[third]}" for third in THIRDS if third in thirds))
    told.append(f"Mean by thirds. {'; '.join(means)}.")
    return told
