"""What `compare` says, line by line, as a maker reads it: what is different, and where."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bayloft.compare import BoardsHeld

NAME_LETTERS = 24
"""Letters of a name over its column."""


def comparison_summary(held: BoardsHeld) -> Iterator[str]:
    """Yield the lines that tell how B differs from A: lengths as A is told in, distances in mm too."""
    found = held.found
    metric, lies = found.metric, found.apart
    yield (
        click.style(f"{found.names[1]} against {found.names[0]}", bold=True) + f"  laid {found.align} on {found.align}"
    )
    a, b = (f"{letter} {name[:NAME_LETTERS]}" for letter, name in zip("AB", found.names, strict=True))
    wide = max(len(a), len(b), 12) + 2
    yield f"  {'':<30}{a:>{wide}}{b:>{wide}}{'B less A':>14}"
    for row in found.rows:
        cells = [row.told(value, metric=metric) for value in (row.a, row.b)]
        yield f"  {row.what:<30}{cells[0]:>{wide}}{cells[1]:>{wide}}{row.told_change(metric=metric):>14}"
    for place, words in ((lies.greatest, "stands out most"), (lies.least, "lies deepest")):
        yield f"  B {words}: {_signed(place.out_mm)} mm, {found.place_said(place)}"
    beside = f", alongside A within {lies.most_alongside_mm:.2f}" if found.reaches_beyond else ""
    yield (
        f"  B over A: {_signed(lies.mean_mm)} mm in the mean of {lies.places:,} places; 95 % of its surface is within "
        f"{lies.most_of_mm:.2f} mm of A's{beside}"
    )
    for side in ("deck", "bottom"):
        parts = ", ".join(f"{part.third} {_signed(part.mean_mm)}" for part in lies.parts if part.side == side)
        yield f"    {side:<7} {parts} mm on the whole"
    if lies.back_greatest_mm > 2.0 * max(lies.most_of_mm, -lies.least.out_mm, 0.5):
        yield f"  A stands out over B by up to {lies.back_greatest_mm:.2f} mm, where B has nothing near it"
    for look in held.looks:
        yield click.style("  look: ", fg="yellow") + look
    for entry in held.report["files"]:
        yield f"  wrote {held.folder / entry['name']}"


def _signed(mm: float) -> str:
    return f"{round(mm, 2) + 0.0:+.2f}"
