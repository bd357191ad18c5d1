"""The files that specs are read from, kept as they were read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

_KEPT: ContextVar[dict[Path, bytes] | None] = ContextVar("kept", default=None)


@contextmanager
def kept_files() -> Iterator[dict[Path, bytes]]:
    """Give what is filled with every file that is read for a spec meanwhile, by its path."""
    kept: dict[Path, bytes] = {}
    token = _KEPT.set(kept)
    try:
        yield kept
    finally:
        _KEPT.reset(token)


def keep(path: Path, data: bytes) -> None:
    """Note what was read, where somebody keeps it."""
    kept = _KEPT.get()
    if kept is not None:
        kept[path] = data
