"""A foil from a coordinate file: an optional name, then rows of x and y, as upper and lower list or as one loop."""

from __future__ import annotations

import math
import stat
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from bayloft.errors import Fault, SpecError
from bayloft.spec.fins.fin import FoilSection
from bayloft.spec.text.encoding import NOT_ONE_BYTE, SAVE_AS_UTF_8, two_bytes_a_letter
from bayloft.spec.text.kept import keep
from bayloft.tolerances import MAX_SECTION_BYTES

LEAST_POINTS = 5
"""Points of one face: fewer do not tell a foil."""
X_RANGE = (-0.05, 1.05)
"""x in chords; outside, the file is in another unit or no foil."""
Y_MOST = 0.5
"""Chords from the plane of the fin: what lies farther out is no foil."""
NOSE_APART = 0.002
"""Chords by which the first points of upper and lower list may lie apart, or behind the nose, and be one nose."""
EDGE_APART = 0.05
"""Chords: thickest trailing edge that still counts as closed."""
END_APART = 0.01
"""Chords by which a face may end short of the trailing edge; it is taken to end there."""
STILL = 1e-9
"""Chords: x that changes by less does not change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    line: int
    x: float
    y: float


class _File:
    """The name of a file, to tell its faults."""

    def __init__(self, path: Path) -> None:
        self.name = str(path)

    def fault(
        self, problem: str, *, line: int | None = None, value: str = "", allowed: str = "", hint: str = ""
    ) -> SpecError:
        shown = "".join(letter if letter.isprintable() else "?" for letter in value[:100])
        return SpecError(
            (Fault(file=self.name, line=line, path=(), value=shown, problem=problem, allowed=allowed, hint=hint),)
        )


def read_section(path: Path) -> FoilSection:
    """Return the foil of a coordinate file.

    Either order is known by its x: twice rising is an upper and a lower list, each from the nose back, with or without
    a row of their two counts ahead; falling and then rising is one loop from the trailing edge round the nose. The face
    that lies higher is the outer one. x and y are divided by the chord, the greatest x less the least.

    Raises
    ------
    SpecError : the file cannot be read, is too large, or is no foil, with the line and the reason.
    """
    file = _File(path)
    name, rows, counts = _rows(file, _text(file, path))
    halves = _halves(file, rows, counts)
    nose = min(row.x for row in rows)
    chord = max(row.x for row in rows) - nose
    for half in halves:
        _whole(file, half, nose, chord)
    one, other = (tuple(((row.x - nose) / chord, row.y / chord) for row in half) for half in halves)
    if abs(one[0][1] - other[0][1]) > NOSE_APART:
        raise _apart(
            file, "the two faces do not meet at the nose", halves[1][0], abs(one[0][1] - other[0][1]), NOSE_APART
        )
    if abs(one[-1][1] - other[-1][1]) > EDGE_APART:
        gap = abs(one[-1][1] - other[-1][1])
        raise _apart(file, "the trailing edge is not closed enough", halves[1][-1], gap, EDGE_APART)
    if _middle(one) < _middle(other):
        one, other, halves = other, one, halves[::-1]
    start = (0.0, (one[0][1] + other[0][1]) / 2)
    outer, inner = ((start, *points[1:-1], (1.0, points[-1][1])) for points in (one, other))
    _uncrossed(file, outer, inner, halves)
    return FoilSection(name=name or path.stem, outer=outer, inner=inner)


def _text(file: _File, path: Path) -> str:
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            raise file.fault("is not a file", allowed="a text file of foil coordinates")
        if status.st_size > MAX_SECTION_BYTES:
            allowed = f"at most {MAX_SECTION_BYTES // 1024} KiB"
            raise file.fault("is too large for a foil", value=f"{status.st_size} bytes", allowed=allowed)
        data = path.read_bytes()
        keep(path, data)
    except OSError as error:
        raise file.fault(f"cannot be read: {error.strerror}") from error
    if two_bytes_a_letter(data):
        raise file.fault(f"not plain text, but {NOT_ONE_BYTE}", hint=SAVE_AS_UTF_8)
    # Only the foil's name has letters; one that was saved in an older encoding harms nothing.
    return data.decode("utf-8-sig", errors="replace")


def _numbers(text: str) -> tuple[float, float] | None:
    """Return the two numbers of a row, or None where it has none such."""
    try:
        x, y = map(float, text.split())
    except ValueError:
        return None
    return (x, y) if "_" not in text else None


def _rows(file: _File, text: str) -> tuple[str, tuple[_Row, ...], tuple[int, int] | None]:
    """Return the foil's name, its rows, and the two counts where a row of them stands ahead."""
    name, counts = "", None
    rows: list[_Row] = []
    for line, content in enumerate(text.splitlines(), 1):
        if not content.strip():
            continue
        pair = _numbers(content)
        if pair is None:
            if not rows and not name and counts is None:
                name = content.strip()
                continue
            hint = "a decimal point, no comma: 0.05 0.0355" if "," in content else ""
            raise file.fault("not two numbers", line=line, value=content, allowed="x and y of a point", hint=hint)
        if not all(map(math.isfinite, pair)):
            raise file.fault("not a finite number", line=line, value=content)
        if not rows and counts is None and min(pair) >= LEAST_POINTS - 1 and all(each == int(each) for each in pair):
            counts = int(pair[0]), int(pair[1])
            continue
        x, y = pair
        if not (X_RANGE[0] <= x <= X_RANGE[1] and abs(y) <= Y_MOST):
            problem = f"{'x' if not X_RANGE[0] <= x <= X_RANGE[1] else 'y'} is far outside a foil"
            allowed = f"x from 0 at the nose to 1 at the trailing edge, y within {Y_MOST:g} of the plane"
            hint = "coordinates in percent are divided by 100" if 1.0 < max(abs(x), abs(y)) <= 100.0 else ""
            raise file.fault(problem, line=line, value=content.strip(), allowed=allowed, hint=hint)
        rows.append(_Row(line=line, x=x, y=y))
    if len(rows) < 2 * LEAST_POINTS:
        allowed = f"{LEAST_POINTS} or more on each face"
        raise file.fault("too few points for a foil", value=f"{len(rows)} points", allowed=allowed)
    return name, tuple(rows), counts


def _halves(
    file: _File, rows: Sequence[_Row], counts: tuple[int, int] | None
) -> tuple[tuple[_Row, ...], tuple[_Row, ...]]:
    """Return the two faces, each from the nose to the trailing edge."""
    if counts is not None:
        if sum(counts) != len(rows):
            problem = "the counts above the lists are not theirs"
            value, allowed = f"{counts[0]} and {counts[1]}", f"{len(rows)} points together"
            raise file.fault(problem, line=rows[0].line, value=value, allowed=allowed)
        return tuple(rows[: counts[0]]), tuple(rows[counts[0] :])
    nose = min(range(len(rows)), key=lambda i: (rows[i].x, abs(rows[i].y)))
    if rows[0].x > rows[len(rows) // 4].x:
        return tuple(rows[nose::-1]), tuple(rows[nose:])
    falls = [i for i in range(1, len(rows)) if rows[i].x < rows[i - 1].x - STILL]
    if len(falls) != 1:
        line = rows[falls[1]].line if falls else None
        problem = "x neither rises twice nor falls and rises once"
        allowed = "an upper and a lower list from the nose back, or one loop from the trailing edge round the nose"
        raise file.fault(problem, line=line, allowed=allowed)
    return tuple(rows[: falls[0]]), tuple(rows[falls[0] :])


def _whole(file: _File, half: Sequence[_Row], nose: float, chord: float) -> None:
    """Raise SpecError where a face has too few points, runs back, or does not reach from nose to trailing edge."""
    if len(half) < LEAST_POINTS:
        raise file.fault(
            "too few points on one face",
            line=half[0].line if half else None,
            value=f"{len(half)} points",
            allowed=f"{LEAST_POINTS} or more",
        )
    for before, after in pairwise(half):
        if after.x <= before.x + STILL:
            problem = "x does not go on along this face: a point twice, out of order, or a face that folds"
            later = max(before, after, key=lambda row: row.line)
            raise file.fault(problem, line=later.line, value=f"{later.x:g} {later.y:g}")
    first, last = (half[0].x - nose) / chord, (half[-1].x - nose) / chord
    if first > NOSE_APART or last < 1.0 - END_APART:
        row = half[0] if first > NOSE_APART else half[-1]
        end = "the nose" if first > NOSE_APART else "the trailing edge"
        raise file.fault(f"this face ends short of {end}", line=row.line, value=f"{row.x:g} {row.y:g}")


def _apart(file: _File, problem: str, row: _Row, gap: float, most: float) -> SpecError:
    return file.fault(problem, line=row.line, value=f"{gap:.2%} of the chord apart", allowed=f"up to {most:.1%}")


def _at(points: Sequence[tuple[float, float]], x: float) -> float:
    """Return y on the straight lines between points at x."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]


def _middle(points: Sequence[tuple[float, float]]) -> float:
    return sum((x1 - x0) * (y0 + y1) / 2 for (x0, y0), (x1, y1) in pairwise(points))


def _uncrossed(
    file: _File,
    outer: Sequence[tuple[float, float]],
    inner: Sequence[tuple[float, float]],
    halves: tuple[tuple[_Row, ...], tuple[_Row, ...]],
) -> None:
    """Raise SpecError at the first point between nose and trailing edge that lies on the other face or beyond it."""
    for points, others, sign, half in ((outer, inner, 1.0, halves[0]), (inner, outer, -1.0, halves[1])):
        for (x, y), row in zip(points[1:-1], half[1:-1], strict=True):
            if sign * (y - _at(others, x)) <= 0.0:
                value = f"{row.x:g} {row.y:g}"
                raise file.fault(
                    "the foil crosses itself: this point lies beyond the other face", line=row.line, value=value
                )
    if outer[-1][1] < inner[-1][1]:
        row = halves[0][-1]
        raise file.fault("the foil crosses itself at its trailing edge", line=row.line, value=f"{row.x:g} {row.y:g}")
