"""The template of a panel from which several fins are sawn: its edge, with their outlines scribed, at full size."""

from __future__ import annotations

import numpy as np

from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, SCRIBE, Drawing, Layer
from bayloft.drawing.templates.fin_template import fin_outline
from bayloft.laminating.set_panels import LaidFin, SetPanel, set_panels
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft


def shared_panels(draft: Draft) -> list[SetPanel]:
    """Return the panels of a board from which more than one fin is sawn."""
    return [panel for panel in set_panels(draft) if len(panel.fins) > 1]


def base_ends_mm(laid: LaidFin) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return where rear and front end of a fin's base lie on its panel, from its lower left corner."""
    base = Contour.straight([[0.0, 0.0], [laid.piece.fin.fin.base_mm, 0.0]], closed=False)
    points = laid.spot.laid(base).points
    rear, front = np.round(points[::-1] if laid.spot.flipped else points, 6).tolist()
    return (rear[0], rear[1]), (front[0], front[1])


def middle_mm(laid: LaidFin) -> tuple[float, float]:
    """Return a place well inside a fin's outline on its panel."""
    inside = laid.piece.outline.representative_point()
    at = laid.spot.laid(Contour.straight([[inside.x, inside.y], [0.0, 0.0]], closed=False)).points
    x, y = (at[-1] if laid.spot.flipped else at[0]).tolist()
    return float(x), float(y)


def face_up(laid: LaidFin) -> str:
    """Return which face of a fin on a panel is up; nothing where both are alike."""
    if laid.piece.symmetric:
        return ""
    return "inside up" if laid.turned_over else "outside up"


def panel_templates(draft: Draft, tag: Tag) -> list[Part]:
    """Return a template for each panel of several fins: x along the roll. CUT: its edge; SCRIBE: the fins' outlines and
    where their tabs begin, each with its number on the card and the face that is up. It marks
    the cured panel, and is made on request.
    """
    return [_template(draft, panel, tag.onward(n)) for n, panel in enumerate(shared_panels(draft))]


def _template(draft: Draft, panel: SetPanel, tag: Tag) -> Part:
    along, across = panel.size_mm
    edge = Contour.straight([[0.0, 0.0], [along, 0.0], [along, across], [0.0, across]], closed=True)
    contours: list[tuple[Layer, Contour]] = [(CUT, edge)]
    notes = []
    for n, laid in enumerate(panel.fins, 1):
        outline = laid.spot.laid(fin_outline(laid.piece.fin))
        points, bulges = np.vstack([outline.points, outline.points[:1]]), np.append(outline.bulges, 0.0)
        # What is scribed is a stroke, open though it ends where it begins: only an edge is closed.
        contours.append((SCRIBE, Contour(points=points, bulges=bulges, closed=False)))
        if (tab := laid.piece.fin.fin.tab) is not None:
            ends = [[tab.from_rear_mm, 0.0], [tab.from_rear_mm + tab.length_mm, 0.0]]
            contours.append((SCRIBE, laid.spot.laid(Contour.straight(ends, closed=False))))
        texts = tuple(filter(None, (f"{n}", face_up(laid))))
        notes.append(Note(texts=texts, near_mm=middle_mm(laid), within_mm=along / 4))
    drawing = Drawing(name=f"{draft.board.slug}-fin-panel-{tag.number}", contours=tuple(contours))
    part = Part(drawing=drawing, title="fin panel", number=tag.number, on_request=True)
    return inscribed(part, tag.head("fin panel"), notes, near_mm=(along / 2, across / 2))
