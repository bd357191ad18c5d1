"""Random boards in the words of a spec, each from a seed: every nose, tail, kind of rail, shape of deck and bottom."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import TypeVar

from bayloft.errors import SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.section_lines import drop_at
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.ends import TAILS
from bayloft.spec.boards.quantities import RAIL_KINDS
from bayloft.spec.loading import load_board

T = TypeVar("T")

FOOT_MM = 304.8
BOTTOMS = ("flat", "roll", "vee", "concave", "double concave", "chine")
DECKS = ("domed", "flat", "rolled", "concave", "chine")


class Numbers:
    """Even random numbers from a seed, one in five of them exactly a bound: hypothesis's own floats keep to few values,
    and five hundred boards of them have some hundred plans.
    """

    def __init__(self, seed: int) -> None:
        self._random = Random(seed)

    def within(self, low: float, high: float) -> float:
        edge, share = self._random.random(), self._random.random()
        return round(low if edge < 0.1 else high if edge < 0.2 else low + (high - low) * share, 3)

    def one_of(self, *options: T) -> T:
        return self._random.choice(options)

    def told(self, share: float) -> bool:
        return self._random.random() < share


Table = dict[str, object]


def _nose(some: Numbers, length: float, wide: float, wide_x: float) -> tuple[Table, float]:
    """A nose, and the width a foot inside it."""
    reach = (length - FOOT_MM - wide_x) / (length - wide_x)
    if some.one_of("round", "pointed") == "round":
        nose: Table = {"kind": "round"}
        if some.told(0.5):
            nose["tip_radius"] = some.within(60, 160)
        return nose, wide * (1 - reach ** some.within(1.9, 2.6)) ** (1 / some.within(1.6, 2.3))
    nose = {"kind": "pointed", "tip_radius": some.within(3, 15)}
    return nose, wide * (1 - reach ** some.within(1.7, 2.1)) ** (1 / some.within(1.15, 1.5))


def _tail(some: Numbers, wide: float, wide_x: float) -> tuple[Table, float]:
    """A tail, and the width a foot inside it."""
    kind = some.one_of(*TAILS)
    tail: Table = {"kind": kind}
    row = TAILS[kind]
    if row.curve is None:
        full = some.within(1.1, 1.5) if kind == "pin" else some.within(1.5, 2.2)
        if kind != "round" or some.told(0.5):
            tail["tip_radius"] = some.within(*{"round": (40, 120), "pin": (3, 15), "thumb": (25, 60)}[kind])
        return tail, wide * (1 - ((wide_x - FOOT_MM) / wide_x) ** some.within(1.7, 2.3)) ** (1 / full)
    block = round(wide * some.within(0.22, 0.6), 3)
    tail["block"] = block
    depth = 0.0
    if row.depth_share is not None:
        share = {"squash": (0.05, 0.22), "diamond": (0.25, 0.45), "swallow": (0.3, 0.7), "moon": (0.08, 0.35)}[kind]
        tail["depth"] = depth = round(block * some.within(*share), 3)
    if kind in ("square", "squash"):
        tail["corner_radius"] = round(block * some.one_of(0.0, some.within(0.03, 0.15), some.within(0.03, 0.5)), 3)
    corner_x = float(row.curve(block / 2, depth)(block / 2))
    return tail, wide - (wide - block) * ((wide_x - FOOT_MM) / (wide_x - corner_x)) ** some.within(1.8, 2.5)


def _stations(some: Numbers, length: float) -> list[float]:
    """One to four stations more than a foot inside the ends, each in its own part of the length."""
    count = some.one_of(1, 2, 3, 4)
    part = (length - 2 * FOOT_MM) / count
    return [round(FOOT_MM + part * (i + some.within(0.2, 0.8)), 3) for i in range(count)]


def _rail(some: Numbers, x_mm: float, thick: float, half: float, *, wild: bool) -> Table:
    """A rail: a kind, numbers, or both; within what goes with the thickness and the half-width there, or, if `wild`,
    within all that a spec takes.
    """
    rail: Table = {"from_tail": x_mm}
    if some.told(0.6):
        rail["kind"] = some.one_of(*RAIL_KINDS)
    share = 0.4 if "kind" in rail else 0.7
    ranges = {
        "apex": (0.1, 0.8) if wild else (0.2, 0.55),
        "radius": (1, 80) if wild else (0.18 * thick, 0.27 * thick),
        "shoulder": (0.3, 1) if wild else (0.35, 1),
        "tuck": (1, 250) if wild else (0.12 * thick, min(0.4 * thick, half / 8)),
    }
    for key, (low, high) in ranges.items():
        if some.told(share):
            rail[key] = some.within(low, high)
    if some.told(share) and (wild or "tuck" in rail):
        # A radius that the tuck has room for.
        rail["edge_radius"] = some.within(0, 30) if wild else some.one_of(0, 0.2 * float(str(rail["tuck"])))
    return rail


def _deck(some: Numbers, x_mm: float, thick: float, width: float, *, wild: bool) -> list[Table]:
    shape = some.one_of(*DECKS)
    deck: Table = {"from_tail": x_mm, "shape": shape}
    if shape != "flat":
        most = {"domed": 0.2, "rolled": 0.2, "concave": 0.08, "chine": 0.15}[shape]
        deck["depth"] = some.within(0.1, 60) if wild else round(thick * some.within(0.02, most), 3)
    if shape in ("domed", "rolled") and some.told(0.4):
        deck["flat"] = some.within(1, 1000) if wild else round(width * some.within(0.1, 0.6), 3)
    if shape == "chine" and some.told(0.5):
        deck["width"] = some.within(1, 1000) if wild else round(width * some.within(0.03, 0.12), 3)
    if shape == "chine" and some.told(0.5):
        depth = some.within(0.1, 60) if wild else round(thick * some.within(0.02, 0.15), 3)
        return [deck, {"from_tail": x_mm, "shape": "domed", "depth": depth}]
    return [deck]


def _bottom(some: Numbers, x_mm: float, thick: float, width: float, *, wild: bool) -> list[Table]:
    shapes = some.one_of(*((shape,) for shape in BOTTOMS), ("concave", "double concave"), ("roll", "vee"))
    entries = []
    for shape in shapes:
        bottom: Table = {"from_tail": x_mm, "shape": shape}
        if shape != "flat":
            most = {"roll": 0.1, "vee": 0.1, "concave": 0.12, "double concave": 0.12, "chine": 0.12}[shape] / len(
                shapes
            )
            bottom["depth"] = some.within(0.1, 40) if wild else round(thick * some.within(0.01, most), 3)
        if shape == "roll" and some.told(0.4):
            bottom["flat"] = some.within(1, 1000) if wild else round(width * some.within(0.1, 0.5), 3)
        if shape in ("concave", "chine") and some.told(0.5):
            share = (0.3, 0.7) if shape == "concave" else (0.03, 0.12)
            bottom["width"] = some.within(1, 1000) if wild else round(width * some.within(*share), 3)
        entries.append(bottom)
    return entries


def random_spec(seed: int, *, wild: bool = False) -> Table:
    """A board's spec in millimetres, of trade-plausible numbers; with `wild`, sections of any numbers a spec takes."""
    some = Numbers(seed)
    length = some.within(1500, 3300)
    wide, wide_x = some.within(440, 600), length * some.within(0.42, 0.6)
    nose, nose_width = _nose(some, length, wide, wide_x)
    tail, tail_width = _tail(some, wide, wide_x)
    thick, thick_x = some.within(50, 90), length * some.within(0.42, 0.58)

    def inside(reach: float) -> float:
        return round(thick - (thick - thick * some.within(0.15, 0.42)) * reach ** some.within(2.0, 2.9), 3)

    tail_thick = inside((thick_x - FOOT_MM) / thick_x)
    nose_thick = inside((length - FOOT_MM - thick_x) / (length - thick_x))
    thin, narrow = min(tail_thick, nose_thick), min(tail_width, nose_width)
    spec: Table = {
        "edition": 2,
        "name": "Random",
        "unit": "mm",
        "length": length,
        "outline": {
            "nose_width": round(nose_width, 3),
            "tail_width": round(tail_width, 3),
            "wide_point": {"width": wide, "from_tail": round(wide_x, 3)},
        },
        "nose": nose,
        "tail": tail,
        "rocker": {"nose": some.within(50, 190), "tail": some.within(15, 90)},
        "thickness": {
            "thickest": {"thickness": thick, "from_tail": round(thick_x, 3)},
            "nose": nose_thick,
            "tail": tail_thick,
        },
    }
    if some.told(0.5):
        spec["rocker"] |= {"lowest": {"from_tail": round(length * some.within(0.4, 0.6), 3)}}  # type: ignore[operator]
    sections = {
        "rails": [_rail(some, x, thin, narrow / 2, wild=wild) for x in _stations(some, length)],
        "deck": [each for x in _stations(some, length) for each in _deck(some, x, thin, narrow, wild=wild)],
        "bottom": [each for x in _stations(some, length) for each in _bottom(some, x, thin, narrow, wild=wild)],
    }
    if some.told(0.3):
        # Drops of the deck in the place of its own entries.
        del sections["deck"]
        for rail in sections["rails"]:
            rail.setdefault("kind", "60/40")
            rail["drops"] = [{"inside": 50.8, "down": some.within(0.5, 80) if wild else None}]
    for name, entries in sections.items():
        if some.told(0.8):
            spec[name] = [entry if len(entry) > 1 else entry | {"kind": "60/40"} for entry in entries]
    return spec


def as_toml(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {as_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return json.dumps(value)


def _read(spec: Table) -> Board:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "random.toml"
        place.write_text("".join(f"{key} = {as_toml(value)}\n" for key, value in spec.items()), encoding="utf-8")
        return load_board(place)


def random_board(seed: int, *, wild: bool = False) -> Board:
    """The board of a seed, read as a maker's spec is; raises SpecError where its numbers do not go together."""
    spec = random_spec(seed, wild=wild)
    rails = spec.get("rails", [])
    assert isinstance(rails, list)
    asked = [drop for rail in rails for drop in rail.get("drops", []) if drop["down"] is None]
    if asked:
        # Drops as a maker finds them on a board that there is: the same one, its dome given as a kind does.
        plain = {**spec, "rails": [{key: value for key, value in rail.items() if key != "drops"} for rail in rails]}
        lines = board_lines(_read(plain))
        n = lines.section_numbers([rail["from_tail"] for rail in rails])
        for drop, down in zip(asked, drop_at(n, 50.8).tolist(), strict=True):
            drop["down"] = round(down, 3)
    return _read(spec)


@dataclass(frozen=True, slots=True)
class Agreed:
    """A board whose numbers go together, its lines, and how many seeds before it gave one whose numbers do not."""

    board: Board
    lines: BoardLines
    refused: int


def agreed(seed: int) -> Agreed:
    """The board of a seed, or of the next one after it whose numbers go together."""
    for refused in range(200):
        try:
            board = random_board(seed + refused)
            return Agreed(board, board_lines(board), refused)
        except SpecError:
            continue
    raise AssertionError(seed)
