"""The demo boards and fins, drafted and lofted once for all tests of a process; how the boatshed cuts."""

from __future__ import annotations

import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

from bayloft.solid.draft import Draft, FinDraft, drafted, drafted_fin
from bayloft.solid.loft import LoftedBoard, loft
from bayloft.spec.boards.board import Board
from bayloft.spec.fins.fin import Fin
from bayloft.spec.loading import load_board, load_fin
from bayloft.spec.shops.shop import Cutting

SPECS = Path(__file__).parents[1] / "specs"

CUTTING = Cutting(
    way="climb",
    entry="ramp",
    ramp_deg=3.0,
    tabs=4,
    tab_spacing_mm=400.0,
    tab_length_mm=8.0,
    tab_height_mm=1.5,
    below_mm=0.3,
    gap_mm=10.0,
    joint="dovetail",
    fit_mm=0.1,
)


@cache
def board(name: str) -> Board:
    return load_board(SPECS / "boards" / f"{name}.toml")


@cache
def draft(name: str) -> Draft:
    return drafted(board(name))


@cache
def lofted_board(name: str) -> LoftedBoard:
    return loft(draft(name), 0.5)


@cache
def fin(name: str) -> Fin:
    return load_fin(SPECS / "fins" / f"{name}.toml")


@cache
def fin_draft(name: str) -> FinDraft:
    return drafted_fin(fin(name))


def told(drawn: Draft, **numbers: object) -> Draft:
    """Return a draft with other numbers in its spec, its lines and body as they were."""
    return replace(drawn, board=replace(drawn.board, **numbers))  # type: ignore[arg-type]


def told_fin(drawn: FinDraft, **numbers: object) -> FinDraft:
    """Return a fin's draft with other numbers in its spec, its lines and body as they were."""
    return replace(drawn, fin=replace(drawn.fin, **numbers))  # type: ignore[arg-type]


def changed(folder: Path, board: str, text: str) -> Path:
    """Return a board's file, of another text, in a copy of the specs in a folder."""
    shutil.copytree(SPECS, folder / "specs")
    path = folder / "specs" / "boards" / f"{board}.toml"
    path.write_text(text, "utf-8")
    return path
