"""The sheet of a board in its blank: plan, profile and sections of both, tight places marked, cover by station."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.labels import shortened, wrapped
from bayloft.drawing.sheet import CENTRE, DIMENSION, FRAME, LETTERING, QUIET, THIN, Drawing, Label, Layer
from bayloft.foam.fitting import Fit, TightPlace
from bayloft.lines.section_places import APEX
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.measure import places
from bayloft.units import both, feet_inches, inches

Array = NDArray[np.float64]

PAGE_MM, MARGIN_MM = (420.0, 297.0), 12.0
BOARD, BLANK = Layer(name="BOARD", weight_mm=0.7), Layer(name="BLANK", weight_mm=0.35, colour="#7c8a94")
NAME_CAPS_MM, CAPS_MM, SMALL_CAPS_MM = 4.5, 2.6, 2.1
TABLE_MM, ROW_MM = 112.0, 8.0
PLACES, SECTION_PLACES = 241, 121
SCALES, SECTION_SCALES = (5.0, 6.0, 8.0, 10.0, 12.0, 15.0), (2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Scales of plan and profile, and of sections; the largest that fits is taken."""
SECTION_GAP_MM = 9.0
SECTIONS = (0.18, 0.5, 0.82)
"""Shares of the board's length at which sections are drawn."""
RING_MM = 2.2


def blank_sheet(fit: Fit) -> Drawing:
    """Return the sheet, A3 lying: the board as it lies in the blank, thick, the blank grey round it."""
    inner_w, inner_h = PAGE_MM[0] - 2 * MARGIN_MM, PAGE_MM[1] - 2 * MARGIN_MM
    room = inner_w - TABLE_MM - 8.0
    blank = fit.blank.shape
    scale = next((each for each in SCALES if blank.length_mm / each <= room), SCALES[-1])
    top = inner_h - 14.0
    title = shortened(f"{fit.board.name} in {fit.blank.name}", NAME_CAPS_MM, inner_w, bold=True)
    labels = [_text(title, 0.0, inner_h - 6.0, NAME_CAPS_MM, bold=True)]
    labels.append(_text(f"plan and profile 1:{scale:g}, tail at the left", 0.0, inner_h - 11.5, SMALL_CAPS_MM, QUIET))
    level = Contour.straight([[0.0, top], [inner_w, top]], closed=False)
    sheet = Drawing(name="blank", contours=((FRAME, level),), labels=tuple(labels), page_mm=PAGE_MM)
    wide = blank.wide_point.value / scale
    plan = _plan(fit, scale)
    profile = _profile(fit, scale)
    y = top - 8.0 - wide / 2.0
    sheet = sheet.joined(plan.moved(0.0, y))
    y -= wide / 2.0 + 14.0 + profile.bounds[3]
    sheet = sheet.joined(profile.moved(0.0, y))
    y -= 10.0
    sheet = sheet.joined(*_sections(fit, room, y))
    sheet = sheet.joined(_table(fit).moved(inner_w - TABLE_MM, top - 8.0))
    return sheet.moved(MARGIN_MM, MARGIN_MM)


def _text(text: str, x: float, y: float, caps: float, layer: Layer = LETTERING, *, bold: bool = False) -> Label:
    return Label(text=text, x_mm=x, y_mm=y, height_mm=caps, layer=layer, bold=bold)


def _half_plan(body: Body) -> Array:
    """Return the plan of a body's port side (n, 3), from the stringer at the tail round to the nose."""
    edge = body.port.grid(np.linspace(0.0, 1.0, PLACES) ** 2, [APEX])[:, 0]
    wall = body.port.grid([0.0], np.linspace(0.0, APEX, 41))[0] if body.end == "wall" else edge[:1]
    return np.vstack([wall, edge])


def _side(body: Body) -> Array:
    """Return the profile at the stringer (n, 3): along the bottom to the nose, and back along the deck."""
    u = np.linspace(0.0, 1.0, PLACES)
    lines = body.port.grid(u, [0.0, 1.0])
    return np.vstack([lines[:, 0], lines[::-1, 1]])


def _placed(fit: Fit, points: Array) -> Array:
    return fit.placing.placed(points, fit.middle_mm)


def _plan(fit: Fit, scale: float) -> Drawing:
    contours: list[tuple[Layer, Contour]] = []
    for layer, points in ((BLANK, _half_plan(fit.blank_body)), (BOARD, _placed(fit, _half_plan(fit.body)))):
        half = points[:, :2] / scale
        whole = np.vstack([half, half[::-1] * [1.0, -1.0]])
        contours.append((layer, Contour.straight(_distinct(whole), closed=True)))
    length = fit.blank.shape.length_mm / scale
    contours.append((CENTRE, Contour.straight([[-3.0, 0.0], [length + 3.0, 0.0]], closed=False)))
    rings, labels = _marks(fit, scale, 1)
    return Drawing(name="plan", contours=(*contours, *rings), labels=tuple(labels))


def _profile(fit: Fit, scale: float) -> Drawing:
    contours: list[tuple[Layer, Contour]] = [
        (layer, Contour.straight(_distinct(points[:, [0, 2]] / scale), closed=True))
        for layer, points in ((BLANK, _side(fit.blank_body)), (BOARD, _placed(fit, _side(fit.body))))
    ]
    length = fit.blank.shape.length_mm / scale
    contours.append((THIN, Contour.straight([[-3.0, 0.0], [length + 3.0, 0.0]], closed=False)))
    rings, labels = _marks(fit, scale, 2)
    return Drawing(name="profile", contours=(*contours, *rings), labels=tuple(labels))


def _marks(fit: Fit, scale: float, up: int) -> tuple[list[tuple[Layer, Contour]], list[Label]]:
    """Return a ring at each tight place, and its letter; `up`: the axis that is upward on the sheet."""
    rings: list[tuple[Layer, Contour]] = []
    labels: list[Label] = []
    for letter, place in zip("ABCDEFGH", fit.tight, strict=False):
        at = _placed(fit, np.array([[place.x_mm, place.off_mm, place.height_mm]]))[0] / scale
        x, y = float(at[0]), float(at[up])
        angles = np.linspace(0.0, 2.0 * np.pi, 25)[:-1]
        ring = np.column_stack([x + RING_MM * np.cos(angles), y + RING_MM * np.sin(angles)])
        rings.append((DIMENSION, Contour.straight(ring, closed=True)))
        labels.append(_text(letter, x + RING_MM + 0.6, y + 1.0, CAPS_MM, bold=True))
    return rings, labels


def _distinct(points: Array) -> Array:
    """Return points without those that repeat the one before them."""
    apart = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=1))
    kept: Array = points[np.concatenate([[True], apart > 1e-6])]
    return kept[:-1] if float(np.sqrt(((kept[0] - kept[-1]) ** 2).sum())) <= 1e-6 else kept


def _section(body: Body, x_mm: float) -> Array:
    """Return the section of a body at a station, both sides (n, 3)."""
    points = places(body, [x_mm], np.linspace(0.0, 1.0, SECTION_PLACES).tolist())[:, 0]
    return np.vstack([points, points[::-1] * [1.0, -1.0, 1.0]])


def _sections(fit: Fit, room: float, top: float) -> list[Drawing]:
    """Return three sections below one another, tail first, at the largest scale that fits."""
    cuts = []
    for share in SECTIONS:
        x = share * fit.board.length_mm
        own = _placed(fit, _section(fit.body, x))
        block = _section(fit.blank_body, float(own[:, 0].mean()))
        cuts.append((x, own, block, float(block[:, 2].min())))
    high = sum(float(np.ptp(block[:, 2])) for _, _, block, _ in cuts)
    spare = top - SECTION_GAP_MM * len(cuts)
    wide = fit.blank.shape.wide_point.value
    scale = next((each for each in SECTION_SCALES if wide / each <= room and high / each <= spare), SECTION_SCALES[-1])
    found, y = [], top
    for x, own, block, low in cuts:
        y -= float(np.ptp(block[:, 2])) / scale + SECTION_GAP_MM
        contours = [
            (layer, Contour.straight(_distinct((points[:, [1, 2]] - [0.0, low]) / scale), closed=True))
            for layer, points in ((BLANK, block), (BOARD, own))
        ]
        caption = f"{feet_inches(x)} from the board's tail, looking forward, 1:{scale:g}"
        up = float(np.ptp(block[:, 2])) / scale + 2.5
        label = Label(text=caption, x_mm=0.0, y_mm=up, height_mm=SMALL_CAPS_MM, anchor="middle", layer=QUIET)
        drawn = Drawing(name="section", contours=tuple(contours), labels=(label,))
        found.append(drawn.moved(room / 2.0, y))
    return found


def _table(fit: Fit) -> Drawing:
    """Return what is to be known in words and figures, from (0, 0) downward."""
    sure = fit.sure_mm
    said = [
        f"Foam over the board everywhere: at least {max(sure, 0.0):.1f} mm"
        if sure > 0.0
        else f"Short by up to {-sure:.1f} mm somewhere",
        f"found {fit.cover_mm:.2f} mm; proven: no less than {fit.floor_mm:.2f}, and no placing gives more than "
        f"{fit.ceiling.cover_mm:.2f}; the block may be {fit.blank.error_mm:.1f} mm less than measured",
        f"Board's tail {both(_tail_from(fit))} from the block's tail end; it may lie {-fit.shift_mm[0]:.0f} mm further "
        f"aft or {fit.shift_mm[1]:.0f} mm further forward for 0.1 mm",
        f"turned nose {'up' if fit.placing.pitch_rad >= 0.0 else 'down'} by "
        f"{abs(fit.placing.pitch_rad) * 1000.0:.1f} mm a metre, lifted {fit.placing.lift_mm:.1f} mm off the flat",
        f"to be planed off: {fit.foam_mm3 / 1e6:.1f} L",
    ]
    labels: list[Label] = []
    y = 0.0
    for i, text in enumerate(said):
        caps = CAPS_MM if i == 0 else SMALL_CAPS_MM
        for line in wrapped(text, caps, TABLE_MM, bold=i == 0):
            labels.append(_text(line, 0.0, y, caps, LETTERING if i == 0 else QUIET, bold=i == 0))
            y -= caps * 1.7
        y -= 1.2
    y -= 3.0
    contours: list[tuple[Layer, Contour]] = []
    columns = (0.0, 30.0, 50.0, 70.0, 91.0)
    for x, head in zip(columns, ("from tail", "deck", "rail", "bottom", "upright"), strict=True):
        labels.append(_text(head, x, y, SMALL_CAPS_MM, QUIET))
    y -= 2.0
    contours.append((THIN, Contour.straight([[0.0, y], [TABLE_MM, y]], closed=False)))
    for each in fit.stations:
        y -= ROW_MM - 2.0
        upright = "-"
        if each.upright_deck_mm is not None and each.upright_bottom_mm is not None:
            upright = f"{each.upright_deck_mm:.1f} / {each.upright_bottom_mm:.1f}"
        cells = (feet_inches(each.x_mm), f"{each.deck_mm:.1f}", f"{each.rail_mm:.1f}", f"{each.bottom_mm:.1f}", upright)
        labels += [_text(cell, x, y, CAPS_MM) for x, cell in zip(columns, cells, strict=True)]
    y -= 6.0
    note = "mm of foam square to the block's faces; upright at the stringer: over the deck / under the bottom"
    for line in wrapped(note, SMALL_CAPS_MM, TABLE_MM):
        labels.append(_text(line, 0.0, y, SMALL_CAPS_MM, QUIET))
        y -= 3.6
    y -= 3.0
    for letter, place in zip("ABCDEFGH", fit.tight, strict=False):
        labels.append(_text(_tight(letter, place), 0.0, y, SMALL_CAPS_MM))
        y -= 3.8
    caution = "Foam dust and blades: breathing protection, eyes, clamps; the block may be less than it was measured."
    y -= 2.0
    for line in wrapped(caution, SMALL_CAPS_MM, TABLE_MM):
        labels.append(_text(line, 0.0, y, SMALL_CAPS_MM, QUIET))
        y -= 3.6
    return Drawing(name="table", contours=tuple(contours), labels=tuple(labels))


def _tight(letter: str, place: TightPlace) -> str:
    off = "at the stringer" if place.off_mm < 0.5 else f"{inches(place.off_mm)} off the middle"
    return f"{letter}: {place.cover_mm:.1f} mm, {place.face}, {feet_inches(place.x_mm)} from tail, {off}"


def _tail_from(fit: Fit) -> float:
    """Return how far the board's tail end lies from the block's, mm."""
    return float(_placed(fit, _half_plan(fit.body))[:, 0].min())
