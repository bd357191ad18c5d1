"""The commands that carve a board on a gantry, send it away, and keep it."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path

import click

from bayloft.answers import CHECK_FAILED, answered, say_next, say_waiting
from bayloft.options import EPILOG, day, into, out_folder


@click.command(epilog=EPILOG)
@click.argument("spec", type=click.Path(path_type=Path))
@click.option("--allowance", metavar="LENGTH", help="Left on everywhere, square to the surface, to be sanded off.")
@click.option("--deck", metavar="LENGTH", help="Left on the deck  [default: as everywhere]")
@click.option("--bottom", metavar="LENGTH", help="Left on the bottom  [default: as everywhere]")
@click.option(
    "--blank",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The blank in which the board's place is told; [blank] of SPEC if left out.",
)
@out_folder
@day
def machine(
    spec: Path,
    allowance: str | None,
    deck: str | None,
    bottom: str | None,
    blank: Path | None,
    out: Path,
    date: datetime.datetime | None,
) -> None:
    """Pack a board's solids for a machine-shaping service: STEP (the surface itself), STL and 3MF, with and without
    what is to be sanded off, a sheet of sizes, axes and contacts, a manifest with every file's SHA-256, and all of it
    in one zip. The files go to the folder machine of the board's own.

    \b
    Examples:
      bayloft machine specs/boards/whimbrel.toml
      bayloft machine specs/boards/whimbrel.toml --allowance "1 mm"
      bayloft machine specs/boards/spoonbill.toml --allowance "2 mm" --deck "3 mm"
    """
    with answered(f"packing {spec}"):
        from bayloft.machine import pack_board, typed_allowance  # noqa: PLC0415
        from bayloft.summary import machine_summary  # noqa: PLC0415

        left = typed_allowance(allowance, deck, bottom)
        day = date.date() if date else None
        packed = pack_board(spec, out, allowance=left, blank=blank, date=day, waits=say_waiting)
        for line in machine_summary(packed.report, packed.folder):
            click.echo(line)


@click.command(epilog=EPILOG)
@click.argument("spec", type=click.Path(path_type=Path))
@click.option(
    "--shop",
    "shop_file",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FILE",
    help="Shop file with a [gantry]: router, cutters, holder, levels, cusp.",
)
@click.option(
    "--thickness", metavar="LENGTH", help="Of the block, as measured with callipers  [default: as thin as will do]"
)
@out_folder
@day
def carve(spec: Path, shop_file: Path, thickness: str | None, out: Path, date: datetime.datetime | None) -> None:
    """Carve a board from a block on a three-axis router: programs for deck and bottom, roughing in levels and finishing
    along the board with a ball, holes for the two dowels on which the block is turned over about the stringer, a dry
    run of each, and a sheet with the set-up. A program is written only once its own text has been read back, the block
    cut with it in simulation, turned over, and both faces held against the board's surface.

    \b
    Examples:
      bayloft carve specs/boards/whimbrel.toml --shop specs/shop/boatshed-gantry.toml
      bayloft carve specs/boards/turnstone.toml --shop specs/shop/boatshed-gantry.toml --thickness "132 mm"
    """
    with answered(f"carving {spec}"):
        from bayloft.carve import carve_board, typed_thickness  # noqa: PLC0415
        from bayloft.summary import carve_summary  # noqa: PLC0415

        thick, on = typed_thickness(thickness), date.date() if date else None
        done = carve_board(spec, shop_file, out, thickness_mm=thick, date=on, progress=say_next, waits=say_waiting)
        for line in carve_summary(done.report, done.folder):
            click.echo(line)


@click.command(epilog=EPILOG)
@click.argument("spec", type=click.Path(path_type=Path))
@into("archives", "Folder of the archive.")
def archive(spec: Path, out: Path) -> None:
    """Keep a board in one file from which it can be cut in twenty years: its spec, its surface as numbers with a
    description of how to read them, sizes, a table of offsets, drawing, template, STEP and STL. It holds no day, so the
    same board is the same bytes.

    \b
    Example:
      bayloft archive specs/boards/whimbrel.toml
      bayloft verify archives/whimbrel.zip
    """
    with answered(f"archiving {spec}"):
        from bayloft.archive import archive_board  # noqa: PLC0415

        click.echo(f"wrote {archive_board(spec, out)}")


@click.command(epilog=EPILOG)
@click.argument("file", type=click.Path(path_type=Path))
def verify(file: Path) -> None:
    """Hold an archive against itself and against what this version lofts of the spec in it; nothing is unpacked.

    \b
    Example:
      bayloft verify archives/whimbrel.zip
    """
    with answered(f"verifying {file}"):
        from bayloft.archive import verified  # noqa: PLC0415

        found = list(verified(file))
        for each in found:
            click.echo(f"  {'agrees' if each.agrees else click.style('DIFFERS', fg='yellow')}  {each.said}")
        if not all(each.agrees for each in found):
            sys.exit(CHECK_FAILED)
