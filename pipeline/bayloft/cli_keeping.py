"""The commands that carve a board or send it away, that keep it, and that find it again."""

from __future__ import annotations

import datetime
import shutil
import sys
from pathlib import Path
from typing import Any, Literal

import click

from bayloft.answers import CHECK_FAILED, answered, progress, say_next, say_waiting
from bayloft.options import EPILOG, day, into, out_folder, told_of_meshes
from bayloft.workers import default_jobs


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


@click.command(epilog=EPILOG)
@click.argument("folder", type=click.Path(path_type=Path), default=Path())
@click.option("--length", metavar="RANGE", help='Such as "5\'6 to 6\'2", "from 7\'", "up to 2100 mm".')
@click.option("--width", metavar="RANGE", help='Greatest width, such as "19 to 20 in".')
@click.option("--thickness", metavar="RANGE", help='Greatest thickness, such as "2 1/4 to 2 1/2 in".')
@click.option("--volume", metavar="RANGE", help='Such as "28 to 32 L"; lofts what has no volume yet.')
@click.option("--tail", "tails", multiple=True, metavar="KIND", help="Kind of tail; several times for any of them.")
@click.option("--bottom", "bottoms", multiple=True, metavar="SHAPE", help="Shape in the bottom; likewise.")
@click.option("--fins", default="", metavar="N|NAME", help="How many fins, or a part of a fin's name.")
@click.option("--words", default="", metavar="WORDS", help="All of them in the name or in the remarks of the spec.")
@click.option("--like", metavar="SIZES|FILE", help="The nearest boards, nearest first.")
@click.option("--first", type=click.IntRange(min=1), metavar="N", help="Only so many  [default: all; 10 with --like]")
@click.option(
    "--sort",
    type=click.Choice(["length", "width", "thickness", "volume", "name", "file"]),
    help="In this order  [default: length; with --like how near they are]",
)
@click.option("--measure", is_flag=True, help="Loft the boards that have no volume yet, and keep it.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON: lengths in mm, volumes in mm3.")
@click.option("--jobs", type=click.IntRange(1, 64), help="Boards lofted at once  [default: all processors]")
def book(
    folder: Path,
    *,
    tails: tuple[str, ...],
    bottoms: tuple[str, ...],
    fins: str,
    words: str,
    like: str | None,
    first: int | None,
    sort: str | None,
    jobs: int | None,
    measure: bool,
    as_json: bool,
    **ranges: str | None,
) -> None:
    """List past boards: the specs and archives in FOLDER and below it (or in the current folder), and of them those
    that you ask for.

    A range includes both its ends; a single number asks for what is within a plain difference of it: 2 in of length,
    1/2 in of width, 1/8 in of thickness, 1 L. --like counts in them too: how far off a board is, is the sum of its
    differences, each over a plain difference of that number. So 1.0 off is a board 2 in longer, or one 1 in longer and
    1/4 in wider. Sizes are typed in the order length, width, thickness, with the volume last; "-" for one that does not
    matter. Like a board's file are those near in length, width and thickness, and with --measure in volume.

    The volume of an archive is the one that it states. A spec has one once it was lofted, which takes about a second a
    board: with --measure, or where a volume is asked for. It is kept in .bayloft-book.json in FOLDER, and counts no
    more as soon as the spec, or a file that it names, has changed; that file may be deleted at any time.

    \b
    Examples:
      bayloft book specs --measure
      bayloft book specs --length "5'6 to 6'2" --tail squash --tail swallow
      bayloft book specs --volume "30 to 40 L" --fins 3
      bayloft book specs --like "6'2 x 19 1/4 x 2 1/2 x 31 L"
      bayloft book specs --like specs/boards/dunlin.toml --first 3
    """
    with answered(f"reading {folder}"):
        from bayloft.book import book as boards_in  # noqa: PLC0415
        from bayloft.book import like_file  # noqa: PLC0415
        from bayloft.book_table import book_json, book_notes, book_rows  # noqa: PLC0415
        from bayloft.record.book.nearness import in_order, like_numbers  # noqa: PLC0415
        from bayloft.record.book.wanted import ALL, VOLUME, wanted_of  # noqa: PLC0415

        wanted = wanted_of(ranges, tails=tails, bottoms=bottoms, fins=fins, words=words)
        near = None
        if like is not None:
            a_file = like.lower().endswith((".toml", ".zip"))
            near = like_file(Path(like), measure=measure) if a_file else like_numbers(like)
        measure = measure or sort == VOLUME or (near is not None and VOLUME in near.sizes)
        found = boards_in(folder, wanted, measure=measure, jobs=jobs or default_jobs(), watched=progress)
        boards, off = in_order(found.boards, sort, near)
        most = first or (10 if near else len(boards))
        boards, off = boards[:most], off and off[:most]
        if as_json:
            click.echo(book_json(found, boards, off))
            return
        width = shutil.get_terminal_size().columns if sys.stdout.isatty() else None
        for line in book_rows(boards, off, width):
            click.echo(line)
        for line in book_notes(found, len(boards), chosen=wanted != ALL or len(boards) < len(found.boards)):
            click.echo(line)


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
