"""Files that a spec names: where they may lie."""

from __future__ import annotations

import os.path
import re
from pathlib import Path

from bayloft.errors import KeyPath
from bayloft.spec.text.measures import Refused
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import nearest

_EXAMPLES = {".toml": "../fins/flex.toml", ".dat": "../sections/knot.dat"}


def named_file(typed: str, key: KeyPath, reading: Reading, suffix: str = ".toml", example: str = "") -> Path | None:
    """Return the file that a key names, as `referred` does, or None, told as a fault."""
    try:
        return referred(typed, Path(reading.source.file), suffix, example)
    except Refused as refused:
        reading.fault(key, refused.problem, allowed=refused.allowed, hint=refused.hint)
        return None


def referred(typed: str, spec: Path, suffix: str = ".toml", example: str = "") -> Path:
    """Return the file that `typed` names, seen from the spec that names it; its name ends in `suffix`; `example`: how
    such a one is named.

    Specs can come from other people, so a reference reaches only what lies in the folder that holds the spec's folder.

    Raises
    ------
    Refused : an absolute path, one of another system, one that leads outside (also by a link) or back to the spec
        itself; or no such file, with the names most like it.
    """
    allowed = f"a {suffix} file beside this one, or in a folder beside this one's: {example or _EXAMPLES[suffix]}"
    if not typed.isprintable():
        raise Refused("a file name with invisible characters", allowed=allowed)
    if "\\" in typed:
        raise Refused("a backslash, which only Windows reads", allowed=allowed, hint=f'"{typed.replace(chr(92), "/")}"')
    if re.match("[/~]|[A-Za-z]:", typed):
        raise Refused("a path that exists on one computer only", allowed=allowed)
    if not typed.lower().endswith(suffix):
        raise Refused(f"not the name of a {suffix} file", allowed=allowed)
    path = Path(os.path.normpath(spec.parent / typed))
    try:
        around, real, own, exists = spec.parent.resolve().parent, path.resolve(), spec.resolve(), path.is_file()
    except (OSError, RuntimeError):  # RuntimeError: links in a circle, before Python 3.13
        raise Refused("cannot be followed: too long, or a link that leads in a circle", allowed=allowed) from None
    if not real.is_relative_to(around):
        raise Refused("leads outside the folder that holds the specs", allowed=allowed)
    if real == own:
        raise Refused("this very file", allowed=allowed)
    if not exists:
        raise Refused("no such file", allowed=allowed, hint=_near(typed, path, suffix, spec.name))
    return path


def _near(typed: str, path: Path, suffix: str, own: str) -> str:
    try:
        names = [entry.name for entry in path.parent.iterdir() if entry.suffix.lower() == suffix and entry.name != own]
    except OSError:
        return f"there is no folder {path.parent.name}"
    near = nearest(path.name, names)
    folder = typed.rpartition("/")[0]
    return f'"{folder}/{near}"' if near and folder else f'"{near}"' if near else ", ".join(sorted(names)[:5])
