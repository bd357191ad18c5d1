"""The commands that send a board away, and that keep it."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import Any, Literal

import click

from bayloft.answers import CHECK_FAILED, answered, say_waiting
from bayloft.options import EPILOG, day, into, out_folder, told_of_meshes


@click.command(epilog=EPILOG)
@click.argument("spec", type=click.Path(path_type=Path))
@click.option("--allowance", metavar="LENGTH", help="Left on everywhere, square to the surface, to be sanded off.")
@click.option("--deck", metavar="LENGTH", help="Left on the deck  [default: as everywhere]")
@click.option("--bottom", metavar="LENGTH", help="Left on the bottom  [default: as everywhere]")
@click.option(
    "--laminate",
    metavar="LENGTH",
    help="Thickness of the laminate, where the file's sizes are those of the glassed board: the foam is cut smaller by "
    "it all round.",
)
@click.option("--pockets", is_flag=True, help="Cut the pockets of [[plugs]].")
@click.option(
    "--dowels",
    metavar="LENGTH",
    help="Diameter of dowels or bolts about which the block is turned over: tabs hold the board to the waste beyond "
    "nose and tail, with a hole in each.",
)
@click.option(
    "--blank",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The blank in which the board's place is told; [blank] of SPEC if left out.",
)
@out_folder
@day
def machine(
    *,
    spec: Path,
    allowance: str | None,
    deck: str | None,
    bottom: str | None,
    laminate: str | None,
    pockets: bool,
    dowels: str | None,
    blank: Path | None,
    out: Path,
    date: datetime.datetime | None,
) -> None:
    """Pack a board's solids for a machine-shaping service: STEP (the surface itself), STL and 3MF of the finished
    board; where something is asked for, the solid to cut, with what is to be sanded off, pockets and tabs, deck up and
    bottom up; the board in its blank; the paths of a hot wire where the board's file has [hot_wire]; a sheet of sizes,
    axes and contacts, a manifest with every file's SHA-256, and all of it in one zip. The files go to the folder
    machine of the board's own.

    \b
    Examples:
      bayloft machine specs/boards/whimbrel.toml
      bayloft machine specs/boards/whimbrel.toml --allowance "1 mm"
      bayloft machine specs/boards/spoonbill.toml --allowance "2 mm" --deck "3 mm"
      bayloft machine specs/boards/turnstone.toml --allowance "1/16 in" --pockets --dowels "3/8 in"
    """
    with answered(f"packing {spec}"):
        from bayloft.delivery.machine_files import Machining  # noqa: PLC0415
        from bayloft.machine import pack_board, typed_allowance, typed_dowels, typed_laminate  # noqa: PLC0415
        from bayloft.summary import machine_summary  # noqa: PLC0415

        left = typed_allowance(allowance, deck, bottom)
        how = Machining(
            allowance=left,
            laminate_mm=typed_laminate(laminate, left),
            pockets=pockets,
            holding=typed_dowels(dowels),
        )
        day = date.date() if date else None
        packed = pack_board(spec, out, how=how, blank=blank, date=day, waits=say_waiting)
        for line in machine_summary(packed.report, packed.folder):
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


@click.command(epilog=EPILOG)
@click.argument("a", type=click.Path(path_type=Path))
@click.argument("b", type=click.Path(path_type=Path))
@click.option(
    "--align",
    type=click.Choice(["tail", "nose", "centre", "wide"]),
    default="tail",
    show_default=True,
    help="What of both is laid on one another; both stand on the flat at their lowest place.",
)
@told_of_meshes
@into("comparisons", "Where each comparison has a folder of its own.")
def compare(a: Path, b: Path, align: Literal["tail", "nose", "centre", "wide"], out: Path, **told: Any) -> None:
    """Hold board B against board A: sizes side by side, outline, rocker, foil and sections over one another, and where
    B stands out over A or lies under it. Each is a spec (.toml), an archive (.zip) or a mesh (.stl, .ply, .obj, .3mf),
    such as a scan. Boards are compared without their fins.

    A mesh states no unit, but for 3MF and for STL that says it in its header: --unit says it. Its nose lies along x and
    its deck along z unless --nose-a, --up-a, --nose-b or --up-b say otherwise. Read are meshes of 256 MB and 1,500,000
    facets at most.

    \b
    Examples:
      bayloft compare specs/boards/dunlin.toml specs/boards/long-dunlin.toml --align wide
      bayloft compare archives/whimbrel.zip specs/boards/whimbrel.toml
      bayloft compare specs/boards/whimbrel.toml scan.ply --unit-b mm --nose-b y
    """
    with answered(f"comparing {a} and {b}"):
        from bayloft.compare import compare_boards  # noqa: PLC0415
        from bayloft.comparison_summary import comparison_summary  # noqa: PLC0415
        from bayloft.record.mesh_subject import MeshTold  # noqa: PLC0415

        both = told["unit"]
        one, other = (
            MeshTold(
                unit=told[f"unit_{letter}"] or both,
                own=told[f"unit_{letter}"] is not None,
                nose=told[f"nose_{letter}"],
                up=told[f"up_{letter}"],
            )
            for letter in ("a", "b")
        )
        held = compare_boards(a, b, out, align=align, told=(one, other), waits=say_waiting)
        for line in comparison_summary(held):
            click.echo(line)
