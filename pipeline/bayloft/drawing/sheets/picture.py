"""The picture of a board: the deck from ahead and above, and the bottom, turned up, with its fins from behind."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import lengths, product
from bayloft.drawing.sheet import LETTERING, QUIET, Drawing, Label
from bayloft.drawing.sheets.tones import Eye, Face, eye, toned
from bayloft.lines.board import BoardLines
from bayloft.lines.section_places import channel_joints
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.standing import Stand
from bayloft.solid.surface import Surface
from bayloft.spec.boards.board import Board
from bayloft.units import feet_inches

Array = NDArray[np.float64]

WIDTH_MM, MARGIN_MM, GAP_MM = 240.0, 6.0, 4.0
"""Width of the picture, room round it, and between the two views."""
NAME_CAPS_MM, SIZE_CAPS_MM = 5.0, 2.6

ROUND_DEG, LEAST_UP_DEG, OVER_SLOPE_DEG = 68.0, 34.0, 8.0
"""Degrees that the eye stands round from the end it sees first, the least that it stands up, and by how much more than
the deck rises towards the nose: nothing of the deck is then hidden behind the nose."""

SLOPE_PLACES = 201

POLE = 1e-3
"""How far from an end, in u, normals are taken that stand for the end's own: there columns may meet in one point."""


def picture(draft: Draft, fins: Sequence[tuple[Stand, Body]]) -> Drawing:
    """Return the picture of a board with its fins where they stand, each with its own body; layers are painted in the
    order of their contours.
    """
    board, lines, body = draft.board, draft.lines, draft.body
    half, walls = _half(body), _walls(body)
    above, below = eyes(draft)
    standing = [face for stand, fin in fins for face in _stood(stand, fin)]
    # What lies behind comes first: under the deck the fins, under the turned-up bottom the wall.
    # From above, channels and what lies between them are hidden under the deck, also where a side of one faces the eye.
    upper = _half(body, since=max(channel_joints(lines.sections.channels), default=0.0))
    deck = _view([*_far_first(standing, above), *walls, _whole(upper, deck=True)], above, "DECK")
    bottom = _view([*walls, _whole(half, deck=False), *_far_first(standing, below)], below, "BOTTOM")
    return _page(board, deck, bottom)


def eyes(draft: Draft) -> tuple[Eye, Eye]:
    """Return the eyes that see the deck from ahead and above, and the bottom, turned up, from behind, each at the scale
    at which the board fills the picture's width.
    """
    up_deg, half = max(LEAST_UP_DEG, _steepest_deg(draft.lines) + OVER_SLOPE_DEG), _half(draft.body)
    return _eye(up_deg, 1.0, half), _eye(up_deg, -1.0, half)


def _steepest_deg(lines: BoardLines) -> float:
    """Return how steeply, at most, the deck rises towards the nose, in degrees."""
    x = np.linspace(0.0, lines.length_mm, SLOPE_PLACES)
    deck = lines.bottom(x) + lines.thickness(x)
    return float(np.degrees(np.arctan((np.diff(deck) / np.diff(x)).max())))


def _eye(up_deg: float, sense: float, half: Face) -> Eye:
    """Return the eye ahead of a board and above it (sense 1), or behind and below with the bottom up (-1)."""
    up, around = np.radians(up_deg), np.radians(ROUND_DEG)
    ahead, aside = np.cos(up) * np.cos(around), -np.cos(up) * np.sin(around)
    full = eye((sense * ahead, aside, sense * np.sin(up)), (0.0, 0.0, sense), 1.0)
    across = np.concatenate([full.seen(face.points)[..., 0] for face in (half, half.mirrored())])
    return replace(full, scale=float(np.ptp(across)) / (WIDTH_MM - 2 * MARGIN_MM))


def _view(faces: Sequence[Face], seen_by: Eye, name: str) -> Drawing:
    """Return the picture of faces, the furthest first, on paper."""
    return Drawing(name=name).joined(*(toned(face, seen_by, f"{name}-{i}") for i, face in enumerate(faces)))


def _far_first(faces: Sequence[Face], seen_by: Eye) -> list[Face]:
    """Return faces in the order in which they cover one another."""
    return sorted(faces, key=lambda face: float(product(face.points, seen_by.axes[2]).mean()))


def _half(body: Body, since: float = 0.0) -> Face:
    """Return the port side of a board from v = `since`, a joint, to the deck, as (u, v)."""
    return _face(body.port, 1.0, since=since)


def _face(surface: Surface, sense: float, since: float = 0.0, until: float = 1.0) -> Face:
    """Return a surface between two of its joints in v as a face, outward S_v x S_u times `sense`."""
    u, v = surface.breaks
    ends = surface.joints[(surface.joints >= since) & (surface.joints <= until)]
    stretches = [v[(v >= a) & (v <= b)] for a, b in itertools.pairwise(ends)]
    # The last of a stretch is taken from its own side of the joint.
    sided = np.concatenate([np.append(stretch[:-1], np.nextafter(stretch[-1], 0.0)) for stretch in stretches])
    at = np.clip(u, POLE, 1.0 - POLE)
    outward = sense * np.cross(surface.grid(at, sided, dv=1), surface.grid(at, sided, du=1))
    return Face(points=surface.grid(u, sided), normals=outward / lengths(outward)[..., None])


def _whole(half: Face, *, deck: bool) -> Face:
    """Return both halves round the rails, cut apart along the stringer where it is not seen."""
    port = half if deck else half.reversed()
    return _side_by_side(port, port.mirrored())


def _side_by_side(one: Face, other: Face) -> Face:
    """Return one face from its first column to its last, and another on from its last back to its first."""
    back = other.reversed()
    return Face(
        points=np.concatenate([one.points, back.points], axis=1),
        normals=np.concatenate([one.normals, back.normals], axis=1),
    )


def _walls(body: Body) -> list[Face]:
    """Return the wall of a cut-off tail, from corner to corner."""
    if body.end != "wall":
        return []
    v = body.port.breaks[1]
    low, high = v[v <= body.wall_corner], v[v >= body.wall_corner]
    edge, along = body.port.grid([0.0], low)[0], body.port.grid([0.0], low, dv=1)[0]
    deck = body.port.grid([0.0], high)[0, ::-1]
    upper = np.column_stack([edge[:, :2], np.interp(edge[:, 1], deck[:, 1], deck[:, 2])])
    aft = np.column_stack([-along[:, 1], along[:, 0], np.zeros(len(low))])
    normals = np.broadcast_to(aft / lengths(aft)[:, None], (2, len(low), 3))
    port = Face(points=np.stack([edge, upper]), normals=normals).reversed()
    return [_side_by_side(port, port.mirrored())]


def _stood(stand: Stand, fin: Body) -> list[Face]:
    """Return a fin in its places on the board, one face round both sides from trailing edge to trailing edge."""
    outer = _face(fin.port, 1.0)
    # The trailing edge of a foil that is not the same on both sides is all on the outer one.
    corner = float(fin.port.joints[-2])
    inner = outer.mirrored() if fin.starboard is None else _face(fin.starboard, -1.0, until=corner)
    own = _side_by_side(outer.reversed(), inner.reversed())
    port = Face(points=stand.rear_mm + product(own.points, stand.axes), normals=product(own.normals, stand.axes))
    return [port] if len(stand.sides) == 1 else [port, port.mirrored()]


def _page(board: Board, deck: Drawing, bottom: Drawing) -> Drawing:
    """Return two views over one another with the board's name under them."""
    foot = MARGIN_MM + NAME_CAPS_MM + 2 * SIZE_CAPS_MM
    y, placed = foot + GAP_MM, []
    for view in (bottom, deck):
        left, low, right, high = view.bounds
        placed.append(view.moved((WIDTH_MM - left - right) / 2, y - low))
        y += high - low + GAP_MM
    sizes = (board.length_mm, board.wide_point.value)
    labels = (
        Label(
            text=board.name,
            x_mm=MARGIN_MM,
            y_mm=MARGIN_MM + 2 * SIZE_CAPS_MM,
            height_mm=NAME_CAPS_MM,
            layer=LETTERING,
            bold=True,
        ),
        Label(
            text=" × ".join(map(feet_inches, sizes)),
            x_mm=MARGIN_MM,
            y_mm=MARGIN_MM,
            height_mm=SIZE_CAPS_MM,
            layer=QUIET,
        ),
    )
    page = Drawing(name=f"{board.slug}-picture", labels=labels, page_mm=(WIDTH_MM, y + MARGIN_MM - GAP_MM))
    return page.joined(*placed)
