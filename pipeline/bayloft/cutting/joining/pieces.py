"""A part in pieces: cut where it is straight and nothing stands, with joints that bring its contour back exactly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from string import ascii_uppercase

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.joining.joints import LAP_MM, Joint, joint_at, overlap_mm, reach_mm
from bayloft.cutting.joining.writing import Block, blocks, box_of, can_move, middle_of
from bayloft.cutting.sheets.packing import ROUNDING_MM, fits, size_mm
from bayloft.drawing.inscription import Note, inscribed
from bayloft.drawing.labels import bounds
from bayloft.drawing.marks import CHECK_MM, line
from bayloft.drawing.part import Part
from bayloft.drawing.scribing import NOSE, Head
from bayloft.drawing.sheet import CUT, DRILL, MARK, Drawing, Label, Layer
from bayloft.drawing.strokes import strokes
from bayloft.errors import BayloftError
from bayloft.plane.contour import Contour
from bayloft.plane.parting import between, crossings, crossings_at, parted
from bayloft.spec.shops.shop import Cutting
from bayloft.tolerances import SHORTEST_CUT_MM

Array = NDArray[np.float64]

STEP_MM = 2.5
"""Between the places tried for a joint."""

LETTER_MM, MATCH_MM = 7.0, 5.0
"""Height of a match mark, and its distance from the joint."""

MATCH_ROOM_MM = 16.0
"""Before and after a joint, free of marks and texts, for its match marks."""

LEAST_PIECE_MM = 160.0
"""Length of a piece below which it has no room for its check line and its joints."""

MOST_PIECES = 12

STEEPEST = 0.35
"""Slope of an edge beyond which no joint is cut there: the corner would be too sharp to last."""

BENT_WEIGHT, STEEP_WEIGHT, EVEN_WEIGHT = 1e3, 2.0, 1.0
"""What counts against a joint: the curvature (1/mm) and the slope of both edges, and how unlike the pieces' lengths are
(the square of their share of the mean)."""


class NoPieceError(BayloftError):
    """A part that no joint can make fit a room, and why."""


def pieced(part: Part, length_mm: float, width_mm: float, cutting: Cutting) -> tuple[Part, ...]:
    """Return a part in as few pieces as fit a length (along its x axis) and a width, tail first; itself where it fits.

    The pieces stay where they are in the part, so that their outlines together, with the gap of the fit round a key or
    at a lap's shoulders, are the part's own. Joints stand clear of marks and holes, where the part's edges are
    straightest, and of texts too; only where that cannot be are level texts set anew beside the joint, on the piece
    that holds most of them. Each piece has its name, its number (the part's and its own), a check line and match marks;
    what stood on the part is on the piece that holds it, but for the number. A butt joint adds its splice plate, last.

    Raises NoPieceError where the part is too wide, or no set of joints brings it down to the length.
    """
    left, _, right, _ = part.outline.bounds
    size, room = size_mm(part), (length_mm, width_mm)
    if fits(size, room):
        return (part,)
    if size[1] > width_mm + ROUNDING_MM:
        raise NoPieceError("too wide for every sheet, and parts are cut in pieces along their length only")
    outline = part.outline if part.outline.area_mm2 > 0.0 else part.outline.reversed()
    written = tuple(label for label in part.drawing.labels if label not in part.head)
    for fixed in (written, tuple(label for label in written if not can_move((label,)))):
        candidates = list(_candidates(part, fixed, outline, cutting))
        joints = _chosen(candidates, (left, right), length_mm, cutting)
        if joints is not None:
            return (*_pieces(part, outline, joints, cutting), *_plates(part, joints))
    raise NoPieceError(f"too long, and no {cutting.joint} joints clear of marks make pieces that short")


def _candidates(
    part: Part, fixed: Sequence[Label], outline: Contour, cutting: Cutting
) -> Iterator[tuple[Joint, float]]:
    """Yield the joints that could be cut, by station, each with what counts against it."""
    left, _, right, _ = outline.bounds
    before, after = _room_mm(cutting)
    taken = np.array([(low, high) for low, high in _taken(part, fixed)]).reshape(-1, 2)
    places = np.arange(left + LEAST_PIECE_MM, right - LEAST_PIECE_MM, STEP_MM).round(3)
    places = places[~((taken[:, :1] < places + after) & (taken[:, 1:] > places - before)).any(axis=0)]
    for x, edges in zip(places.tolist(), crossings_at(outline, places), strict=True):
        steep = max((abs(edge.slope) for edge in edges), default=0.0)
        if len(edges) != 2 or steep > STEEPEST or not _clean(outline, x, cutting):
            continue
        joint = joint_at(outline, x, cutting)
        if joint is not None:
            bent = sum(edge.curvature for edge in edges)
            yield joint, BENT_WEIGHT * bent + STEEP_WEIGHT * sum(abs(edge.slope) for edge in edges)


def _clean(outline: Contour, x_mm: float, cutting: Cutting) -> bool:
    """Whether no sliver of a line or an arc is left between a joint and the next point of the outline."""
    before, after = overlap_mm(cutting.joint)
    ends = (x_mm - before + cutting.fit_mm, x_mm + after - cutting.fit_mm) if cutting.joint == "half-lap" else (x_mm,)
    found = [edge for x in ends for edge in crossings(outline, x)]
    return all(edge.off_ends_mm > 2.0 * SHORTEST_CUT_MM for edge in found)


def _room_mm(cutting: Cutting) -> tuple[float, float]:
    """Return how far before and after a joint its own shape and its match marks reach."""
    before, after = reach_mm(cutting.joint)
    return before + MATCH_ROOM_MM, after + MATCH_ROOM_MM


def _taken(part: Part, fixed: Sequence[Label]) -> Iterator[tuple[float, float]]:
    """Yield the stretches along the part in which something is marked, written, drilled or cut out; not level lines
    that run on, which a joint may cut.
    """
    outline = part.outline
    for _, contour in part.drawing.contours:
        if contour is not outline and not _runs_on(contour):
            yield contour.bounds[0], contour.bounds[2]
    for label in fixed:
        box = bounds(label)
        # What stands beside the part is not cut through.
        if box[3] > outline.bounds[1] and box[1] < outline.bounds[3]:
            yield box[0], box[2]


def _runs_on(contour: Contour) -> bool:
    """Whether a contour is a straight level line longer than a check line."""
    (left, low), (right, high) = contour.points.min(axis=0).tolist(), contour.points.max(axis=0).tolist()
    straight = not contour.closed and len(contour.points) == 2 and contour.bulges[0] == 0.0
    return bool(straight and low == high and right - left > CHECK_MM + 1.0)


def _chosen(
    candidates: Sequence[tuple[Joint, float]], ends: tuple[float, float], length_mm: float, cutting: Cutting
) -> list[Joint] | None:
    """Return the joints with the least against them that make the fewest pieces no longer than a length, or None.

    A shortest path from the left end over the joints to the right end, for each number of pieces in turn.
    """
    before, after = overlap_mm(cutting.joint)
    x = np.array([ends[0], *(joint.x_mm for joint, _ in candidates), ends[1]])
    against = np.array([0.0, *(count for _, count in candidates), 0.0])
    starts, stops = x - before, x + after
    starts[0], stops[-1] = x[0], x[-1]
    apart = x[None, :] - x[:, None]
    allowed = (stops[None, :] - starts[:, None] <= length_mm) & (apart >= LEAST_PIECE_MM)
    for count in range(2, MOST_PIECES + 1):
        even = (ends[1] - ends[0]) / count
        step = np.where(allowed, against[None, :] + EVEN_WEIGHT * (apart / even - 1.0) ** 2, np.inf)
        total, came = np.full(len(x), np.inf), []
        total[0] = 0.0
        for _ in range(count):
            ways = total[:, None] + step
            came.append(ways.argmin(axis=0))
            total = ways.min(axis=0)
        if np.isfinite(total[-1]):
            path = [len(x) - 1]
            for back in reversed(came):
                path.append(int(back[path[-1]]))
            return [candidates[i - 1][0] for i in path[-2:0:-1]]
    return None


def _pieces(part: Part, outline: Contour, joints: Sequence[Joint], cutting: Cutting) -> Iterator[Part]:
    """Yield the pieces from left to right."""
    count = len(joints) + 1
    for i, (before, after) in enumerate(pairwise([None, *joints, None])):
        contours = _held(part, before, after)
        shape = _outline(outline, before, after)
        contours = [(CUT, shape), *contours, *_match_marks(shape, before, after, i, cutting)]
        for joint in (before, after):
            contours += [(DRILL, hole) for hole in joint.holes if _on(hole, shape)] if joint else []
        own = [*_own(part, before, after, cutting)]
        moved = [Note(texts=tuple(label.text for label in b), near_mm=middle_of(b)) for b, moves in own if moves]
        title = f"{part.title}, piece {i + 1} of {count}"
        low, bottom, high, top = shape.bounds
        drawing = Drawing(
            name=f"{part.drawing.name}-piece-{i + 1}",
            contours=tuple(contours),
            labels=tuple(label for block, moves in own if not moves for label in block),
        )
        checked = any(layer is MARK and contour.length_mm == CHECK_MM for layer, contour in contours)
        yield inscribed(
            replace(part, drawing=drawing, title=title),
            Head(
                kind=part.title,
                number=f"{part.number}-{i + 1}",
                station=f"{i + 1} OF {count}",
                board=part.board,
                day=part.day,
                nose=any(NOSE in label.text for label in part.head),
            ),
            [*moved, *_told(shape, before, after, cutting)],
            near_mm=((low + high) / 2, (bottom + top) / 2),
            check=not checked,
        )


def _on(hole: Contour, shape: Contour) -> bool:
    """Whether a hole is in a piece: those of a lap are in both."""
    return bool(shape.bounds[0] < hole.bounds[0] and hole.bounds[2] < shape.bounds[2])


def _outline(outline: Contour, before: Joint | None, after: Joint | None) -> Contour:
    """Return a piece's outline, counter-clockwise: the part's own edges between two joints, and theirs."""
    start = None if before is None else float(before.right.points[0, 0])
    stop = None if after is None else float(after.left.points[0, 0])
    ends = [] if after is None else [after.left], [] if before is None else [before.right.reversed()]
    if start is None and stop is None:
        return outline
    if start is None:
        return Contour.joined(parted(outline, float(stop or 0.0))[0], *ends[0], closed=True)
    if stop is None:
        return Contour.joined(parted(outline, start)[1], *ends[1], closed=True)
    lower, upper = between(outline, start, stop)
    return Contour.joined(lower, *ends[0], upper, *ends[1], closed=True)


def _held(part: Part, before: Joint | None, after: Joint | None) -> list[tuple[Layer, Contour]]:
    """Return what is marked, drilled and cut out on a piece; level lines that run on end at its joints."""
    low = -np.inf if before is None else before.x_mm
    high = np.inf if after is None else after.x_mm
    found: list[tuple[Layer, Contour]] = []
    outline = part.outline
    for layer, contour in part.drawing.contours:
        left, _, right, _ = contour.bounds
        if contour is outline or right < low or left > high:
            continue
        if _runs_on(contour):
            y = float(contour.points[0, 1])
            found.append((layer, Contour.straight([[max(left, low), y], [min(right, high), y]], closed=False)))
        else:
            found.append((layer, contour))
    return found


def _own(part: Part, before: Joint | None, after: Joint | None, cutting: Cutting) -> Iterator[tuple[Block, bool]]:
    """Yield the blocks of text that belong to a piece, and whether they are in the way of its joints; not the head of
    the part, in whose place each piece has its own.
    """
    back, ahead = _room_mm(cutting)
    for block in blocks([label for label in part.drawing.labels if label not in part.head]):
        x, box = middle_of(block)[0], box_of(block)
        if (before is None or x > before.x_mm) and (after is None or x <= after.x_mm):
            ends = [joint.x_mm for joint in (before, after) if joint is not None]
            yield block, any(box[0] < end + ahead and box[2] > end - back for end in ends) and can_move(block)


def _match_marks(
    shape: Contour, before: Joint | None, after: Joint | None, place: int, cutting: Cutting
) -> Iterator[tuple[Layer, Contour]]:
    """Yield the strokes of a letter on each side of a joint, at half the height of the piece there, and the line up to
    which a lap is rebated.
    """
    back, ahead = reach_mm(cutting.joint)
    for joint, letter in ((before, place - 1), (after, place)):
        if joint is None:
            continue
        mark = strokes(ascii_uppercase[letter], LETTER_MM)
        wide = mark.bounds[2]
        x = joint.x_mm + ahead + MATCH_MM if joint is before else joint.x_mm - back - MATCH_MM - wide
        low, high = crossings(shape, x + wide / 2)
        yield from mark.moved(x, (low.y_mm + high.y_mm - LETTER_MM) / 2).contours
        if cutting.joint == "half-lap":
            shoulder = joint.x_mm + (ahead if joint is before else -back)
            low, high = crossings(shape, shoulder)
            yield line(MARK, (shoulder, low.y_mm), (shoulder, high.y_mm))


def _told(shape: Contour, before: Joint | None, after: Joint | None, cutting: Cutting) -> Iterator[Note]:
    """Yield what a maker has to know at the joints."""
    for joint, side in ((before, 1.0), (after, -1.0)):
        if joint is None or cutting.joint == "dovetail":
            continue
        x = joint.x_mm + side * (reach_mm(cutting.joint)[0] + MATCH_ROOM_MM + LETTER_MM)
        low, high = shape.bounds[1], shape.bounds[3]
        face = "this face" if side < 0.0 else "the other face"
        told = {
            "half-lap": (f"half-lap {LAP_MM:g} mm:", f"rebate {face}", "to half the thickness"),
            "splice": ("splice plate", "on the other face"),
        }
        yield Note(texts=told[cutting.joint], near_mm=(x + side * 40.0, (low + high) / 2))


def _plates(part: Part, joints: Sequence[Joint]) -> Iterator[Part]:
    """Yield the splice plates, each where it lies on the part."""
    for i, joint in enumerate(joints):
        if joint.plate is None:
            continue
        title = f"{part.title}, splice plate {ascii_uppercase[i]}"
        contours: list[tuple[Layer, Contour]] = [(CUT, joint.plate), *((DRILL, hole) for hole in joint.holes)]
        _, low, _, high = joint.plate.bounds
        contours.append(line(MARK, (joint.x_mm, low), (joint.x_mm, high)))
        drawing = Drawing(name=f"{part.drawing.name}-plate-{i + 1}", contours=tuple(contours))
        number = f"{part.number}-{ascii_uppercase[i]}"
        head = Head(kind="splice plate", brief="splice", number=number, board=part.board, day=part.day)
        yield inscribed(replace(part, drawing=drawing, title=title), head, check=False)
