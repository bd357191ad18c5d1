"""Boards derived from others: scaled, with numbers of their own, and mixed of two."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from bayloft.errors import SpecError
from bayloft.lines.blending import PLAY_MM
from bayloft.lines.drafting import board_lines
from bayloft.solid.draft import drafted
from bayloft.solid.integrals import integrals
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.board_models import BoardSpec
from bayloft.spec.boards.deriving import AXES, LINES
from bayloft.spec.loading import load_board
from bayloft.spec.schema import schema_of
from bayloft.spec.text.given import Given
from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Length
from bayloft.spec.text.tables import STATION_KEYS, Table

SPECS = Path(__file__).parents[3] / "specs"
BOARDS = sorted(path.stem for path in SPECS.glob("boards/*.toml"))
HEAD = 'edition = 2\nname = "Knot"\n'


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Return a folder of boards like the demo's, to add to."""
    shutil.copytree(SPECS, tmp_path, dirs_exist_ok=True)
    return tmp_path / "boards"


def derived(shop: Path, text: str, name: str = "knot") -> Board:
    (shop / f"{name}.toml").write_text(HEAD + text, encoding="utf-8")
    return load_board(shop / f"{name}.toml")


def places(given: tuple[Given, ...]) -> list[tuple[float, float, str, float]]:
    return [
        (pytest.approx(each.x_mm, abs=1e-5), pytest.approx(each.value, abs=1e-5), each.form, each.play_mm)
        for each in given
    ]


def all_lines(board: Board) -> Iterator[tuple[Given, ...]]:
    yield from (board.widths, board.heights, board.thicknesses, board.usual_heights, (board.wide_point, board.thickest))
    yield from board.sections.values()


@pytest.mark.parametrize("name", BOARDS)
def test_a_board_of_the_same_length_is_the_same_board(shop: Path, name: str) -> None:
    base = load_board(shop / f"{name}.toml")
    board = derived(shop, f'from = {{ board = "{name}.toml" }}')
    for ours, theirs in zip(all_lines(board), all_lines(base), strict=True):
        assert places(ours) == places(theirs)
    for key in ("nose", "tail", "hollow", "nose_tip_mm", "tail_end_mm", "templates", "metric", "aim"):
        assert getattr(board, key) == getattr(base, key), key
    without = [replace(place, fin=base.fins[0].fin) for place in base.fins]
    assert [replace(place, fin=base.fins[0].fin) for place in board.fins] == without
    assert [place.fin.name for place in board.fins] == [place.fin.name for place in base.fins]


@pytest.mark.parametrize("name", ["dunlin", "fulmar", "shearwater", "whimbrel"])
def test_proportions_kept_volume_grows_as_the_cube(shop: Path, name: str) -> None:
    # What bayloft adds itself (the foot beyond which shares level off, the least edge) does not grow with the board.
    base = drafted(load_board(shop / f"{name}.toml"))
    factor = 1.06
    text = f'[from]\nboard = "{name}.toml"\nlength = "{base.board.length_mm * factor} mm"\n'
    board = drafted(derived(shop, text))
    assert integrals(board.body).volume_mm3 / integrals(base.body).volume_mm3 == pytest.approx(factor**3, rel=1e-3)


def test_thickness_and_rails_kept(shop: Path) -> None:
    base = load_board(shop / "dunlin.toml")
    board = derived(shop, '[from]\nboard = "dunlin.toml"\nlength = "6\'8"\nkeep = "thickness and rails"\n')
    factor = 2032.0 / base.length_mm
    assert board.wide_point.value == pytest.approx(factor * base.wide_point.value)
    assert board.tail.block_mm == pytest.approx(factor * base.tail.block_mm)
    assert board.thickest.value == base.thickest.value
    assert board.heights[-1].value == pytest.approx(factor * base.heights[-1].value)
    assert [each.value for each in board.sections["radius"]] == [each.value for each in base.sections["radius"]]
    assert [each.value for each in board.sections["concave"]] == [each.value for each in base.sections["concave"]]
    assert board.fins[0].off_stringer_mm == pytest.approx(factor * base.fins[0].off_stringer_mm)
    assert board.fins[0].toe_deg == base.fins[0].toe_deg
    assert board.fins[0].fin == base.fins[0].fin


def test_usual_rails_stay_those_of_the_board_that_was_scaled(shop: Path) -> None:
    base = load_board(shop / "avocet.toml")
    board = derived(shop, '[from]\nboard = "avocet.toml"\nlength = "9\'4"\n')
    assert [each.value for each in board.sections["shoulder"]] == [each.value for each in base.sections["shoulder"]]
    longer = derived(shop, '[from]\nboard = "knot.toml"\nlength = "9\'6"\n', "longer")
    assert [each.value for each in longer.sections["shoulder"]] == [each.value for each in base.sections["shoulder"]]


MEASURED = """
edition = 2
name = "Measured"
unit = "in"
length = "6'10"
outline = { nose_width = 15, tail_width = 14.75, wide_point = { width = 20.75, ahead_of_centre = 2 }, widths = [
  { from_tail = 24, width = 18.6 },
  { from_nose = 24, width = 19.1 },
] }
nose = { kind = "round" }
tail = { kind = "diamond", block = 7, depth = 3 }
rocker = { nose = 4.75, tail = 2, lowest = { behind_centre = 2 }, heights = [
  { from_tail = 12, height = 0.95 },
  { from_nose = 12, height = 2.4 },
] }
thickness = { nose = 1.625, tail = 1.625, thickest = { thickness = 2.625, ahead_of_centre = 2 } }
rails = [
  { from_nose = 16, apex = 0.48, radius = 0.45 },
  { ahead_of_centre = 2, drops = [{ inside = 2, down = 0.4 }] },
]
"""
"""A board that was measured at more places than it needs."""

OWN = """
unit = "in"
from = { board = "measured.toml", length = "7'2" }
[outline]
nose_width = 15.5
wide_point = { width = 21 }
widths = [ { from_tail = 30, width = 19.5 } ]
[rocker]
nose = 5
[tail]
block = 7.5
[[deck]]
shape = "flat"
"""


def test_numbers_given_beside_come_before(shop: Path) -> None:
    (shop / "measured.toml").write_text(MEASURED, "utf-8")
    base, board = load_board(shop / "measured.toml"), derived(shop, OWN)
    inch, length = 25.4, 86 * 25.4
    own = {place.x_mm: place for place in board.widths if not board.source.taken(place.path)}
    assert {round(x / inch, 6): place.value / inch for x, place in own.items()} == pytest.approx(
        {74.0: 15.5, 30.0: 19.5}
    )
    assert all(place.play_mm == 0.0 for place in own.values())
    wide = board.wide_point
    assert wide.value == 21 * inch
    assert wide.x_mm == pytest.approx(length / 2 + 2 * inch * length / base.length_mm)
    # What is taken grows with the wide point, is loose, and yields within a foot of the board's own.
    taken = [place for place in board.widths if board.source.taken(place.path)]
    assert taken
    assert all(place.play_mm == 1.5 for place in taken)
    assert all(abs(place.x_mm - x) > 304.8 for place in taken for x in own)
    theirs = {round(place.x_mm * length / base.length_mm, 3): place.value for place in base.widths}
    for place in taken:
        assert place.value == pytest.approx(theirs[round(place.x_mm, 3)] * 21 / 20.75)
    rise = board.heights[-1].value / base.heights[-1].value
    assert board.heights[-1].value == 5 * inch
    assert board.heights[-2].value == pytest.approx(base.heights[-2].value * rise)
    assert board.heights[0].value == pytest.approx(base.heights[0].value * length / base.length_mm)
    assert (board.tail.kind, board.tail.block_mm) == ("diamond", 7.5 * inch)
    assert board.tail.depth_mm == pytest.approx(base.tail.depth_mm * length / base.length_mm)
    assert [each.value for each in board.sections["dome"]] == [0.0]
    drafted(board)


def test_an_end_of_another_kind_is_the_board_s_own(shop: Path) -> None:
    board = derived(shop, 'from = { board = "dunlin.toml" }\n[tail]\nkind = "pin"\n')
    assert (board.tail.kind, board.tail.block_mm, board.tail.tip_radius_mm) == ("pin", 0.0, 6.0)


def test_a_volume_goes_with_the_board_until_a_greatest_size_is_given(shop: Path) -> None:
    (shop / "aimed.toml").write_text(
        (shop / "dunlin.toml").read_text("utf-8").replace('length = "6\'2"', 'length = "6\'2"\nvolume = "31 L"'),
        "utf-8",
    )
    board = derived(shop, 'from = { board = "aimed.toml", length = "6\'8" }')
    assert board.aim
    assert board.aim.litres == pytest.approx(31 * (80 / 74) ** 3)
    board = derived(shop, 'from = { board = "aimed.toml" }\n[thickness]\nthickest = { thickness = "60 mm" }')
    assert board.aim is None
    board = derived(shop, 'volume = "28 L"\nfrom = { board = "aimed.toml" }')
    assert board.aim
    assert board.aim.litres == 28


MIXED = '[from]\nboard = "dunlin.toml"\nblended_with = "fulmar.toml"\nshare = {share}\nlength = "6\'8"\n'


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_a_mixed_board_has_the_lines_of_both(shop: Path, share: float) -> None:
    alone = [
        board_lines(derived(shop, f'[from]\nboard = "{name}.toml"\nlength = "6\'8"\n')) for name in ("dunlin", "fulmar")
    ]
    lines = drafted(derived(shop, "fins = []\n" + MIXED.format(share=share))).lines
    assert lines.length_mm == 2032.0
    x = np.linspace(0.0, 2032.0, 200)
    inner = x[(x > 60.0) & (x < 1980.0)]
    for what, allowed in (("outline", 2.0), ("foil", 2.0), ("rocker", 2.5)):
        first, second = (getattr(each, what).at(inner) for each in alone)
        mixed = (1.0 - share) * first + share * second
        mixed -= mixed.min() if what == "rocker" else 0.0
        # Between its numbers a mixed line is the fairest, and no more the mixture itself.
        assert np.abs(getattr(lines, what).at(inner) - mixed).max() < allowed, what
    for what in ("radius", "shoulder", "tuck", "concave"):
        first, second = (each.sections.shares[what].at(1016.0) for each in alone)
        assert lines.sections.shares[what].at(1016.0) == pytest.approx((1 - share) * first + share * second, abs=0.02)
    assert PLAY_MM < 0.5


def test_a_mixed_board_keeps_its_own_numbers(shop: Path) -> None:
    text = MIXED.format(share=0.4) + '[outline]\nwide_point = { width = "18 in" }\nnose_width = "11 1/2 in"\n'
    board = drafted(derived(shop, text + '[rocker]\nnose = "5 in"\n[[rails]]\nkind = "boxy"\n')).board
    assert board.wide_point.value == pytest.approx(457.2)
    assert (board.widths[-1].value, board.widths[-1].play_mm) == (pytest.approx(292.1), 0.0)
    assert board.heights[-1].value == pytest.approx(127.0)
    assert {each.value for each in board.sections["apex"]} == {0.42}


def test_a_volume_to_reach_of_a_mixed_board(shop: Path) -> None:
    draft = drafted(derived(shop, 'volume = "33 L"\n' + MIXED.format(share=0.3)))
    assert integrals(draft.body).volume_mm3 == pytest.approx(33e6, abs=1e3)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('from = { board = "knot.toml" }', "this very file"),
        ('from = { board = "knots.toml" }', "no such file"),
        ('length = "7 ft"\nfrom = { board = "dunlin.toml" }', 'length = "7 ft" in [from]'),
        ('from = { board = "dunlin.toml", share = 0.3 }', "without blended_with"),
        ('from = { board = "dunlin.toml", blended_with = "fulmar.toml" }', "without share"),
        ('from = { board = "dunlin.toml", length = "2 in" }', "too small"),
        ('from = { board = "dunlin.toml", keep = "rails" }', "not one of its choices"),
        ('from = { boards = "dunlin.toml" }', "not a key of this table"),
        ('from = { board = "../fins/dunlin-side.toml" }', "a fin file where a board file is needed"),
        ('from = { board = "dunlin.toml" }\n[outline]\nnose_width = "20 in"', "wider than the wide point"),
        ('from = { board = "dunlin.toml", length = "14 ft" }\n[[deck]]\nshape = "flat"', "too large"),
    ],
)
def test_what_is_wrong_is_told_once_where_it_stands(shop: Path, text: str, told: str) -> None:
    with pytest.raises(SpecError) as caught:
        derived(shop, text)
    assert told in str(caught.value)
    assert str(caught.value).count("knot.toml:") + str(caught.value).count("side.toml") >= 1
    lines = [fault.line for fault in caught.value.faults]
    assert all(line is None or line >= 1 for line in lines)
    assert len(set(caught.value.faults)) == len(caught.value.faults)


def test_boards_derived_in_a_circle(shop: Path) -> None:
    (shop / "one.toml").write_text(HEAD + 'from = { board = "two.toml" }', "utf-8")
    (shop / "two.toml").write_text(HEAD + 'from = { board = "one.toml" }', "utf-8")
    with pytest.raises(SpecError, match="a board that is derived from this very one"):
        load_board(shop / "one.toml")


def test_a_mixed_board_is_no_base(shop: Path) -> None:
    derived(shop, MIXED.format(share=0.5), "mixed")
    with pytest.raises(SpecError, match="a board that is mixed of two itself"):
        derived(shop, 'from = { board = "mixed.toml" }')


def test_faults_of_the_other_board_are_told_of_its_file(shop: Path) -> None:
    broken = (shop / "dunlin.toml").read_text("utf-8").replace("nose_width = 298", "nose_width = 598")
    (shop / "broken.toml").write_text(broken, "utf-8")
    with pytest.raises(SpecError) as caught:
        derived(shop, 'from = { board = "broken.toml" }')
    assert [Path(fault.file).name for fault in caught.value.faults] == ["broken.toml"]


def test_a_derived_board_fits_the_schema() -> None:
    validator = Draft202012Validator(schema_of("board"))
    own: dict[str, Any] = {"edition": 2, "name": "Knot", "from": {"board": "dunlin.toml", "length": "6'8"}}
    assert validator.is_valid(own)
    assert not validator.is_valid({"edition": 2, "name": "Knot"})
    assert validator.is_valid(own | {"outline": {"nose_width": 15}})


def lengths(model: type[Table], table: str = "") -> Iterator[tuple[str, str]]:
    """Yield the table at the root and the key of every length in a model."""
    for name, entry in model.model_fields.items():
        yield from of_annotation(entry.annotation, table, name)
        if any(isinstance(each, Typed) and isinstance(each.measure, Length) for each in entry.metadata):
            yield table, name


def of_annotation(annotation: object, table: str, name: str) -> Iterator[tuple[str, str]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield from lengths(annotation, table or name)
    for part in get_args(annotation):
        if isinstance(part, Typed) and isinstance(part.measure, Length):
            yield table, name
        yield from of_annotation(part, table, name)


def test_every_length_of_a_board_is_known_to_scaling() -> None:
    feet = {(table, key) for table, line in LINES.items() for key in line.feet}
    unknown = {
        (table, key)
        for table, key in lengths(BoardSpec)
        if table not in ("", "from_", "blank")
        and key not in (*STATION_KEYS, "read_to")
        and key not in AXES[table.rstrip("_")]
        and (table, key) not in feet
    }
    assert unknown == set()
    assert len(list(lengths(BoardSpec))) > 80
