"""Folders of outputs: made beside their place and put there when whole; what others put there is never replaced."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from bayloft.errors import OutputError
from bayloft.record import report


def _strangers(folder: Path) -> list[str]:
    """Return the files in a folder that no report in it or further in lists: they are not ours to replace."""
    present = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()}
    ours: set[str] = set()
    for said in folder.rglob(report.FILE_NAME):
        inside = said.parent.relative_to(folder)
        try:
            listed = [entry["name"] for entry in json.loads(said.read_text(encoding="utf-8"))["files"]]
            ours |= {(inside / name).as_posix() for name in (report.FILE_NAME, *listed)}
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return sorted(present - ours)


@contextmanager
def replacing(folder: Path) -> Iterator[Path]:
    """Give an empty folder beside `folder`, and put it in the place of `folder` if all went well.

    Raises
    ------
    OutputError
        If the place cannot be written, or holds files that bayloft did not write.
    """
    partial_folder = folder.with_name(f".{folder.name}.partial")
    former = folder.with_name(f".{folder.name}.former")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        if folder.exists() and not folder.is_dir():
            raise OutputError(f"{folder}: a file of this name is in the way of the board's folder; move or rename it")
        strangers = _strangers(folder) if folder.is_dir() else []
        if strangers:
            names = ", ".join(strangers[:5]) + (" ..." if len(strangers) > 5 else "")
            raise OutputError(f"{folder}: holds files that bayloft did not write ({names}); move them, or use -o")
        if former.exists() and not folder.exists():
            former.rename(folder)
        shutil.rmtree(partial_folder, ignore_errors=True)
        partial_folder.mkdir()
        yield partial_folder
        shutil.rmtree(former, ignore_errors=True)
        if folder.exists():
            folder.rename(former)
        try:
            partial_folder.rename(folder)
        except BaseException:
            if former.exists():
                former.rename(folder)
            raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(f"{folder}: cannot write there: {reason}; the former files are as they were") from error
    finally:
        shutil.rmtree(partial_folder, ignore_errors=True)
        if folder.exists():
            shutil.rmtree(former, ignore_errors=True)


def text_files(folder: Path, texts: Mapping[str, str], *, replace: bool) -> tuple[Path, ...]:
    """Write texts as UTF-8 files of a folder, by name, and return the files.

    Raises
    ------
    OutputError
        If the folder cannot be written, or, unless `replace`, if one of the files is there: none is written.
    """
    there = [name for name in texts if (folder / name).exists()]
    if there and not replace:
        raise OutputError(f"{folder}: {', '.join(there)} is there already; name another folder, or move it")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise OutputError(f"{folder}: cannot write there: {error.strerror or error}") from error
    return tuple(folder / name for name in texts)
