"""Spec files that are right: the trusted values they give, and what is assumed where they are silent."""

from __future__ import annotations

import json
import math
import re
import shutil
import tomllib
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from bayloft.errors import SpecError
from bayloft.lines.drafting import board_lines
from bayloft.spec import starter
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.quantities import QUANTITIES, RAIL, RAIL_KINDS, RailKind, Size, usual
from bayloft.spec.boards.section_models import BottomShape, DeckShape
from bayloft.spec.boards.sections import RAIL_KEYS
from bayloft.spec.boards.shapes import BOTTOM_KEYS, DECK_KEYS
from bayloft.spec.loading import load_board, load_fin
from bayloft.spec.schema import MODELS, schema_of
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.text.given import Given
from bayloft.spec.text.measures import Refused
from bayloft.spec.text.naming import checked_name, slug_of
from bayloft.tolerances import SEPARATE_STATIONS_MM

SPECS = Path(__file__).parents[3] / "specs"
BOARDS = sorted(SPECS.glob("boards/*.toml"))
FINS = sorted(SPECS.glob("fins/*.toml"))
INCH = 25.4
ROUNDING_MM = 1e-9
"""Two or three roundings of a float64 at 3 m are below 1e-12 mm; nothing else may differ."""

PLAIN: dict[str, Any] = {
    "edition": 2,
    "name": "Knot",
    "unit": "in",
    "length": 72,
    "outline": {"nose_width": 15, "tail_width": 14, "wide_point": {"width": 20, "ahead_of_centre": 1}},
    "nose": {"kind": "round"},
    "tail": {"kind": "round"},
    "rocker": {"nose": 5, "tail": 2},
    "thickness": {"thickest": {"thickness": 2.5, "from_tail": 37}, "nose": 1.5, "tail": 1.25},
}


ROCKER = {"rocker.lowest", "rocker.heights"}
ROCKER_LOWEST = '2 3/16" (54.9 mm) behind the centre'
ROCKER_HEIGHTS = 'about 3/4" (19.7 mm) 12 in from the tail and about 1 15/16" (48.6 mm) 12 in from the nose'
"""Worked out by hand for PLAIN. Lowest 0.47 x 1828.8 = 859.536, so the ends are 859.536 and 969.264 away, and
b = 0.8 min(50.8 / 859.536^2, 127 / 969.264^2) = 5.50083e-5 / mm. A foot inside, at 554.736 and 664.464:
b x^2 + (h - b L^2) (x / L)^3 = 16.928 + 10.16 x 0.26883 = 19.66 and 24.287 + 75.321 x 0.32218 = 48.55."""


def as_toml(value: object) -> str:
    """Return any TOML value on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {as_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    return value.isoformat() if isinstance(value, date) else repr(value)


def written(folder: Path, values: dict[str, Any], name: str = "knot.toml") -> Path:
    path = folder / name
    path.write_text("".join(f"{json.dumps(key)} = {as_toml(value)}\n" for key, value in values.items()), "utf-8")
    return path


def board_of(folder: Path, **changes: Any) -> Board:
    return load_board(written(folder, PLAIN | changes))


def numbers(line: tuple[Given, ...]) -> list[tuple[float, float]]:
    return [(pytest.approx(each.x_mm, abs=ROUNDING_MM), pytest.approx(each.value, abs=ROUNDING_MM)) for each in line]


def assumed(board: Board) -> dict[str, str]:
    return {".".join(map(str, each.path)): each.value for each in board.assumed}


# The demo specs


def test_there_are_demo_specs() -> None:
    assert [path.stem for path in BOARDS] == [
        "avocet",
        "dunlin",
        "fulmar",
        "sanderling",
        "shearwater",
        "spoonbill",
        "turnstone",
        "whimbrel",
    ]
    assert len(FINS) == 7


@pytest.mark.parametrize("path", BOARDS, ids=lambda path: path.stem)
def test_demo_board(path: Path) -> None:
    board = load_board(path)
    assert board.slug == path.stem
    assert bool(board.fins) == (path.stem != "sanderling")
    assert path.read_text("utf-8").startswith("#:schema ../schema/board.schema.json\n# ")
    assert set(board.sections) == set(QUANTITIES)
    for line in (board.widths, board.heights, board.thicknesses, *board.sections.values()):
        assert list(line) == sorted(line, key=lambda each: each.x_mm)


def test_a_place_may_be_a_text() -> None:
    assert load_board(str(BOARDS[1])) == load_board(BOARDS[1])
    assert load_fin(str(FINS[0])) == load_fin(FINS[0])
    shop = SPECS / "shop" / "boatshed-hobby.toml"
    assert load_shop(str(shop)) == load_shop(shop)


@pytest.mark.parametrize("path", FINS, ids=lambda path: path.stem)
def test_demo_fin(path: Path) -> None:
    fin = load_fin(path)
    assert fin.slug == path.stem
    assert fin.source.file == str(path)


def test_the_plan_numbers_of_the_demo_boards() -> None:
    plan = {
        "dunlin": (74, 11.75, 19, -1, 14.5, 5.75),
        "fulmar": (122, 12.25, 20.5, 6, 11.375, 0),
        "sanderling": (86, 16.75, 18.5, 3, 16.25, 13.5),
        "shearwater": (90, 17.5, 22, 4, 14, 0),
        "spoonbill": (112, 18.5, 23, 0, 15, 6.5),
        "turnstone": (68, 15.5, 20.75, 1, 15.25, 10),
        "whimbrel": (88, 16.75, 21.25, 2, 14.75, 0),
    }
    for path in BOARDS:
        board = load_board(path)
        if board.slug not in plan:
            # It was lifted from readings: its widths are those of a tape, less the glass.
            assert board.slug == "avocet"
            assert board.length_mm / INCH == pytest.approx(82 - 2 / INCH, abs=1e-4)
            continue
        ahead = board.wide_point.x_mm - board.length_mm / 2
        by_key = {each.path: each.value for each in board.widths}
        sizes = by_key["outline", "nose_width"], board.wide_point.value, ahead, by_key["outline", "tail_width"]
        inches = [mm / INCH for mm in (board.length_mm, *sizes, board.tail.block_mm)]
        # The Dunlin is given in whole millimetres: half of one is 0.02 in.
        assert inches == pytest.approx(plan[board.slug], abs=0.025 if board.slug == "dunlin" else 1e-12)


def test_the_starter_loads_from_one_folder_and_assumes_nothing(tmp_path: Path) -> None:
    (tmp_path / starter.BOARD_FILE).write_text(starter.board_text(), "utf-8")
    (tmp_path / starter.FIN_FILE).write_text(starter.fin_text(), "utf-8")
    board = load_board(tmp_path / starter.BOARD_FILE)
    assert board.assumed == ()
    assert board.fins[0].fin.assumed == ()


@pytest.mark.parametrize("text", [starter.board_text(), starter.fin_text()], ids=["board", "fin"])
def test_what_the_starter_has_in_remarks_can_be_used(text: str, tmp_path: Path) -> None:
    head, tail, rest = text.partition("[tail]")
    tail_keys, rocker, rest = rest.partition("[rocker]")
    # Of the remarks under [tail], each is for some kinds only.
    head, rest = (
        re.sub(
            r"^# (?=\w+ += |\[(?:tab|core|templates|shaping|blank|stringer|bands|\[channels\])\])",
            "",
            part,
            flags=re.MULTILINE,
        )
        for part in (head, rest)
    )
    used = head + tail + tail_keys + rocker + rest
    is_board = "[outline]" in text
    (tmp_path / starter.FIN_FILE).write_text(starter.fin_text() if is_board else used, "utf-8")
    (tmp_path / starter.BOARD_FILE).write_text(used if is_board else starter.board_text(), "utf-8")
    (tmp_path / starter.BLANK_FILE).write_text(starter.blank_text(), "utf-8")
    (tmp_path / starter.PLANK_FILE).write_text(starter.plank_text(), "utf-8")
    assert used.count("\n# ") < text.count("\n# ") - 3
    load_board(tmp_path / starter.BOARD_FILE)


# Lengths, stations, names


def test_the_same_board_in_inches_in_millimetres_and_in_words(tmp_path: Path) -> None:
    wide = {"width": 508, "ahead_of_centre": 25.4}
    metric = PLAIN | {
        "unit": "mm",
        "length": 1828.8,
        "outline": {"nose_width": 381, "tail_width": "35.56 cm", "wide_point": wide},
        "rocker": {"nose": 127, "tail": 50.8},
        "thickness": {"thickest": {"thickness": 63.5, "from_tail": 939.8}, "nose": 38.1, "tail": 31.75},
    }
    words = {key: value for key, value in PLAIN.items() if key != "unit"} | {
        "length": "6 ft",
        "outline": {
            "nose_width": '15"',
            "tail_width": "1 ft 2 in",
            "wide_point": {"width": "20 in", "ahead_of_centre": "25.4 mm"},
        },
        "rocker": {"nose": "5 in", "tail": "2″"},
        "thickness": {"thickest": {"thickness": "2 1/2 in", "from_tail": "3'1"}, "nose": "1½ in", "tail": "1 1/4 in"},
    }
    first = board_of(tmp_path)
    for values in (metric, words):
        other = load_board(written(tmp_path, values))
        assert other.length_mm == first.length_mm == 1828.8
        for line in ("widths", "heights", "thicknesses"):
            assert numbers(getattr(other, line)) == [(each.x_mm, each.value) for each in getattr(first, line)]
        assert numbers((other.wide_point,)) == [(939.8, 508.0)]


@pytest.mark.parametrize(
    "station", [{"from_tail": 40}, {"from_nose": 32}, {"ahead_of_centre": 4}, {"from_nose": "2 ft 8 in"}], ids=str
)
def test_four_ways_to_name_a_station(station: dict[str, Any], tmp_path: Path) -> None:
    board = board_of(tmp_path, rocker={"nose": 5, "tail": 2, "lowest": station})
    assert board.lowest_x_mm == pytest.approx(40 * INCH, abs=ROUNDING_MM)
    aft = board_of(tmp_path, rocker={"nose": 5, "tail": 2, "lowest": {"behind_centre": 4}})
    assert aft.lowest_x_mm == pytest.approx(32 * INCH, abs=ROUNDING_MM)


@pytest.mark.parametrize(
    ("name", "slug"),
    [
        ("Whimbrel", "whimbrel"),
        ("O'Brien’s No. 2 (round)", "obriens-no-2-round"),
        ("Écluse-Müller, 6.2", "écluse-müller-6-2"),
        ("A" * 60, "a" * 60),
        ("E\u0301cluse", "\u00e9cluse"),
        ("Кулик", "кулик"),
        ("千鳥 6.2", "千鳥-6-2"),
        ("طيطوى", "طيطوى"),
        ("ΧΑΡΑΔΡΙΌΣ", "χαραδριόσ"),
        ("टिटहरी", "टिटहरी"),
        ("7", "7"),
        ("com 1", "com-1"),  # the blank keeps it from being the device
    ],
)
def test_names_and_their_folders(name: str, slug: str) -> None:
    assert slug_of(checked_name(name)) == slug


def test_names_that_differ_have_folders_that_differ() -> None:
    names = ["Wren", "Wrén", "Wrèn", "Крапивник", "Королёк", "ミソサザイ", "みそさざい"]
    assert len({slug_of(checked_name(name)) for name in names}) == len(names)
    assert slug_of("Wrén") == slug_of("WRE\u0301N")


@pytest.mark.parametrize(
    "name",
    ["a/b", "a\\b", "a<b", "a>b", "a&b", "a\tb", "a\u200bb", "..", "LPT1", "a٣", "a²", "’", "٣", "\u0301", "𐌰" * 60],
)
def test_names_that_could_do_harm(name: str) -> None:
    with pytest.raises(Refused):
        checked_name(name)


# What is assumed


def test_a_bare_board_lists_every_default(tmp_path: Path) -> None:
    board = board_of(tmp_path)
    assert assumed(board) == {
        "rocker.lowest": ROCKER_LOWEST,
        "rocker.heights": ROCKER_HEIGHTS,
        "rails.0.apex": "0.45, 0.42, 0.32 of the thickness near nose, middle and tail",
        "rails.0.radius": "0.18, 0.22, 0.22 of the thickness near nose, middle and tail",
        "rails.0.shoulder": "0.7, 0.6, 0.5 near nose, middle and tail",
        "rails.0.tuck": "0.62, 0.4, 0.21 of the thickness near nose, middle and tail",
        "rails.0.edge_radius": "0.5, 0.4, 0.02 near nose, middle and tail",
        "deck": "0.22, 0.18, 0.1 of the thickness near nose, middle and tail",
        "bottom.0.shape": "flat",
    }
    for name, line in board.sections.items():
        assert numbers(line) == list(usual(name, board.size))
        assert all(each.assumed and each.form == "share" for each in line)
    assert board.drops == ()


def test_rails_of_a_thick_board_are_full_however_long_it_is(tmp_path: Path) -> None:
    """A paddle board of 12'6 x 27 x 6, of which nothing else is told, is not refused for what it did not say."""
    thick = {
        "length": 150,
        "outline": {"nose_width": 19, "tail_width": 16, "wide_point": {"width": 27, "ahead_of_centre": 0}},
        "thickness": {"thickest": {"thickness": 6, "ahead_of_centre": 0}, "nose": 4.5, "tail": 4.25},
    }
    board = board_of(tmp_path, **thick)
    for name in RAIL:
        short = usual(name, Size(length_mm=1800.0, width_mm=540.0, thickness_mm=60.0))
        assert [value for _, value in usual(name, board.size)] == [value for _, value in short]
    assert board_lines(board).thickness(75 * INCH) == pytest.approx(6 * INCH, abs=0.01)


def test_a_default_that_is_one_number_is_told_as_one(tmp_path: Path) -> None:
    outline = {"nose_width": 15, "tail_width": 14, "wide_point": {"width": 20, "ahead_of_centre": 1}}
    long = board_of(tmp_path, length=120, outline=outline)
    assert assumed(long)["rails.0.apex"] == "0.5, 0.5, 0.45 of the thickness near nose, middle and tail"
    assert numbers(long.sections["concave_width"]) == [(60 * INCH, 1.0)]


def test_the_table_of_quantities_is_whole() -> None:
    assert tuple(RAIL_KINDS) == get_args(RailKind)
    assert {*RAIL_KEYS, "dome"} == set(RAIL)
    assert set(RAIL) <= set(QUANTITIES)
    assert all(QUANTITIES[name].short and QUANTITIES[name].long for name in RAIL)
    assert set(DECK_KEYS) == set(get_args(DeckShape))
    assert set(BOTTOM_KEYS) == set(get_args(BottomShape))


@pytest.mark.parametrize(
    ("tail", "radius", "depth", "corner", "listed"),
    [
        ({"kind": "round"}, None, 0, 0, []),
        ({"kind": "pin"}, 6, 0, 0, ["tip_radius"]),
        ({"kind": "thumb"}, 35, 0, 0, ["tip_radius"]),
        ({"kind": "thumb", "tip_radius": "20 mm"}, 20, 0, 0, []),
        ({"kind": "square", "block": 8}, None, 0, 0, ["corner_radius"]),
        ({"kind": "squash", "block": 8}, None, INCH, 0.64 * INCH, ["depth", "corner_radius"]),
        ({"kind": "squash", "block": 8, "depth": 0.5, "corner_radius": 0}, None, 0.5 * INCH, 0, []),
        ({"kind": "diamond", "block": 8}, None, 3.6 * INCH, 0, ["depth", "corner_radius"]),
        ({"kind": "swallow", "block": 8}, None, 4 * INCH, 0, ["depth"]),
        ({"kind": "moon", "block": 9}, None, 1.5 * INCH, 0, ["depth"]),
    ],
    ids=str,
)
def test_tails(
    tail: dict[str, Any], radius: float | None, depth: float, corner: float, listed: list[str], tmp_path: Path
) -> None:
    board = board_of(tmp_path, tail=tail)
    assert board.tail.kind == tail["kind"]
    assert board.tail.tip_radius_mm == radius
    assert board.tail.block_mm == pytest.approx(INCH * tail.get("block", 0), abs=ROUNDING_MM)
    assert board.tail.depth_mm == pytest.approx(depth, abs=ROUNDING_MM)
    assert board.tail.corner_radius_mm == pytest.approx(corner, abs=ROUNDING_MM)
    assert [each.path[1] for each in board.assumed if each.path[0] == "tail"] == listed


@pytest.mark.parametrize(
    ("nose", "radius"),
    [({"kind": "round"}, None), ({"kind": "pointed"}, 5.0), ({"kind": "pointed", "tip_radius": 1}, INCH)],
)
def test_noses(nose: dict[str, Any], radius: float | None, tmp_path: Path) -> None:
    board = board_of(tmp_path, nose=nose)
    assert board.nose.tip_radius_mm == radius
    assert ("nose.tip_radius" in assumed(board)) == (radius == 5.0)


@pytest.mark.parametrize(
    ("typed", "hollow"), [(None, set()), ("nose", {"nose"}), ("tail", {"tail"}), ("both", {"nose", "tail"})]
)
def test_hollow(typed: str | None, hollow: set[str], tmp_path: Path) -> None:
    outline = PLAIN["outline"] | ({"hollow": typed} if typed else {})
    assert board_of(tmp_path, outline=outline).hollow == hollow


def test_a_fin_of_three_sizes(tmp_path: Path) -> None:
    long = load_fin(written(tmp_path, {"name": "Knot fin", "unit": "mm", "base": 151, "depth": 200, "rake": "30 deg"}))
    side = load_fin(written(tmp_path, {"name": "Knot fin", "unit": "mm", "base": 150, "depth": 120, "rake": -10}))
    assert long.rake_mm == pytest.approx(200 / math.sqrt(3), abs=ROUNDING_MM)
    assert side.rake_mm == -10
    assert (long.thickness_mm, side.thickness_mm) == (9.5, 6.0)
    assert (long.foil, long.tab) == ("double", None)
    assert [".".join(map(str, each.path)) for each in long.assumed] == [
        "planform.leading_fullness",
        "planform.trailing_hollow",
        "planform.tip_radius",
        "foil.thickness",
        "foil.tip_thickness",
        "foil.trailing_edge",
        "foil.kind",
        "foil.greatest_at",
        "layup.cloth",
        "layup.fibre_share",
        "layup.glass_density",
        "layup.resin_density",
        "layup.plies_per_session",
        "layup.pot",
        "layup.margin",
    ]
    thin = load_fin(
        written(
            tmp_path, {"name": "Knot fin", "unit": "mm", "base": 90, "depth": 90, "rake": 9, "foil": {"thickness": 2}}
        )
    )
    assert thin.trailing_edge_mm == thin.tip_thickness_mm / 2


def test_a_tab_stands_in_the_middle_of_the_base(tmp_path: Path) -> None:
    values = {
        "name": "Knot fin",
        "unit": "mm",
        "base": 150,
        "depth": 120,
        "rake": 40,
        "tab": {"length": 90, "height": 15},
    }
    fin = load_fin(written(tmp_path, values))
    assert fin.tab is not None
    assert (fin.tab.length_mm, fin.tab.height_mm, fin.tab.from_rear_mm) == (90, 15, 30)
    assert ("tab", "from_rear") in [each.path for each in fin.assumed]


# Lines along the board


def test_each_rail_quantity_has_its_own_stations(tmp_path: Path) -> None:
    rails = [
        {"from_nose": 12, "apex": "50 %", "radius": 0.5, "shoulder": 1},
        {"from_tail": 12, "apex": 0.3, "edge_radius": 0, "tuck": "1 in"},
    ]
    board = board_of(tmp_path, rails=rails)
    lines = board.sections
    assert numbers(lines["apex"]) == [(304.8, 0.3), (1524.0, 0.5)]
    assert numbers(lines["radius"]) == [(1524.0, 12.7)]
    assert numbers(lines["shoulder"]) == [(1524.0, 1.0)]
    assert numbers(lines["tuck"]) == [(304.8, 25.4)]
    assert numbers(lines["edge"]) == [(304.8, 0.0)]
    assert [lines[name][0].form for name in RAIL_KEYS] == ["share", "length", "share", "length", "radius"]
    assert lines["apex"][0].path == ("rails", 1, "apex")
    assert lines["edge"][0].path == ("rails", 1, "edge_radius")
    assert set(assumed(board)) == {"deck", "bottom.0.shape"} | ROCKER


def test_a_kind_says_all_of_the_rail_and_numbers_beside_it_stand_above(tmp_path: Path) -> None:
    rails = [{"from_nose": 12, "kind": "boxy"}, {"from_tail": 12, "kind": "down", "tuck": 0.5, "edge_radius": "1 mm"}]
    board = board_of(tmp_path, rails=rails)
    typed = {"tuck": (12.7, "length", "tuck"), "edge": (1.0, "radius", "edge_radius")}
    for place, name in enumerate(RAIL):
        down, boxy = board.sections[name]
        assert (boxy.x_mm, boxy.value, boxy.form) == (1524.0, RAIL_KINDS["boxy"][place], "share")
        assert boxy.path == ("rails", 0, "kind")
        value, form, key = typed.get(name, (RAIL_KINDS["down"][place], "share", "kind"))
        assert (down.x_mm, down.value, down.form) == (304.8, pytest.approx(value), form)
        assert down.path == ("rails", 1, key)
    assert set(assumed(board)) == {"bottom.0.shape"} | ROCKER


def test_the_drop_furthest_inside_says_how_domed_the_deck_is(tmp_path: Path) -> None:
    drops = [{"inside": 1, "down": 0.75}, {"inside": 3, "down": 0.25}]
    rails = [{"from_tail": 20, "kind": "egg", "drops": drops}, {"from_tail": 50, "drops": drops[:1]}]
    board = board_of(tmp_path, rails=rails)
    aft, forward = board.sections["dome"]
    assert (aft.value, aft.inside_mm, aft.form, aft.path) == (
        pytest.approx(6.35),
        pytest.approx(76.2),
        "drop",
        ("rails", 0, "drops", 1, "down"),
    )
    assert (forward.value, forward.inside_mm, forward.path[1]) == (pytest.approx(19.05), pytest.approx(25.4), 1)
    (check,) = board.drops
    assert (check.value, check.inside_mm, check.path[-2:]) == (pytest.approx(19.05), pytest.approx(25.4), (0, "down"))


def test_the_deck_says_alone_how_domed_it_is(tmp_path: Path) -> None:
    deck = [
        {"from_tail": 12, "shape": "flat"},
        {"from_tail": 30, "shape": "rolled", "depth": 0.5},
        {"from_tail": 40, "shape": "domed", "depth": 0.25, "flat": 4},
        {"from_tail": 50, "shape": "concave", "depth": 0.125},
        {"from_tail": 60, "shape": "domed", "depth": 0.25},
    ]
    board = board_of(tmp_path, deck=deck, rails=[{"kind": "beaked"}])
    stations = [12 * INCH, 30 * INCH, 40 * INCH, 50 * INCH, 60 * INCH]
    dome, flat = board.sections["dome"], board.sections["deck_flat"]
    assert numbers(dome) == list(zip(stations, [0, 12.7, 6.35, -3.175, 6.35], strict=True))
    assert [each.path for each in dome[:2]] == [("deck", 0, "shape"), ("deck", 1, "depth")]
    assert {each.form for each in dome} == {"length"}
    assert numbers(flat) == [(30 * INCH, 0.5), (40 * INCH, 101.6), (60 * INCH, 0.0)]
    assert [each.form for each in flat] == ["share", "length", "length"]
    assert assumed(board)["deck.1.flat"] == "half the width"


def test_a_chine_is_cut_off_another_shape_and_says_nothing_of_the_dome(tmp_path: Path) -> None:
    deck = [
        {"from_tail": 20, "shape": "chine", "depth": 0.5},
        {"from_tail": 20, "shape": "domed", "depth": 0.25},
        {"from_tail": 50, "shape": "domed", "depth": 0.5},
        {"from_tail": 30, "shape": "chine", "depth": 0.25, "width": 2},
    ]
    board = board_of(tmp_path, deck=deck)
    lines = board.sections
    assert numbers(lines["dome"]) == [(20 * INCH, 6.35), (50 * INCH, 12.7)]
    assert numbers(lines["deck_chine"]) == [(20 * INCH, 12.7), (30 * INCH, 6.35), (50 * INCH, 0.0)]
    assert numbers(lines["deck_chine_width"]) == [(20 * INCH, 31.75), (30 * INCH, 50.8)]
    assert [each.assumed for each in lines["deck_chine_width"]] == [True, False]
    assert "deck" not in assumed(board)
    only = board_of(tmp_path, deck=deck[3:], rails=[{"kind": "egg"}])
    assert [each.path for each in only.sections["dome"]] == [("rails", 0, "kind")]


def test_an_only_entry_holds_along_the_board(tmp_path: Path) -> None:
    changes = {
        "rails": [{"edge_radius": 0.25}],
        "deck": [{"shape": "domed", "depth": 0.5}],
        "bottom": [{"shape": "vee", "depth": 0.25}],
    }
    board = board_of(tmp_path, **changes)
    middle = 36 * INCH
    for name, value in (("edge", 6.35), ("dome", 12.7), ("vee", 6.35), ("roll", 0.0)):
        assert numbers(board.sections[name]) == [(middle, value)]
    assert set(assumed(board)) == {"rails.0.apex", "rails.0.radius", "rails.0.shoulder", "rails.0.tuck"} | ROCKER


def test_bottoms_add_up_and_are_nothing_where_another_is_named(tmp_path: Path) -> None:
    bottom = [
        {"from_nose": 20, "shape": "roll", "depth": 0.25},
        {"from_tail": 20, "shape": "concave", "depth": 0.125},
        {"from_nose": 52, "shape": "vee", "depth": 0.0625},
        {"from_tail": 40, "shape": "flat"},
        {"from_tail": 40, "shape": "chine", "depth": 0.5},
        {"from_tail": 6, "shape": "double concave", "depth": 0.125},
    ]
    board = board_of(tmp_path, bottom=bottom)
    stations = [6 * INCH, 20 * INCH, 40 * INCH, 52 * INCH]
    for name, values in (
        ("roll", [0, 0, 0, 6.35]),
        ("vee", [0, 1.5875, 0, 0]),
        ("concave", [0, 3.175, 0, 0]),
        ("double_concave", [3.175, 0, 0, 0]),
        ("chine", [0, 0, 12.7, 0]),
    ):
        assert numbers(board.sections[name]) == list(zip(stations, values, strict=True))
    assert board.sections["vee"][1].path == ("bottom", 2, "depth")
    assert numbers(board.sections["chine_width"]) == [(40 * INCH, 31.75)]
    assert "bottom.0.shape" not in assumed(board)


def test_widths_keep_to_the_entries_of_their_shape(tmp_path: Path) -> None:
    bottom = [
        {"from_tail": 10, "shape": "concave", "depth": 0.125},
        {"from_tail": 20, "shape": "concave", "depth": 0.125, "width": 10},
        {"from_tail": 30, "shape": "vee", "depth": 0.125},
        {"from_tail": 40, "shape": "roll", "depth": 0.125},
        {"from_tail": 50, "shape": "roll", "depth": 0.125, "flat": 6},
    ]
    lines = board_of(tmp_path, bottom=bottom).sections
    assert numbers(lines["concave_width"]) == [(10 * INCH, 1.0), (20 * INCH, 254.0)]
    assert [each.form for each in lines["concave_width"]] == ["share", "length"]
    assert numbers(lines["roll_flat"]) == [(40 * INCH, 0.0), (50 * INCH, 152.4)]


def test_more_numbers_are_sorted_and_the_greatest_kept_apart(tmp_path: Path) -> None:
    outline = PLAIN["outline"] | {"widths": [{"from_nose": 20, "width": 18}, {"from_tail": 20, "width": 17}]}
    thickness = PLAIN["thickness"] | {"tail_end": 0.5, "thicknesses": [{"from_tail": 20, "thickness": 2}]}
    rocker = {"nose": 5, "tail": 2, "heights": [{"from_nose": 12, "height": 2.25}]}
    board = board_of(tmp_path, outline=outline, thickness=thickness, rocker=rocker)
    assert [round(each.value / INCH, 6) for each in board.widths] == [14, 17, 18, 15]
    assert [each.path[-1] for each in board.thicknesses] == ["tail", "thickness", "nose"]
    assert board.thickest is not None
    assert board.thickest.value == 63.5
    assert (board.nose_tip_mm, board.tail_end_mm) == (None, 12.7)
    assert numbers(board.heights) == [(0, 50.8), (1524.0, 57.15), (1828.8, 127)]
    assert board.lowest_x_mm is None


def test_widths_can_stand_in_for_the_usual_two(tmp_path: Path) -> None:
    outline = {
        "wide_point": {"width": 20, "ahead_of_centre": 0},
        "widths": [{"from_nose": 8, "width": 12}, {"from_tail": 10, "width": 13}],
    }
    assert len(board_of(tmp_path, outline=outline).widths) == 2


# Pieces in files of their own


def test_shared_rails_have_their_own_unit_and_their_defaults_are_listed(tmp_path: Path) -> None:
    (tmp_path / "rails").mkdir()
    (tmp_path / "boards").mkdir()
    written(
        tmp_path / "rails",
        {"edition": 2, "unit": "mm", "rails": [{"from_tail": 300, "tuck": 9}, {"from_tail": 900, "tuck": 12}]},
        "r.toml",
    )
    board = load_board(written(tmp_path / "boards", PLAIN | {"rails": "../rails/r.toml"}))
    tuck = board.sections["tuck"]
    assert numbers(tuck) == [(300, 9), (900, 12)]
    assert {"rails.0.apex", "rails.0.radius", "rails.0.shoulder", "rails.0.edge_radius"} <= set(assumed(board))
    faults = [
        board.fault(each, "", "wrong") for each in (tuck[1], board.sections["apex"][0], board.sections["dome"][0])
    ]
    assert [Path(fault.file).name for fault in faults] == ["r.toml", "r.toml", "knot.toml"]
    assert faults[0].path == ("rails", 1, "tuck")
    assert faults[0].line is not None


def test_placements(tmp_path: Path) -> None:
    written(tmp_path, {"name": "Knot fin", "unit": "mm", "base": 110, "depth": 115, "rake": 70}, "fin.toml")
    pair = {"fin": "fin.toml", "from_tail": 11, "off_stringer": 4.25, "toe": "3 deg", "cant": 5}
    board = board_of(tmp_path, fins=[pair, {"fin": "./fin.toml", "from_tail": 3}, pair | {"from_tail": 20, "toe": 2}])
    first, second, _ = board.fins
    assert (first.from_tail_mm, first.off_stringer_mm) == pytest.approx((11 * INCH, 4.25 * INCH), abs=ROUNDING_MM)
    assert (first.toe_deg, first.cant_deg, second.off_stringer_mm) == (3, 5, 0)
    assert first.fin is second.fin
    assert second.path == ("fins", 1)


def test_a_pair_without_angles_stands_straight_and_says_so(tmp_path: Path) -> None:
    written(tmp_path, {"name": "Knot fin", "unit": "mm", "base": 110, "depth": 115, "rake": 70}, "fin.toml")
    board = board_of(tmp_path, fins=[{"fin": "fin.toml", "from_tail": 11, "off_stringer": 4}])
    assert {"fins.0.toe", "fins.0.cant"} <= set(assumed(board))


@pytest.mark.parametrize("circle", [False, True])
def test_a_link_that_leads_outside_or_in_a_circle_is_not_followed(circle: bool, tmp_path: Path) -> None:
    boards = tmp_path / "specs" / "boards"
    boards.mkdir(parents=True)
    outside = written(tmp_path, {"name": "Knot fin", "unit": "mm", "base": 110, "depth": 115, "rake": 70}, "fin.toml")
    (boards / "fin.toml").symlink_to(boards / "fin.toml" if circle else outside)
    with pytest.raises(SpecError) as caught:
        load_board(written(boards, PLAIN | {"fins": [{"fin": "fin.toml", "from_tail": 6}]}))
    assert [fault.path for fault in caught.value.faults] == [("fins", 0, "fin")]
    problem = caught.value.faults[0].problem
    assert problem in (
        "leads outside the folder that holds the specs",
        "cannot be followed: too long, or a link that leads in a circle",
        "no such file",  # how Python 3.13 and later see a link to itself
    )
    assert (problem == "leads outside the folder that holds the specs") != circle


# The schema


@pytest.mark.parametrize(
    "schema",
    [schema_of(kind) for kind in MODELS],
    ids=list(MODELS),
)
def test_the_schema_explains_every_key(schema: dict[str, Any]) -> None:
    Draft202012Validator.check_schema(schema)
    tables = [schema, *schema["$defs"].values()]
    for table in tables:
        assert table["additionalProperties"] is False
        assert table["description"]
        for key, value in table["properties"].items():
            assert value.get("description") or "$ref" in value, key
            assert "null" not in json.dumps(value)


def test_the_schema_accepts_what_loads_and_knows_a_slip() -> None:
    checks = {
        folder: schema_of(kind)
        for folder, kind in {"boards": "board", "fins": "fin", "rails": "rails", "shop": "shop"}.items()
    }
    for folder, schema in checks.items():
        paths = sorted((SPECS / folder).glob("*.toml"))
        assert paths
        for path in paths:
            values = tomllib.loads(path.read_text("utf-8"))
            Draft202012Validator(schema).validate(values)
            assert not Draft202012Validator(schema).is_valid(values | {"colour": "blue"})
    board = Draft202012Validator(checks["boards"])
    assert board.is_valid(PLAIN)
    two_ways = PLAIN["outline"] | {"wide_point": {"width": 20, "from_tail": 37, "from_nose": 35}}
    for slip in (
        {"outline": two_ways},
        {"tail": {"kind": "round", "block": 6}},
        {"nose": {"kind": "blunt"}},
        {"length": True},
    ):
        assert not board.is_valid(PLAIN | slip)
    assert not board.is_valid({key: value for key, value in PLAIN.items() if key != "length"})


def test_a_flat_longer_than_the_board_is_told(tmp_path: Path) -> None:
    with pytest.raises(SpecError, match="longer than the board between its nose and tail rocker"):
        board_of(tmp_path, rocker={"nose": 5, "tail": 2, "flat": 96})


def test_a_file_is_not_told_to_name_itself(tmp_path: Path) -> None:
    with pytest.raises(SpecError) as caught:
        board_of(tmp_path, fins=[{"fin": "knots.toml", "from_tail": 6}])
    assert "no such file" in str(caught.value)
    assert '"knot.toml"' not in str(caught.value)


# The first edition


@pytest.mark.parametrize(
    ("rails", "now"),
    [
        ({"edge": "soft"}, [{"edge_radius": "12 mm"}]),
        ({"edge": 1}, [{"edge_radius": "0 mm"}]),
        ({"edge": "what"}, [{"edge_radius": "5 mm"}]),
        ({"fullness": "85 %"}, [{"kind": "boxy"}, {"radius": "1/2 in"}]),
    ],
)
def test_what_is_suggested_for_a_former_key_loads(
    rails: dict[str, Any], now: list[dict[str, Any]], tmp_path: Path
) -> None:
    with pytest.raises(SpecError) as caught:
        board_of(tmp_path, rails=[rails])
    (fault,) = caught.value.faults
    assert [fault.hint.count(as_toml(value)) for each in now for value in each.values()] == [1] * len(now)
    for each in now:
        board_of(tmp_path, rails=[each])


@pytest.mark.parametrize(("crown", "depth"), [([{"drop": 0.2}], "0.2"), ([{"drop": 0}], '"3/8 in"'), (3, '"3/8 in"')])
def test_a_crown_is_told_as_a_deck(crown: object, depth: str, tmp_path: Path) -> None:
    with pytest.raises(SpecError) as caught:
        board_of(tmp_path, crown=crown)
    (fault,) = caught.value.faults
    assert f'shape = "domed" and depth = {depth} ' in fault.hint


# Anything at all


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(SPECS, tmp_path_factory.mktemp("anything") / "specs"))


@settings(deadline=None, max_examples=200)
@given(content=st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes_are_a_board_or_a_spec_error(content: bytes, folder: Path) -> None:
    path = folder / "bytes.toml"
    path.write_bytes(content)
    for load in (load_board, load_fin):
        with pytest.raises(SpecError):
            load(path)


def places(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the path of everything in a tree of tables and lists, but not of the tree itself."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, part in inner:
        yield (*path, step)
        yield from places(part, (*path, step))


KNOWN_KEYS = sorted({str(path[-1]) for each in BOARDS for path in places(tomllib.loads(each.read_text("utf-8")))})
SCALARS = (
    st.floats()
    | st.integers(-(2**63), 2**63 - 1)
    | st.integers(-2, 90)
    | st.booleans()
    | st.dates()
    | st.text(max_size=8)
    | st.sampled_from(
        ["7'4", "21 1/2 in", "545 mm", "egg", "45 %", "30 deg", "square", "chine", "rolled", "../fins/x.toml", "both"]
    )
)
KEYS = st.sampled_from([*KNOWN_KEYS, "round", "list", "file", "crown", "edge", "fullness"]) | st.text(max_size=6)
VALUES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3), max_leaves=6
)


@st.composite
def changed_boards(draw: st.DrawFn) -> dict[str, Any]:
    """Return the values of a demo board after a few random changes: values replaced, keys added, entries deleted."""
    values: dict[str, Any] = tomllib.loads(draw(st.sampled_from(BOARDS)).read_text("utf-8"))
    for _ in range(draw(st.integers(1, 4))):
        *around, last = draw(st.sampled_from([*places(values), ("added",)]))
        table: Any = values
        for step in around:
            table = table[step]
        match draw(st.sampled_from(["replace", "delete", "add"])):
            case "delete" if last != "added":
                del table[last]
            case "add" if isinstance(table, dict):
                table[draw(KEYS)] = draw(VALUES)
            case _ if last != "added":
                table[last] = draw(VALUES)
        if not values:
            break
    return values


@settings(deadline=None, max_examples=300)
@given(values=changed_boards())
def test_any_change_to_a_spec_gives_a_board_or_a_spec_error(values: dict[str, Any], folder: Path) -> None:
    path = written(folder / "boards", values, "changed.toml")
    error, board = None, None
    try:
        board = load_board(path)
    except SpecError as caught:
        error = caught
    if board is None:
        assert error is not None
        assert error.faults
        # A key that the root lacks is on no line; what pydantic says, and its names of classes, are for nobody.
        assert all(fault.line is not None or len(fault.path) == 1 for fault in error.faults)
        assert "Input should" not in str(error)
        assert "Tail'" not in str(error)
        return
    assert set(board.sections) == set(QUANTITIES)
    for line in (board.widths, board.heights, board.thicknesses, *board.sections.values()):
        assert line
        assert all(0 <= each.x_mm <= board.length_mm and math.isfinite(each.value) for each in line)
        assert all(b.x_mm - a.x_mm > SEPARATE_STATIONS_MM for a, b in pairwise(line))
    most = board.wide_point.value + board.wide_point.play_mm
    assert all(each.value - each.play_mm <= most for each in board.widths)


def test_no_name_of_nothing_is_suggested() -> None:
    with pytest.raises(Refused) as refused:
        checked_name("..")
    assert (refused.value.problem, refused.value.hint) == ("a name without a letter or a digit", "")
