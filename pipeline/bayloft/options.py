"""Options that several commands have in common, and what stands under the help of each."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

EPILOG = """
\b
Exit codes: 0 done; 1 a defect in bayloft; 2 the input or the place is wrong;
3 a shape failed its own checks; 128 and the signal's number when a signal ended
it (130 for Ctrl-C). Nothing is half written.
"""


def specs_of(command: Callable[..., None]) -> Callable[..., None]:
    """Add what `build` and `check` have in common."""
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print the reports as JSON instead of the summary."),
        click.option("--jobs", type=click.IntRange(1, 64), help="Boards worked on at once  [default: all processors]"),
        click.argument("specs", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="SPEC..."),
    ):
        command = option(command)
    return command


tolerance = click.option(
    "--tolerance",
    "tolerance_mm",
    type=float,
    default=0.05,
    show_default=True,
    metavar="MM",
    help="Greatest distance of the mesh from the surface.",
)


def into(folder: str, told: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return the option of the folder that a command writes into."""
    return click.option(
        "-o",
        "--out",
        type=click.Path(path_type=Path),
        default=Path(folder),
        show_default=True,
        metavar="FOLDER",
        help=told,
    )


out_folder = into("out", "Where each board has a folder of its name.")

day = click.option(
    "--date",
    type=click.DateTime(formats=["%Y-%m-%d"]),
    metavar="YYYY-MM-DD",
    help="Day to write on templates, sheets and prints  [default: none; a cut takes the templates' own]",
)


verbosely = click.option("-v", "--verbose", is_flag=True, help="Say how long each stage of each board took.")


def told_of_meshes(command: Callable[..., None]) -> Callable[..., None]:
    """Add what is told of meshes: their unit, of both or of each, and how each lies."""
    units, ways = click.Choice(["mm", "cm", "m", "in", "ft"]), click.Choice(["x", "-x", "y", "-y", "z", "-z"])
    for letter in ("b", "a"):
        mesh = f"of {letter.upper()}, a mesh"
        command = click.option(f"--up-{letter}", type=ways, help=f"Where the deck {mesh}, lies  [default: z]")(command)
        command = click.option(f"--nose-{letter}", type=ways, help=f"Where the nose {mesh}, lies  [default: x]")(
            command
        )
        command = click.option(f"--unit-{letter}", type=units, help=f"Unit {mesh}, alone.")(command)
    return click.option("--unit", type=units, help="Unit of meshes whose file states none; it is never guessed.")(
        command
    )
