"""The commands, and what is asked of them."""

from __future__ import annotations

import datetime
import gc
from pathlib import Path

import click

from bayloft.answers import answered, printed, progress, say_waiting
from bayloft.cli_keeping import archive, book, carve, compare, machine, verify
from bayloft.options import EPILOG, day, into, out_folder, specs_of, tolerance, verbosely
from bayloft.summary import board_summary, cut_summary
from bayloft.workers import default_jobs

COLLECTED_EVERY = (200_000, 20, 20)
"""Thresholds of the garbage collector."""


@click.group(epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="bayloft", message="%(prog)s %(version)s")
def main() -> None:
    """From a board maker's numbers to one exact, fair surface, and everything the shop cuts from it.

    \b
    A first board in three lines:
      bayloft new mine                       a commented spec to change to your numbers
      bayloft check mine/first-board.toml    every check made, nothing written
      bayloft build mine/first-board.toml    templates, fins, solids, drawing in out/first-board/
    """
    # A command makes many small values and keeps most to its end: looking for dead cycles every 700 of them costs a
    # tenth of the whole time and finds next to none.
    gc.set_threshold(*COLLECTED_EVERY)


@main.command(epilog=EPILOG)
@specs_of
@out_folder
@day
@tolerance
@verbosely
def build(
    specs: tuple[Path, ...],
    out: Path,
    tolerance_mm: float,
    jobs: int | None,
    date: datetime.datetime | None,
    *,
    as_json: bool,
    verbose: bool,
) -> None:
    """Build boards: templates, fins, solids, drawing and report.

    SPEC is a board's .toml file, or a folder of them. All specs are read before anything is written; a build that fails
    leaves the former files as they were.

    \b
    Examples:
      bayloft build specs/boards/whimbrel.toml
      bayloft build specs -o out --tolerance 0.02
    """
    with answered(f"building {', '.join(map(str, specs))}"):
        from bayloft import build as stage  # noqa: PLC0415

        with progress(stage.specs_in(specs)) as told:
            built = stage.build_boards(
                specs,
                out,
                tolerance_mm=tolerance_mm,
                jobs=jobs or default_jobs(),
                date=date.date() if date else None,
                told=told,
                waits=say_waiting,
            )
        printed(built, as_json=as_json, summary=board_summary, verbose=verbose)


@main.command(epilog=EPILOG)
@specs_of
@tolerance
@verbosely
def check(specs: tuple[Path, ...], tolerance_mm: float, jobs: int | None, *, as_json: bool, verbose: bool) -> None:
    """Make every check of a build, draw every file and write none.

    \b
    Example:
      bayloft check specs
    """
    with answered(f"checking {', '.join(map(str, specs))}"):
        from bayloft import build as stage  # noqa: PLC0415

        with progress(stage.specs_in(specs)) as told:
            built = stage.check_boards(specs, tolerance_mm=tolerance_mm, jobs=jobs or default_jobs(), told=told)
        printed(built, as_json=as_json, summary=board_summary, verbose=verbose)


@main.command(epilog=EPILOG)
@click.option(
    "--shop",
    "shop_file",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FILE",
    help="Shop file: stock, cutters, router, paper.",
)
@click.option("--stock", metavar="NAME", help="Stock to use  [default: all stock as thick as the first]")
@click.option("--cutter", metavar="NAME", help="Cutter to use  [default: the first that goes through the stock]")
@click.option(
    "--parts",
    metavar="NUMBERS",
    help='Parts to cut, by number, as "1, 6-11", or "all"  [default: all but the full outline]',
)
@out_folder
@day
@verbosely
@specs_of
def cut(
    specs: tuple[Path, ...],
    shop_file: Path,
    stock: str | None,
    cutter: str | None,
    parts: str | None,
    out: Path,
    jobs: int | None,
    date: datetime.datetime | None,
    *,
    as_json: bool,
    verbose: bool,
) -> None:
    """Cut a board's templates: sheets, G-code, full-size prints.

    The shop file says what there is: stock, cutters, router and paper. Parts too long for the stock are cut in pieces
    that key together. A program is written only once its own text has been read back and cut in simulation. A shop
    with paper alone gets the prints.

    The full outline takes as much stock as all other parts together, and the half outline, turned over, draws the same:
    it is cut and printed only when asked for, by its number, 2, or with all.

    The files go to the folder cut of the board's own; building the board anew takes them away, for they belong to the
    shape they were made from. Templates that are there of another shape or day are made anew with them.

    \b
    Examples:
      bayloft cut specs/boards/whimbrel.toml --shop specs/shop/boatshed-router.toml
      bayloft cut specs/boards/dunlin.toml --shop specs/shop/boatshed-router.toml --stock "birch ply 12"
      bayloft cut specs/boards/dunlin.toml --shop specs/shop/boatshed-router.toml --parts "1, 51-53"
      bayloft cut specs/boards/dunlin.toml --shop specs/shop/boatshed-router.toml --parts all
      bayloft cut specs/boards/dunlin.toml --shop specs/shop/boatshed-printer.toml
    """
    with answered(f"cutting {', '.join(map(str, specs))}"):
        from bayloft import build as stage  # noqa: PLC0415
        from bayloft.cut import cut_boards  # noqa: PLC0415
        from bayloft.cutting.sheets.choice import Wanted, part_numbers  # noqa: PLC0415

        with progress(stage.specs_in(specs)) as told:
            done = cut_boards(
                specs,
                shop_file,
                out,
                wanted=Wanted(stock=stock, cutter=cutter, parts=None if parts is None else part_numbers(parts)),
                jobs=jobs or default_jobs(),
                date=date.date() if date else None,
                told=told,
                waits=say_waiting,
            )
        printed(done, as_json=as_json, summary=cut_summary, verbose=verbose)


@main.command(epilog=EPILOG)
@click.argument(
    "kind",
    type=click.Choice(["board", "fin", "rails", "shop", "blank", "plank", "readings", "tracing", "gauging"]),
    default="board",
)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Write the schemas of all kinds there instead.",
)
def schema(kind: str, out: Path | None) -> None:
    """Print the JSON Schema of a spec, so that an editor completes and explains its keys.

    \b
    Example:
      bayloft schema -o schema
    then, as the first line of a spec in the same folder:
      #:schema schema/board.schema.json
    """
    with answered("writing the schema"):
        if out is None:
            from bayloft.spec.schema import text_of  # noqa: PLC0415

            click.echo(text_of(kind), nl=False)
            return
        from bayloft.build import write_schemas  # noqa: PLC0415

        for path in write_schemas(out):
            click.echo(f"wrote {path}")


@main.command(epilog=EPILOG)
@click.argument("readings", type=click.Path(path_type=Path))
@into("lifted", "Folder of the spec and the drawing.")
def lift(readings: Path, out: Path) -> None:
    """Make a spec from READINGS taken off what exists, in a table with commas (.csv) or in TOML: of a board its widths,
    rocker, thicknesses and what else was read; of a fin the points of its edges; of rails the points of a contour
    gauge. Lines pass each reading within the accuracy that the sheet states; a reading that none can pass is named,
    with the slip that it likely is.

    \b
    Example:
      bayloft lift specs/readings/avocet.csv -o lifted
    The sheet:
      name, Avocet
      length, 6'10
      unit, in
      accuracy, 1/16 in
      rocker_datum, lowest
      nose.kind, round
      tail.kind, diamond
      tail.block, 7
      from, at, width, rocker, thickness
      tail, 12, 14 3/4, 1, 1 5/8
      ahead, 2, 20 3/4, , 2 5/8
    A fin's has base, depth and rake, and its columns are height, leading, trailing. That of rails has the length of the
    board; its columns are from, at, width, thickness, inside, height.
    """
    with answered(f"writing into {out}"):
        from bayloft.lift.sheet import lift as lifted  # noqa: PLC0415
        from bayloft.summary import lift_summary  # noqa: PLC0415

        for line in lift_summary(lifted(readings, out)):
            click.echo(line)


@main.command(epilog=EPILOG)
@click.argument("spec", type=click.Path(path_type=Path))
@click.option(
    "--blank",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The blank to look at; [blank] of SPEC if left out.",
)
@click.option(
    "--rack", type=click.Path(path_type=Path), metavar="FOLDER", help="A folder of blanks to rank, most foam first."
)
@click.option(
    "--cover", metavar="LENGTH", help="Foam wanted over the board everywhere; [blank] of SPEC, or 3 mm, if left out."
)
@into("fits", "Folder of the drawing.")
@click.option("-j", "--jobs", type=click.IntRange(min=1), help="Blanks to look at at once; one for each processor.")
def fit(spec: Path, blank: Path | None, rack: Path | None, cover: str | None, out: Path, jobs: int | None) -> None:
    """Tell whether the board of SPEC comes out of a blank: where in it most foam is over the board everywhere, how much
    there is at each station, where it is short, and what would make it fit. Or rank all blanks of a rack.

    \b
    Examples:
      bayloft fit specs/boards/spoonbill.toml
      bayloft fit specs/boards/turnstone.toml --blank specs/blanks/short-wide.toml
      bayloft fit specs/boards/turnstone.toml --rack specs/blanks
    """
    if blank is not None and rack is not None:
        raise click.UsageError("name a blank with --blank, or a folder of them with --rack, not both")
    with answered(f"writing into {out}"):
        from bayloft.fit import fit_blank, rank_rack, wanted_cover  # noqa: PLC0415
        from bayloft.summary import fit_summary, rack_summary  # noqa: PLC0415

        wanted = None if cover is None else wanted_cover(cover)
        if rack is not None:
            lines = rack_summary(rank_rack(spec, rack, jobs or default_jobs(), wanted))
        else:
            lines = fit_summary(*fit_blank(spec, blank, wanted, out))
        for line in lines:
            click.echo(line)


@main.command(epilog=EPILOG)
@click.argument("folder", type=click.Path(path_type=Path), default=Path())
@click.option("--blank", is_flag=True, help="Of a blank on the rack instead.")
@click.option("--plank", is_flag=True, help="Of a plank that a stringer is cut from instead.")
def new(folder: Path, *, blank: bool, plank: bool) -> None:
    """Write a commented starter spec of a board and its fin, of a blank, or of a plank, into FOLDER (or the current
    one).

    \b
    Examples:
      bayloft new boards
      bayloft new --blank rack
      bayloft new --plank planks
    """
    if blank and plank:
        raise click.UsageError("one of --blank and --plank at a time")
    with answered(f"writing into {folder}"):
        from bayloft.build import start  # noqa: PLC0415

        written = start(folder, "blank" if blank else "plank" if plank else "board")
        for path in written:
            click.echo(f"wrote {path}")
        then = f"check {written[0]}"
        if blank:
            then = f"fit (your board) --blank {written[0]}"
        if plank:
            then = f'check (your board with plank = "{written[0].name}" in [stringer])'
        click.echo(f"change the numbers to yours, then: bayloft {then}", err=True)


for command in (archive, book, carve, compare, machine, verify):
    main.add_command(command)
