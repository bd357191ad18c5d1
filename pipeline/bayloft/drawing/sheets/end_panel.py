"""Nose and tail of a board as they are seen along the stringer, on its sheet."""

from __future__ import annotations

from bayloft.drawing.curves.end_curves import EndView
from bayloft.drawing.curves.figures import Figures
from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import CENTRE, LETTERING, QUIET, THIN, TINT, VISIBLE, Drawing, Label
from bayloft.drawing.sheets.sheet_layout import SCALES
from bayloft.drawing.title_block import TEXTS_WIDTH_MM, SheetPanel
from bayloft.plane.contour import Contour

CAPTION_CAPS_MM, CAPS_MM = 2.5, 1.8
CAPTION_MM, HEADING_MM, GAP_MM, STUB_MM = 5.0, 4.6, 3.0, 1.5
"""Heights of the caption, of a view's heading and between views; how far the centre line passes a view."""
BESIDE_MM = 4.0
"""Between two views side by side."""

NAMES = ("nose, from ahead", "tail, from behind")


def ends_panel(shown: Figures, least_scale: float, room_mm: float) -> SheetPanel | None:
    """Return nose and tail at the largest round scale, 1 : `least_scale` at most, at which they fit in the height, one
    over the other or side by side; None where they fit at none.
    """
    wide = max(end.size_mm[0] for end in shown.ends)
    highs = [end.size_mm[1] for end in shown.ends]
    for scale in (scale for scale in SCALES if scale >= least_scale):
        stacked = wide / scale <= TEXTS_WIDTH_MM and CAPTION_MM + sum(map(_row, _sized(highs, scale))) <= room_mm
        beside = 2 * wide / scale + BESIDE_MM <= TEXTS_WIDTH_MM and CAPTION_MM + _row(max(highs) / scale) <= room_mm
        if stacked or beside:
            return _panel(shown, scale, stacked=stacked)
    return None


def _sized(sizes: list[float], scale: float) -> list[float]:
    return [size / scale for size in sizes]


def _row(high_mm: float) -> float:
    return HEADING_MM + high_mm + GAP_MM + 2 * STUB_MM


def _panel(shown: Figures, scale: float, *, stacked: bool) -> SheetPanel:
    rows = [_row(end.size_mm[1] / scale) for end in shown.ends]
    height = CAPTION_MM + (sum(rows) if stacked else max(rows))
    title = Label(
        text="ENDS", x_mm=0.0, y_mm=height - CAPTION_CAPS_MM, height_mm=CAPTION_CAPS_MM, layer=LETTERING, bold=True
    )
    after = text_width_mm(title.text, CAPTION_CAPS_MM, bold=True) + 2.0
    note = Label(text=f"at 1:{scale:g}", x_mm=after, y_mm=height - CAPTION_CAPS_MM, height_mm=CAPS_MM, layer=QUIET)
    drawn = Drawing(name="ends", labels=(title, note))
    top = height - CAPTION_MM
    for i, (end, name) in enumerate(zip(shown.ends, NAMES, strict=True)):
        middle = TEXTS_WIDTH_MM * (0.5 if stacked else 0.25 + 0.5 * i)
        foot = top - (sum(rows[: i + 1]) if stacked else max(rows)) + GAP_MM + STUB_MM
        drawn = drawn.joined(_view(end, name, scale).moved(middle, foot))
    return SheetPanel(width_mm=TEXTS_WIDTH_MM, height_mm=height, drawing=drawn)


def _view(end: EndView, name: str, scale: float) -> Drawing:
    """Return a view, the stringer at x = 0 and the flat at y = 0, its heading over it."""
    half, high = (size / scale for size in (end.size_mm[0] / 2, end.size_mm[1]))
    low = min(0.0, *(contour.bounds[1] for contour in end.outline)) / scale
    middle = Contour.straight([[0.0, low - STUB_MM], [0.0, high + STUB_MM]], closed=False)
    flat = Contour.straight([[-half, 0.0], [half, 0.0]], closed=False)
    seen = [(TINT, end.outline), (VISIBLE, (*end.outline, *end.wall)), (THIN, (*end.sections, *end.rails))]
    contours = [(layer, contour.scaled(1.0 / scale)) for layer, group in seen for contour in group]
    y = high + STUB_MM + HEADING_MM - CAPS_MM - 1.0
    label = Label(text=name, x_mm=0.0, y_mm=y, height_mm=CAPS_MM, anchor="middle", layer=QUIET)
    return Drawing(name=name, contours=(*contours, (CENTRE, middle), (THIN, flat)), labels=(label,))
