"""From readings of a board that exists to its spec, and a drawing of the readings on its lines."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from bayloft.drawing.sheets.readings_sheet import ReadMark, readings_sheet
from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.lift.lifted import Lifted, written
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.lifting import AT_MM, LiftedNumbers, Top, lifted
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import board_of
from bayloft.spec.readings.taken import SheetReadings, load_readings
from bayloft.spec.readings.written import Figure, SpecParts, spec_text
from bayloft.spec.text.given import Given
from bayloft.spec.text.source import Source, parsed
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual:
    """A reading of the outline, the rocker or the thickness: what was read and what is drawn, mm."""

    what: str
    x_mm: float
    read_mm: float
    drawn_mm: float
    path: KeyPath

    @property
    def off_mm(self) -> float:
        """As drawn less as read."""
        return self.drawn_mm - self.read_mm


def lifted_board(source: Source, folder: str | os.PathLike[str]) -> Lifted:
    """Write the spec of a board from readings, and a drawing of both, into a folder. Raises as `sheet.lift` does."""
    taken = load_readings(source)
    found = lifted(taken)
    parts = _parts(taken, found)
    text, came_from = spec_text(taken, parts, {})
    lines = _lines(taken, text, came_from)
    residuals = tuple(_residuals(taken, parts, lines))
    text, _ = spec_text(taken, parts, {residual.path: residual.drawn_mm for residual in residuals})
    marks = [ReadMark(each.what, each.x_mm, each.read_mm, each.drawn_mm, taken.play_mm) for each in residuals]
    files = written(folder, taken.name, "board", text, readings_sheet(taken.name, lines, marks))
    worst = max(residuals, key=lambda residual: abs(residual.off_mm))
    said = [
        f"lines within {taken.play_mm:.3g} mm of every reading; most off: the {worst.what} "
        f"{worst.x_mm:.0f} mm from the tail, read {worst.read_mm:.1f}, drawn {worst.drawn_mm:.1f} mm"
    ]
    if (glass := taken.glass).rail_mm:
        said.append(
            f"of the foam: {glass.deck_mm:.2f} mm of laminate taken off the deck, {glass.bottom_mm:.2f} mm off the "
            f"bottom, {glass.rail_mm:.2f} mm off either rail"
        )
    return Lifted(name=taken.name, readings=len(residuals), files=files, said=(*said, *_said(parts)))


def _lines(taken: SheetReadings, text: str, came_from: Mapping[KeyPath, KeyPath]) -> BoardLines:
    """Return the lines of the spec; what is wrong with one of its numbers is told of the reading it came from."""
    over = taken.glass.rail_mm
    foam = f" (sizes told here are of the foam: {over:.1f} mm of glass on either rail is taken off)" if over else ""

    def at_home(given: Given) -> Given:
        return replace(given, path=came_from.get(given.path, given.path))

    def all_at_home(given: Iterable[Given]) -> tuple[Given, ...]:
        return tuple(map(at_home, given))

    def told_at_home(fault: Fault) -> Fault:
        path = came_from.get(fault.path, fault.path)
        return taken.source.fault(path, fault.value, fault.problem, fault.allowed, fault.hint + foam)

    try:
        board: Board = board_of(parsed(taken.source.file, text))
    except SpecError as error:
        raise SpecError(tuple(map(told_at_home, error.faults))) from None
    sections = {name: all_at_home(given) for name, given in board.sections.items()}
    at_home_all = replace(
        board,
        source=taken.source,
        widths=all_at_home(board.widths),
        heights=all_at_home(board.heights),
        thicknesses=all_at_home(board.thicknesses),
        sections=sections,
    )
    try:
        return board_lines(at_home_all)
    except SpecError as error:
        raise SpecError(tuple(replace(fault, hint=fault.hint + foam) for fault in error.faults)) from None


def _parts(taken: SheetReadings, found: LiftedNumbers) -> SpecParts:
    def top(at: Top, what: str) -> Figure:
        how = "found: the fairest" if at.found else "some readings are wrong; most likely the"
        return Figure(x_mm=at.x_mm, value_mm=at.value_mm, why=f"{how} {what}")

    ends = []
    for x, mm in zip((0.0, taken.length_mm), found.ends_mm, strict=True):
        read = any(abs(number.x_mm - x) <= AT_MM for number in found.heights)
        ends.append(Figure(x_mm=x, value_mm=mm, why="read" if read else "not read: the rocker carried on to the end"))
    feet = [_thickness_at(taken, x) for x in (NOSE_AND_TAIL_MM, taken.length_mm - NOSE_AND_TAIL_MM)]
    level = {
        "lowest": "found: the bottom is lowest there as it stood",
        "centre": "the straightedge was level there",
        "tail and nose": "level there: what was read from a line between the ends is turned to it",
    }[taken.datum]
    apexes = [
        (number.x_mm, number.value / max(_thickness_at(taken, number.x_mm).value_mm, 1.0))
        for number in taken.of["rail"]
    ]
    return SpecParts(
        wide=top(found.wide, "widest place"),
        thick=top(found.thick, "thickest place"),
        ends=(ends[0], ends[1]),
        heights=found.heights,
        level=Figure(x_mm=found.level_x_mm, value_mm=0.0, why=level),
        feet=(feet[0], feet[1]),
        apexes=tuple(apexes),
    )


def _thickness_at(taken: SheetReadings, x_mm: float) -> Figure:
    """Return the thickness at a station: the one read there, or between the two readings around it."""
    given = taken.of["thickness"]
    near = min(given, key=lambda number: abs(number.x_mm - x_mm))
    if abs(near.x_mm - x_mm) <= AT_MM:
        return Figure(x_mm=x_mm, value_mm=near.value, why="read")
    between = float(np.interp(x_mm, [number.x_mm for number in given], [number.value for number in given]))
    return Figure(x_mm=x_mm, value_mm=between, why="not read: between the readings around it")


def _residuals(taken: SheetReadings, parts: SpecParts, lines: BoardLines) -> Iterable[Residual]:
    """Yield how far the lines are off every reading that they are drawn through, by kind and station."""
    drawn: tuple[tuple[str, tuple[Given, ...], Callable[[float], float]], ...] = (
        ("width", taken.of["width"], lambda x: 2.0 * float(lines.outline.at(x))),
        ("rocker", parts.heights, lambda x: float(lines.rocker.at(x))),
        ("thickness", taken.of["thickness"], lambda x: float(lines.foil.at(x))),
    )
    for what, given, at in drawn:
        for number in given:
            yield Residual(
                what=what, x_mm=number.x_mm, read_mm=number.value, drawn_mm=at(number.x_mm), path=number.path
            )


def _said(parts: SpecParts) -> Iterable[str]:
    """Yield what the spec has that was not read."""
    yield f"wide point {parts.wide.x_mm:.0f} mm from the tail, {parts.wide.why}"
    yield f"thickest {parts.thick.x_mm:.0f} mm from the tail, {parts.thick.why}"
    yield f"bottom level {parts.level.x_mm:.0f} mm from the tail: {parts.level.why}"
    for name, at in zip(("tail rocker", "nose rocker"), parts.ends, strict=True):
        if at.why != "read":
            yield f"{name} {at.value_mm:.1f} mm, {at.why}"
    for name, at in zip(("thickness 12 in from the tail", "thickness 12 in from the nose"), parts.feet, strict=True):
        if at.why != "read":
            yield f"{name} {at.value_mm:.1f} mm, {at.why}"
