"""What commands print: results to stdout, messages and progress to stderr; and the exit codes."""

from __future__ import annotations

import json
import os
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bayloft.errors import BayloftError, disk_full

if TYPE_CHECKING:
    from bayloft.build import Built

DEFECT, BAD_INPUT, CHECK_FAILED = 1, 2, 3


@contextmanager
def answered(doing: str) -> Iterator[None]:
    """Turn errors into messages a maker can act on, and into exit codes."""
    from bayloft.findings import CheckError  # noqa: PLC0415 - keeps --help fast

    try:
        yield
    except CheckError as error:
        click.echo(f"bayloft: {error}", err=True)
        sys.exit(CHECK_FAILED)
    except BayloftError as error:
        click.echo(f"bayloft: {error}", err=True)
        sys.exit(BAD_INPUT)
    except BrokenPipeError:
        raise
    except Exception as error:  # noqa: BLE001 - the last resort: a defect is named, never hidden
        if full := disk_full(error):
            with suppress(OSError):
                # What could not be printed would be tried again when Python ends.
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            click.echo(f"bayloft: while {doing}: {full}", err=True)
            sys.exit(BAD_INPUT)
        click.echo(f"bayloft: a defect in bayloft, not in your spec, while {doing}.", err=True)
        click.echo("Please report it with the spec and these lines; nothing was half written.\n", err=True)
        click.echo(traceback.format_exc(), err=True)
        sys.exit(DEFECT)


@contextmanager
def progress(specs: tuple[Path, ...], doing: str = "lofting") -> Iterator[Callable[[str], None]]:
    """Give what to call as each board is done: a bar on a terminal where there are several, else nothing."""
    if len(specs) < 2 or not sys.stderr.isatty():
        yield lambda _name: None
        return
    with click.progressbar(
        length=len(specs), label=doing, file=sys.stderr, item_show_func=lambda name: name or ""
    ) as bar:
        yield lambda name: bar.update(1, name)


def say_waiting(name: str) -> None:
    """Tell that another command has the folder of a board."""
    click.echo(f"bayloft: another command has the folder of {name}; waiting until it is done", err=True)


def say_next(doing: str) -> None:
    """Tell on a terminal what is done next."""
    if sys.stderr.isatty():
        click.echo(f"  {doing} ...", err=True)


def printed(
    built: tuple[Built, ...],
    *,
    as_json: bool,
    summary: Callable[[dict[str, Any], Path | None], Iterator[str]],
    verbose: bool,
) -> None:
    """Print what was built, in words or as JSON, and how long it took if asked."""
    for one in built if verbose else ():
        stages = ", ".join(f"{stage} {seconds:.2f} s" for stage, seconds in one.seconds.items())
        click.echo(f"{one.report['name']}: {stages}", err=True)
    if as_json:
        click.echo(json.dumps([one.report for one in built], indent=1, ensure_ascii=False))
        return
    for i, one in enumerate(built):
        if i:
            click.echo()
        for line in summary(one.report, one.folder):
            click.echo(line)
        if one.renewed:
            click.echo(f"  the board's templates were of another {one.renewed}: they are made anew with these")
