"""G-code for routers: a toolpath as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from math import hypot
from pathlib import Path

from bayloft.arithmetic import NOISE_DECIMALS
from bayloft.cutting.carving.paths import CarveProgram
from bayloft.cutting.routing.moves import Move
from bayloft.cutting.routing.toolpath import Toolpath
from bayloft.export.lettering import single_line
from bayloft.findings import Finding
from bayloft.plane.segments import Segment
from bayloft.spec.shops.dialects import Dialect
from bayloft.spec.shops.shop import Cutter
from bayloft.tolerances import FLATTENING_MM, FLATTEST_ARC_MM, GCODE_DECIMALS

LONGEST_COMMENT = 72
"""Characters: controllers keep lines of 80 to 256 (common practice, no source)."""

CAUTION = (
    "CAUTION: run the dry-run file first. Clamp clear of all paths.",
    "Use guards, eye, ear and dust protection. Try feed and depth on scrap.",
    "Manuals of machine, cutter and stock, and local codes, come first.",
)
"""Stated once in each file."""

_MODES = ("G17 G21 G40 G54 G80 G90 G94", "G91.1")
"""Plane, millimetres, no compensation, first work place, no cycle, absolute places, feed per minute; relative centres
of arcs.
"""

_NUMBER_STEP = 10
"""Line numbers leave room for lines put in by hand (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutFiles:
    """A sheet's proved files as text: the cut, the same in the air with the spindle off, how many minutes the cut takes
    at its feeds (without speeding up and slowing down), how many tabs it leaves, and all that was found.
    """

    cut: str
    air: str
    minutes: float
    tabs: int
    findings: tuple[Finding, ...]

    def write(self, folder: Path, stem: str) -> tuple[Path, ...]:
        """Write `stem`.nc and `stem`-dry-run.nc into a folder, with line feeds on every system; return their paths."""
        written = []
        for name, text in ((f"{stem}.nc", self.cut), (f"{stem}-dry-run.nc", self.air)):
            written.append(folder / name)
            written[-1].write_bytes(text.encode("ascii"))
        return tuple(written)


def written(path: Toolpath, dialect: Dialect, *, air: bool = False) -> str:
    """Return the G-code of a toolpath: millimetres, x and y from the sheet's lower left corner, z from its top.

    Every move says its own word; arcs have their centre relative to their start, from ends as rounded, or are lines
    where that would break the arc rule. In the air everything is lifted until its lowest point is at travel height
    above the stock, and the spindle stays off.
    """
    body = _Body(dialect=dialect, lift_mm=path.job.depth_mm + path.job.machine.travel_height_mm if air else 0.0)
    stages = [(f"{stage.kind}, {stage.part}", stage.moves) for stage in path.stages]
    return _framed([*_head(path, dialect, air=air), *_moved(stages, body)], dialect)


def written_carving(program: CarveProgram, dialect: Dialect, *, air_lift_mm: float | None = None) -> str:
    """Return the G-code of a program that carves: millimetres, in the axes of its set-up, z from the bed. With
    `air_lift_mm` it is the dry run: all of it lifted by so much, the spindle off.
    """
    body = _Body(dialect=dialect, lift_mm=air_lift_mm or 0.0)
    head: list[str] = []
    if air_lift_mm is not None:
        head.append(comment("DRY RUN, SPINDLE OFF" if air_lift_mm else "DRY RUN WITHOUT A BLOCK, SPINDLE OFF"))
    head += [comment("program", program.title), *(comment(*note.split(" ", 1)) for note in program.notes)]
    cutter = program.cutter
    head.append(
        comment(
            "cutter", f"{cutter.diameter_mm:g} mm {cutter.kind}, {cutter.flutes} flutes, {cutter.spindle_rpm:g} rpm"
        )
    )
    head += map(comment, CAUTION)
    head += [*_MODES, f"G0 Z{_fixed(program.safe_mm + (air_lift_mm or 0.0))}"]
    if air_lift_mm is None:
        head += _turning(cutter, dialect)
    return _framed([*head, *_moved(program.stages, body)], dialect)


def _framed(lines: list[str], dialect: Dialect) -> str:
    """Return the lines of a program with its end, as a dialect frames them."""
    lines = [*lines, "M5", "M30"]
    if dialect.numbered:
        numbers = count(_NUMBER_STEP, _NUMBER_STEP)
        lines = [line if line.startswith("(") else f"N{next(numbers)} {line}" for line in lines]
    if dialect.percent:
        lines = ["%", *lines, "%"]
    return "\n".join(lines) + "\n"


def comment(word: str, text: str = "") -> str:
    """Return a text as a comment that begins with a word of ours: a controller may obey a comment that begins with one
    of its own and a comma, whatever it is that a board is called. ASCII on one line, without the marks that end a
    comment, begin another, or that a controller takes out of the stream even there (! ? ~; from memory).
    """
    line = single_line(f"{word} {text}")
    plain = "".join(mark if " " <= mark <= "~" and mark not in "()%;!?~" else "-" for mark in line)
    return f"({plain[:LONGEST_COMMENT].strip()})"


def _head(path: Toolpath, dialect: Dialect, *, air: bool) -> Iterator[str]:
    job = path.job
    if air:
        yield comment("DRY RUN IN THE AIR, SPINDLE OFF")
    yield comment("program", job.name)
    yield comment("stock", f"{job.stock.length_mm:g} x {job.stock.width_mm:g} x {job.stock.thickness_mm:g} mm")
    yield comment("places in millimetres; x0 y0 lower left corner, z0 top of the stock")
    yield comment(
        "cutter",
        f"{job.cutter.diameter_mm:g} mm, {job.cutter.flutes} flutes, {job.cutter.spindle_rpm:g} rpm,"
        f" feed {job.feed_mm_min:.0f} mm/min",
    )
    yield comment("way", f"{job.cutting.way}, entry by {job.cutting.entry}, {len(path.tabs)} tabs")
    for line in CAUTION:
        yield comment(line)
    yield from _MODES
    yield f"G0 Z{_fixed(job.machine.travel_height_mm + (job.depth_mm + job.machine.travel_height_mm if air else 0.0))}"
    if not air:
        yield from _turning(job.cutter, dialect)


def _turning(cutter: Cutter, dialect: Dialect) -> Iterator[str]:
    """Yield what starts the spindle, and waits for it."""
    yield f"M3 S{cutter.spindle_rpm:.0f}"
    if dialect.dwell_s:
        yield f"G4 P{dialect.dwell_s:.1f}"


def _moved(stages: Sequence[tuple[str, Sequence[Move]]], body: _Body) -> Iterator[str]:
    for number, (name, moves) in enumerate(stages, 1):
        yield comment("step", f"{number} of {len(stages)}: {name}")
        for move in moves:
            yield from body.lines(move)


@dataclass(slots=True, kw_only=True)
class _Body:
    """The state of a program as it is written: where the cutter is as rounded, and the feed last said."""

    dialect: Dialect
    lift_mm: float
    place: tuple[float, float, float] | None = None
    feed: str = ""

    def lines(self, move: Move) -> Iterator[str]:
        """Yield the lines of a move; none for one that goes nowhere."""
        x, y = _rounded(move.x_mm), _rounded(move.y_mm)
        z = _rounded(_rounded(move.z_mm) + self.lift_mm)
        if move.feed_mm_min is None:
            yield f"G0 X{_fixed(x)} Y{_fixed(y)}"
            if self.place is not None and self.place[2] != z:
                yield f"G0 Z{_fixed(z)}"
            self.place = x, y, z
            return
        if self.place is None:
            raise ValueError("a program begins with a rapid move")
        said = f"F{max(move.feed_mm_min, 1.0):.0f}"
        for words, place in self._steps(move, (x, y, z)):
            if place != self.place:
                yield words if said == self.feed else f"{words} {said}"
                self.feed, self.place = said, place

    def _steps(
        self, move: Move, target: tuple[float, float, float]
    ) -> Iterator[tuple[str, tuple[float, float, float]]]:
        """Yield the words of a feed move and where each step of it ends."""
        start = self.place or target
        chord = hypot(target[0] - start[0], target[1] - start[1])
        if abs(move.bulge) * chord / 2 < FLATTEST_ARC_MM:
            yield self._line(start, target), target
            return
        arc = Segment(start=complex(*start[:2]), end=complex(*target[:2]), bulge=move.bulge)
        if self.dialect.arcs:
            i, j = _rounded(arc.centre.real - start[0]), _rounded(arc.centre.imag - start[1])
            sloped = f" Z{_fixed(target[2])}" if target[2] != start[2] else ""
            words = f"X{_fixed(target[0])} Y{_fixed(target[1])}{sloped} I{_fixed(i)} J{_fixed(j)}"
            radii = hypot(i, j), hypot(start[0] + i - target[0], start[1] + j - target[1])
            if abs(radii[0] - radii[1]) <= FLATTEST_ARC_MM:
                yield f"{'G3' if move.bulge > 0.0 else 'G2'} {words}", target
                return
        parts = arc.parts_within(FLATTENING_MM)
        before = start
        for k in range(1, parts + 1):
            at, z = arc.at(k / parts), start[2] + (target[2] - start[2]) * k / parts
            place = target if k == parts else (_rounded(at.real), _rounded(at.imag), _rounded(z))
            yield self._line(before, place), place
            before = place

    def _line(self, start: tuple[float, float, float], target: tuple[float, float, float]) -> str:
        words = "G1"
        if target[:2] != start[:2]:
            words += f" X{_fixed(target[0])} Y{_fixed(target[1])}"
        if target[2] != start[2]:
            words += f" Z{_fixed(target[2])}"
        return words


def _rounded(value: float) -> float:
    """Return a coordinate as written; rounded first to below any machine's last bits, so that halves fall alike."""
    return round(round(float(value), NOISE_DECIMALS), GCODE_DECIMALS) + 0.0


def _fixed(value: float) -> str:
    """Return a coordinate with all its decimals: old controllers take a number without a point for its last digit."""
    return f"{_rounded(value):.{GCODE_DECIMALS}f}"
