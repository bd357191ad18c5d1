"""Broken specs, each with the whole message it must give beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from bayloft.errors import SpecError
from bayloft.lines.fin import fin_lines
from bayloft.spec.loading import load_board, load_fin
from bayloft.spec.shop_loading import load_shop

HERE = Path(__file__).parent
BOARDS = sorted(path.stem for path in HERE.glob("boards/*.toml"))
FINS = sorted(path.stem for path in HERE.glob("fins/*.toml"))
SHOPS = sorted(path.stem for path in HERE.glob("shops/*.toml"))


def test_the_folders_are_not_empty() -> None:
    assert len(BOARDS) >= 60
    assert len(FINS) >= 30
    assert len(SHOPS) >= 15


def test_every_message_has_its_spec() -> None:
    messages = [{path.stem for path in HERE.glob(f"{folder}/*.txt")} for folder in ("boards", "fins", "shops")]
    assert messages == [set(BOARDS), set(FINS), set(SHOPS)]


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


@pytest.mark.parametrize("case", SHOPS)
def test_shop(case: str, same_text: Callable[[str, Path], None], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(HERE)
    with pytest.raises(SpecError) as caught:
        load_shop(Path("shops", f"{case}.toml"))
    same_text(f"{caught.value}\n", HERE / "shops" / f"{case}.txt")
