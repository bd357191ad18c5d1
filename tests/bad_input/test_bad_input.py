"""Broken specs, each with the whole message it must give beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from bayloft.errors import MOST_TOLD, SpecError
from bayloft.lines.fin import fin_lines
from bayloft.spec.loading import load_board, load_fin
from bayloft.spec.plank_loading import load_plank
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.text import wording
from bayloft.spec.text.source import nearest

HERE = Path(__file__).parent
BOARDS = sorted(path.stem for path in HERE.glob("boards/*.toml"))
FINS = sorted(path.stem for path in HERE.glob("fins/*.toml"))
SHOPS = sorted(path.stem for path in HERE.glob("shops/*.toml"))
PLANKS = sorted(path.stem for path in HERE.glob("planks/*.toml"))


def test_the_folders_are_not_empty() -> None:
    assert len(BOARDS) >= 60
    assert len(FINS) >= 30
    assert len(SHOPS) >= 15


def test_every_message_has_its_spec() -> None:
    messages = [
        {path.stem for path in HERE.glob(f"{folder}/*.txt")} for folder in ("boards", "fins", "shops", "planks")
    ]
    assert messages == [set(BOARDS), set(FINS), set(SHOPS), set(PLANKS)]


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


@pytest.mark.parametrize("case", PLANKS)
def test_plank(case: str, same_text: Callable[[str, Path], None], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(HERE)
    with pytest.raises(SpecError) as caught:
        load_plank(Path("planks", f"{case}.toml"))
    same_text(f"{caught.value}\n", HERE / "planks" / f"{case}.txt")


@pytest.mark.parametrize(("kind", "load"), [("boards", load_board), ("fins", load_fin), ("shops", load_shop)])
def test_of_thousands_of_faults_the_first_are_told_and_the_rest_counted(
    kind: str, load: Callable[[Path], object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked_up = []
    monkeypatch.setattr(wording, "nearest", lambda key, allowed: looked_up.append(key) or nearest(key, allowed))
    start = HERE.joinpath(kind, "unknown-keys.toml").read_text(encoding="utf-8")
    spec = tmp_path / "many.toml"
    spec.write_text("".join(f"colour{i} = {i}\n" for i in range(3000)) + start, encoding="utf-8")
    with pytest.raises(SpecError) as caught:
        load(spec)
    faults, told = caught.value.faults, str(caught.value).splitlines()
    assert len(faults) > 3000
    heads = [line for line in told if line.startswith(str(spec))]
    unknown = [line for line in heads if "colour" in line]
    assert len(heads) == MOST_TOLD
    assert unknown == [f"{spec}:{i + 1}: colour{i}: not a key of this table" for i in range(len(unknown))]
    assert len(unknown) > MOST_TOLD // 2  # what is missing has no line and is told before
    assert told[-2:] == [
        f"and {len(faults) - MOST_TOLD} more after these",
        f"{len(faults)} faults in the spec; nothing was written",
    ]
    assert len(looked_up) <= wording.MOST_EXPLAINED + 100
