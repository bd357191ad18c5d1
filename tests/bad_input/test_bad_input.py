"""Broken specs, each with the whole message it must give beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from bayloft.errors import SpecError
from bayloft.lines.fin import fin_lines
from bayloft.spec.loading import load_board, load_fin

HERE = Path(__file__).parent
BOARDS = sorted(path.stem for path in HERE.glob("boards/*.toml"))
FINS = sorted(path.stem for path in HERE.glob("fins/*.toml"))


def test_the_folders_are_not_empty() -> None:
    assert len(BOARDS) >= 60
    assert len(FINS) >= 30


def test_every_message_has_its_spec() -> None:
    messages = {path.stem for path in HERE.glob("boards/*.txt")}, {path.stem for path in HERE.glob("fins/*.txt")}
    assert messages == (set(BOARDS), set(FINS))


@pytest.mark.parametrize("case", BOARDS)
def test_board(case: str, same_text: Callable[[str, Path], None], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(HERE)
    with pytest.raises(SpecError) as caught:
        load_board(Path("boards", f"{case}.toml"))
    same_text(f"{caught.value}\n", HERE / "boards" / f"{case}.txt")


@pytest.mark.parametrize("case", FINS)
def test_fin(case: str, same_text: Callable[[str, Path], None], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(HERE)
    with pytest.raises(SpecError) as caught:
        fin_lines(load_fin(Path("fins", f"{case}.toml")))
    same_text(f"{caught.value}\n", HERE / "fins" / f"{case}.txt")
