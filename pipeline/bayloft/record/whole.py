"""Files that are there whole or not at all, and what the system says of a place where none can be written."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from bayloft.errors import BayloftError, OutputError, disk_full


@contextmanager
def writing(folder: Path) -> Iterator[None]:
    """Turn what the system says of a place that cannot be written into an OutputError that a maker can act on.

    Raises
    ------
    OutputError
        For an OSError, and for any other error that a library made of a full disk.
    """
    try:
        yield
    except BayloftError:
        raise
    except Exception as error:
        reason = disk_full(error) or (isinstance(error, OSError) and (error.strerror or str(error)))
        if not reason:
            raise
        raise OutputError(f"{folder}: cannot write there: {reason}; the former files are as they were") from error


def whole_files(
    place: str | os.PathLike[str], contents: Mapping[str, str | bytes], *, replace: bool
) -> tuple[Path, ...]:
    """Write texts, as UTF-8, and bytes as files of a folder, by name, and return them. None is there before all are
    written.

    Raises
    ------
    OutputError
        If the folder cannot be written, or, unless `replace`, if one of the files is there: none is written.
    """
    folder = Path(place)
    there = [name for name in contents if (folder / name).exists()]
    if there and not replace:
        raise OutputError(f"{folder}: {', '.join(there)} is there already; name another folder, or move it")
    with writing(folder):
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".bayloft-", dir=folder) as made:
            for name, content in contents.items():
                (Path(made) / name).write_bytes(content.encode() if isinstance(content, str) else content)
            for name in contents:
                (Path(made) / name).replace(folder / name)
    return tuple(folder / name for name in contents)
