"""A volume to reach: thickness, width or both scaled until the board has it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from bayloft.errors import Fault, SpecError
from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals
from bayloft.spec.boards.board import Aim, Board
from bayloft.spec.text.given import Given
from bayloft.tolerances import AIM_L
from bayloft.units import both, litres

MOST_STEPS = 12
FACTORS = (0.5, 2.0)
"""Factors between which a board is still the one that was meant (no source)."""

SHARES = {"thickness": (0.0, 1.0), "width": (1.0, 0.0), "both": (0.5, 0.5)}
"""How much of the change of volume widths and thicknesses take, as exponents of it."""

Drawn = tuple[BoardLines, Body]


def scaled(board: Board, widths: float, thicknesses: float) -> Board:
    """Return a board with all widths, a cut-off tail's block and corners with them, and all thicknesses scaled."""

    def times(given: Given, factor: float) -> Given:
        return replace(given, value=round(given.value * factor, 6))

    def tip(mm: float | None) -> float | None:
        return None if mm is None else round(mm * thicknesses, 6)

    tail = board.tail
    return replace(
        board,
        widths=tuple(times(number, widths) for number in board.widths),
        wide_point=times(board.wide_point, widths),
        tail=replace(
            tail,
            block_mm=round(tail.block_mm * widths, 6),
            corner_radius_mm=round(tail.corner_radius_mm * widths, 6),
        ),
        thicknesses=tuple(times(number, thicknesses) for number in board.thicknesses),
        thickest=times(board.thickest, thicknesses),
        nose_tip_mm=tip(board.nose_tip_mm),
        tail_end_mm=tip(board.tail_end_mm),
    )


def aimed(board: Board, drawn: Callable[[Board], Drawn]) -> tuple[Board, Drawn]:
    """Return the board, scaled to the volume it aims at if there is one, and its lines and body.

    The volume grows nearly as the power of the factor that SHARES sum up to, so that a few steps of the secant method
    find it.

    Raises
    ------
    SpecError
        As `drawn` does for the board as it is given; and where no board within FACTORS has the volume.
    """
    aim = board.aim
    shape = drawn(board)
    if aim is None:
        return board, shape
    widths, thicknesses = SHARES[aim.by]
    reached, tried = board, [(1.0, litres(integrals(shape[1]).volume_mm3))]
    while abs(tried[-1][1] - aim.litres) > AIM_L / 4:
        factor = _next(aim.litres, tried)
        if len(tried) == MOST_STEPS or not FACTORS[0] <= factor <= FACTORS[1]:
            raise SpecError((_out_of_reach(board, aim, tried),))
        reached = scaled(board, factor**widths, factor**thicknesses)
        try:
            shape = drawn(reached)
        except SpecError as error:
            # What stands in the way of a trial is told of numbers that the file has not.
            raise SpecError((_out_of_reach(board, aim, tried),)) from error
        tried.append((factor, litres(integrals(shape[1]).volume_mm3)))
    return replace(reached, aim=replace(aim, factor=tried[-1][0])), shape


def _next(aim_litres: float, tried: list[tuple[float, float]]) -> float:
    """Return the factor to try after those tried with their volumes."""
    factor, found = tried[-1]
    if len(tried) == 1:
        return round(aim_litres / found, 9)
    before, found_before = tried[-2]
    return round(factor + (aim_litres - found) * (factor - before) / (found - found_before), 9)


def _out_of_reach(board: Board, aim: Aim, tried: list[tuple[float, float]]) -> Fault:
    nearest = min((found for _, found in tried), key=lambda found: abs(found - aim.litres))
    has = f"as given it has {nearest:.1f} L" if len(tried) == 1 else f"the nearest that was drawn has {nearest:.1f} L"
    low, high = FACTORS
    what = {"thickness": "thicknesses", "width": "widths", "both": "widths and thicknesses"}[aim.by]
    return board.source.fault(
        ("volume",),
        f"{aim.litres:g} L",
        f"no board is found that has it with its {what} scaled by {low:g} to {high:g}; {has}",
        hint="give numbers that are nearer to it, or another volume_by",
    )


def aim_finding(board: Board, volume_mm3: float) -> list[Finding]:
    """Return whether a board has the volume it aims at, and what was changed for it; nothing where it has no aim."""
    aim = board.aim
    if aim is None:
        return []
    off = litres(volume_mm3) - aim.litres
    widths, thicknesses = SHARES[aim.by]
    said = [
        f"{name} scaled by {aim.factor**share:.4f}, the greatest is {both(number.value)}"
        for name, share, number in (
            ("widths", widths, board.wide_point),
            ("thicknesses", thicknesses, board.thickest),
        )
        if share
    ]
    return [
        Finding(
            code="volume-aim",
            severity="note" if abs(off) <= AIM_L else "failure",
            where="volume",
            measured=abs(off),
            limit=AIM_L,
            unit="L",
            text=f"volume of {aim.litres:g} L reached within {1000 * abs(off):.1f} mL: {'; '.join(said)}",
        )
    ]
