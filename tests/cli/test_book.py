"""A book of past boards by the command line: what it lists, what it finds, and that it never tells what is no more."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner

from bayloft import book as stage
from bayloft.book_table import book_rows
from bayloft.cli import main
from bayloft.export.zipped import stored
from bayloft.record.book import finding
from bayloft.record.book.index import INDEX, index_in, index_text
from bayloft.record.book.wanted import TAIL_KINDS, BoardsWanted, asked_range
from bayloft.solid.draft import drafted
from bayloft.solid.measure import thickness, width
from bayloft.spec.boards.ends import TAILS
from bayloft.spec.loading import load_board

from ..demo import SPECS
from .small_board import KNOT

AIMED = 'edition = 2\nname = "Aimed"\nvolume = "12 L"\n[from]\nboard = "knot.toml"\n'
MIXED = """edition = 2
name = "Mixed"
[from]
board = "dunlin.toml"
length = "6'8"
blended_with = "fulmar.toml"
share = "30 %"
"""
RUFF = KNOT.replace("Knot", "Ruff").replace("1100 mm", "1130 mm")


def book(*arguments: str | Path, code: int = 0) -> str:
    result = CliRunner().invoke(main, ["book", *map(str, arguments)])
    assert result.exit_code == code, result.output
    return result.output


def told(*arguments: str | Path) -> list[dict[str, object]]:
    boards: list[dict[str, object]] = json.loads(book(*arguments, "--json"))["boards"]
    return boards


def names(*arguments: str | Path) -> list[str]:
    return [str(board["name"]) for board in told(*arguments)]


@pytest.fixture(scope="module", name="measured")
def _measured(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six boards, two of them archived, lofted once; tests have copies."""
    place = tmp_path_factory.mktemp("book")
    shutil.copytree(SPECS / "fins", place / "fins")
    boards = place / "boards"
    boards.mkdir()
    for name in ("dunlin", "fulmar"):
        shutil.copy(SPECS / "boards" / f"{name}.toml", boards)
    for name, text in (("knot", KNOT), ("ruff", RUFF), ("aimed", AIMED), ("mixed", MIXED)):
        (boards / f"{name}.toml").write_text(text, "utf-8")
    for name in ("knot", "mixed"):
        result = CliRunner().invoke(main, ["archive", str(boards / f"{name}.toml"), "-o", str(place / "archives")])
        assert result.exit_code == 0, result.output
    book(place, "--measure", "--jobs", "1")
    return place


@pytest.fixture(name="place")
def _place(measured: Path, tmp_path: Path) -> Path:
    shutil.copytree(measured, tmp_path, dirs_exist_ok=True)
    return tmp_path


@pytest.fixture(scope="module", name="small")
def _small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two boards, lofted once."""
    place = tmp_path_factory.mktemp("small")
    (place / "knot.toml").write_text(KNOT, "utf-8")
    (place / "ruff.toml").write_text(RUFF, "utf-8")
    book(place, "--measure", "--jobs", "1")
    return place


@pytest.fixture(name="pair")
def _pair(small: Path, tmp_path: Path) -> Path:
    """A copy of them."""
    shutil.copytree(small, tmp_path, dirs_exist_ok=True)
    return tmp_path


# What is listed


def test_the_demo_boards_in_a_table(tmp_path: Path) -> None:
    shutil.copytree(SPECS, tmp_path / "specs")
    rows = book(tmp_path / "specs").splitlines()
    assert rows == [
        "board            length      width   thick  volume  tail     fins  file",
        """Turnstone         5' 8"    20 3/4"  2 1/2"       –  swallow     2  boards/turnstone.toml""",
        "Dunlin          1880 mm     482 mm   62 mm       –  squash      3  boards/dunlin.toml",
        """Avocet      6' 9 15/16"  20 11/16"  2 5/8"       –  diamond     1  boards/avocet.toml""",
        """Sanderling        7' 2"    18 1/2"      2"       –  square      0  boards/sanderling.toml""",
        """Whimbrel          7' 4"    21 1/4"  2 3/4"       –  round       1  boards/whimbrel.toml""",
        """Shearwater        7' 6"        22"  2 3/4"       –  round       1  boards/shearwater.toml""",
        """Spoonbill         9' 4"        23"      3"       –  square      1  boards/spoonbill.toml""",
        """Fulmar           10' 2"    20 1/2"  3 1/4"       –  thumb       1  boards/fulmar.toml""",
        "8 boards; 8 without a volume yet: --measure lofts them once and keeps it",
    ]
    boards = stage.book(tmp_path / "specs").boards
    assert max(map(len, book_rows(boards, None, 80))) <= 80
    assert list(book_rows(boards, None, 80))[2] == "  boards/turnstone.toml"
    # A few specs are read again as quickly as an index: nothing is left in the maker's folder.
    assert not (tmp_path / "specs" / INDEX).exists()


def test_volume_and_sizes_are_those_of_the_solid(measured: Path) -> None:
    for row in told(measured):
        path = measured / str(row["file"])
        if path.suffix == ".zip":
            with zipfile.ZipFile(path) as archive:
                mesh = trimesh.load(BytesIO(archive.read("board.stl")), file_type="stl")
            assert row["volume_mm3"] == pytest.approx(abs(mesh.volume), rel=2e-3)
            continue
        body = drafted(load_board(path)).body
        at = np.linspace(100.0, float(str(row["length_mm"])) - 100.0, 4001)
        assert row["width_mm"] == pytest.approx(width(body, at).max(), abs=0.35)
        assert row["thickness_mm"] == pytest.approx(thickness(body, at).max(), abs=0.35)


def test_an_archive_and_its_spec_say_the_same_and_an_aim_is_met(measured: Path) -> None:
    rows = {str(row["file"]): row for row in told(measured)}
    for name in ("knot", "mixed"):
        spec, archive = dict(rows[f"boards/{name}.toml"]), dict(rows[f"archives/{name}.zip"])
        for key in ("file", "volume_mm3", "width_mm", "thickness_mm"):
            one, other = spec.pop(key), archive.pop(key)
            assert key == "file" or one == pytest.approx(other, rel=1e-6)
        assert spec == archive
    assert rows["boards/aimed.toml"]["volume_mm3"] == pytest.approx(12e6, abs=1e3)
    # Scaled for it, and mixed: not what the other board's file says.
    assert rows["boards/aimed.toml"]["thickness_mm"] != pytest.approx(40.0, abs=0.5)
    # In proportion to Dunlin alone it would be 521 mm wide.
    assert float(str(rows["boards/mixed.toml"]["width_mm"])) < 500.0


def test_boards_of_an_aim_are_lofted_before_they_are_listed(tmp_path: Path) -> None:
    (tmp_path / "knot.toml").write_text(KNOT, "utf-8")
    (tmp_path / "aimed.toml").write_text(AIMED, "utf-8")
    rows = {str(row["name"]): row for row in told(tmp_path, "--jobs", "1")}
    assert rows["Knot"]["volume_mm3"] is None
    assert rows["Aimed"]["volume_mm3"] == pytest.approx(12e6, abs=1e3)


def test_other_files_are_no_boards_and_faulty_ones_are_told(tmp_path: Path) -> None:
    shutil.copytree(SPECS, tmp_path / "specs")
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n", "utf-8")
    (tmp_path / "machine.zip").write_bytes(stored({"manifest.json": b"{}"}))
    (tmp_path / "not-toml.toml").write_text("length = 6'2\n", "utf-8")
    (tmp_path / "wide.toml").write_text(KNOT.replace('"400 mm"', '"40 mm"'), "utf-8")
    (tmp_path / "cut.zip").write_bytes(b"PK\x03\x04 but no more")
    (tmp_path / "\x1b[31mred.toml").write_text("a = [", "utf-8")
    rows = book(tmp_path).splitlines()
    assert sum(".toml" in row and not row.startswith("not read") for row in rows) == 8
    found = [row for row in rows if row.startswith("not read")]
    told_of = [row.split(": ")[1] for row in found]
    assert told_of == ["\N{REPLACEMENT CHARACTER}[31mred.toml", "cut.zip", "not-toml.toml", "wide.toml"]
    assert "line 1: not TOML" in found[2]
    assert "outline" in found[3]
    assert "\x1b" not in "".join(rows)


def test_a_folder_with_nothing_and_none_at_all(tmp_path: Path) -> None:
    assert book(tmp_path) == "0 boards\n"
    assert "no such folder" in book(tmp_path / "none", code=2)
    (tmp_path / "file").write_text("", "utf-8")
    assert "a file, not a folder" in book(tmp_path / "file", code=2)


# What is asked


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        (["--length", "5'6 to 6'2"], ["Turnstone", "Dunlin"]),
        (["--length", "7'2"], ["Sanderling", "Whimbrel"]),
        (["--length", "from 9'4"], ["Spoonbill", "Fulmar"]),
        (["--length", "up to 1727.2 mm"], ["Turnstone"]),
        (["--width", "20 to 20 3/4 in"], ["Turnstone", "Avocet", "Fulmar"]),
        (["--thickness", "62 to 64 mm"], ["Turnstone", "Dunlin"]),
        (["--tail", "squash", "--tail", "Thumb"], ["Dunlin", "Fulmar"]),
        (["--bottom", "double-concave"], ["Dunlin"]),
        (["--bottom", "chine"], ["Sanderling"]),
        (["--fins", "3"], ["Dunlin"]),
        (["--fins", "0"], ["Sanderling"]),
        (["--fins", "KEEL"], ["Turnstone"]),
        (["--words", "hull displacement"], ["Shearwater"]),
        (["--words", "whimbrel"], ["Whimbrel"]),
        (["--length", "from 7'", "--fins", "1", "--tail", "round", "--words", "hull"], ["Shearwater"]),
        (["--sort", "width", "--first", "2"], ["Sanderling", "Dunlin"]),
        (["--sort", "name", "--first", "2"], ["Avocet", "Dunlin"]),
    ],
)
def test_what_is_asked_for(asked: list[str], found: list[str]) -> None:
    assert names(SPECS / "boards", *asked) == found


def test_a_volume_asked_for_is_lofted_and_kept(tmp_path: Path) -> None:
    (tmp_path / "knot.toml").write_text(KNOT, "utf-8")
    (tmp_path / "ruff.toml").write_text(RUFF, "utf-8")
    rows = told(tmp_path, "--measure", "--jobs", "1")
    litres = {str(row["name"]): float(str(row["volume_mm3"])) / 1e6 for row in rows}
    (tmp_path / INDEX).unlink()
    wanted = f"{litres['Knot'] - 0.2:.2f} to {litres['Knot'] + 0.2:.2f} L"
    assert names(tmp_path, "--volume", wanted, "--jobs", "1") == ["Knot"]
    assert (tmp_path / INDEX).exists()
    assert "without a volume" not in book(tmp_path)


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (["--length", "6'2 to 5'6"], "ends before it begins"),
        (["--length", "long"], "not a length"),
        (["--width", "19"], "a length without a unit"),
        (["--volume", "30 gallons"], "not understood"),
        (["--tail", "sqush"], '--tail "squash"'),
        (["--bottom", "hull"], "flat, roll, vee"),
        (["--like", "6'2 x 19 x 2 x 3"], "more numbers than"),
        (["--like", "0 mm"], "greater than 0"),
        (["--like", "gone.toml"], "no such file"),
        (["--like", str(SPECS / "fins" / "dunlin-side.toml")], "no board's file"),
    ],
)
def test_what_cannot_be_asked_is_told(asked: list[str], message: str) -> None:
    assert message in book(SPECS / "boards", *asked, code=2)


def test_nearness_is_what_the_help_says(measured: Path) -> None:
    wanted = (1125.0, 410.0, 42.0, 11.0)
    rows = told(measured, "--like", "1125 mm x 410 x 42 x 11 L")
    for row in rows:
        sizes = [float(str(row[key])) for key in ("length_mm", "width_mm", "thickness_mm", "volume_mm3")]
        off = [abs(a - b) for a, b in zip([*sizes[:3], sizes[3] / 1e6], wanted, strict=True)]
        by_hand = off[0] / 50.8 + off[1] / 12.7 + off[2] / 3.175 + off[3] / 1.0
        assert row["off"] == pytest.approx(by_hand, abs=1e-6)
    assert [row["off"] for row in rows] == sorted(float(str(row["off"])) for row in rows)
    nearest = told(SPECS / "boards", "--like", SPECS / "boards" / "dunlin.toml", "--first", "2")
    assert [(row["name"], row["off"] == 0.0) for row in nearest] == [("Dunlin", True), ("Turnstone", False)]
    # Inches where the length is in inches, and nothing where nothing matters.
    assert names(SPECS / "boards", "--like", "7'4 x 21 1/4 x -", "--first", "1") == ["Whimbrel"]
    assert names(measured, "--like", measured / "archives" / "mixed.zip", "--first", "2") == ["Mixed", "Mixed"]


# Never what is no more


def test_what_changed_is_read_anew(place: Path) -> None:
    before = {str(row["file"]): row for row in told(place)}
    assert all(row["volume_mm3"] for row in before.values())
    (place / "boards" / "ruff.toml").write_text(RUFF.replace("1130 mm", "1150 mm"), "utf-8")
    after = {str(row["file"]): row for row in told(place, "--jobs", "1")}
    ruff = after["boards/ruff.toml"]
    assert (ruff["length_mm"], ruff["volume_mm3"]) == (1150.0, None)
    assert {file: row for file, row in after.items() if row != ruff} == {
        file: row for file, row in before.items() if file != "boards/ruff.toml"
    }
    # A fin that a board names, and a board that it is mixed of.
    side, fulmar = place / "fins" / "dunlin-side.toml", place / "boards" / "fulmar.toml"
    side.write_text(side.read_text("utf-8").replace("Dunlin side", "Thruster"), "utf-8")
    fulmar.write_text(fulmar.read_text("utf-8").replace('"2 7/8 in"', '"3 in"').replace("20.5", "21"), "utf-8")
    after = {str(row["file"]): row for row in told(place, "--jobs", "1")}
    assert after["boards/dunlin.toml"]["fins"] == ["Thruster", "Thruster", "Dunlin centre"]
    assert after["boards/fulmar.toml"]["volume_mm3"] is None
    assert after["boards/mixed.toml"]["volume_mm3"] != before["boards/mixed.toml"]["volume_mm3"]
    (place / "boards" / "knot.toml").unlink()
    left = json.loads(book(place, "--json", "--jobs", "1"))
    assert "boards/knot.toml" not in {row["file"] for row in left["boards"]}
    assert {row["file"] for row in left["unread"]} == {"boards/aimed.toml"}


def test_an_archive_that_was_changed_is_not_told(place: Path) -> None:
    path = place / "archives" / "knot.zip"
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    said = json.loads(members["report.json"])
    said["integrals"]["volume_mm3"] *= 2
    path.write_bytes(stored({**members, "report.json": json.dumps(said).encode()}))
    assert "not read: archives/knot.zip: report.json is not as it was written" in book(place)


def spoil(change: Callable[[str], str]) -> Callable[[Path], None]:
    def spoilt(index: Path) -> None:
        index.write_text(change(index.read_text("utf-8")), "utf-8")

    return spoilt


def a_folder(index: Path) -> None:
    index.unlink()
    index.mkdir()


def without_end(index: Path) -> None:
    index.unlink()
    index.symlink_to("/dev/zero")


@pytest.mark.parametrize(
    "spoilt",
    [
        spoil(lambda _: ""),
        spoil(lambda _: "[" * 100_000),
        spoil(lambda _: '{"format": 1}'),
        spoil(lambda _: "null"),
        spoil(lambda text: text[: len(text) // 2]),
        spoil(lambda text: text.replace('\\"volume_mm3\\": ', '\\"volume_mm3\\": 9')),
        spoil(lambda text: text.replace('"version": "', '"version": "9')),
        Path.unlink,
        a_folder,
        without_end,
    ],
    ids=["empty", "deep", "bare", "null", "half", "volume", "version", "gone", "folder", "endless"],
)
def test_an_index_that_is_not_ours_is_nothing(pair: Path, spoilt: Callable[[Path], None]) -> None:
    expected = told(pair)
    spoilt(pair / INDEX)
    assert index_in(pair, stage.version("bayloft")) == {}
    assert told(pair) == [{**row, "volume_mm3": None} for row in expected]


@pytest.mark.parametrize("spoilt", [a_folder, without_end])
def test_what_cannot_be_kept_is_told_and_what_can_stands_in_place_of_the_other(
    pair: Path, spoilt: Callable[[Path], None]
) -> None:
    expected = book(pair)
    spoilt(pair / INDEX)
    said = book(pair, "--measure", "--jobs", "1")
    assert said.startswith(expected)
    assert ("what was lofted is not kept: " in said) == (spoilt is a_folder)
    assert (pair / INDEX).is_file() == (spoilt is without_end)


@pytest.mark.parametrize(
    ("good", "bad", "left"),
    [
        ('"length_mm": 1100.0', '"length_mm": -1100.0', 0),
        ('"length_mm": 1100.0', '"length_mm": NaN', 0),
        ('"length_mm": 1100.0', '"length_mm": "long"', 0),
        ('"fins": []', '"fins": [7]', 0),
        ('"files": ["knot.toml"]', '"files": ["/etc/passwd"]', 0),
        ('"file": "knot.toml"', '"file": "ruff.toml"', 0),
        ('"files"', '"others"', 0),
        ('"words": ""', '"words": "a plank"', 2),
    ],
)
def test_an_index_with_an_entry_that_is_none_is_nothing(pair: Path, good: str, bad: str, left: int) -> None:
    entries = json.loads(index_text(index_in(pair, stage.version("bayloft")), "1"))["boards"]
    assert good in entries
    entries = entries.replace(good, bad)
    digest = hashlib.sha256(entries.encode()).hexdigest()
    whole = json.dumps({"format": 1, "version": "1", "sha256": digest, "boards": entries})
    (pair / INDEX).write_text(whole, "utf-8")
    assert len(index_in(pair, "1")) == left


def test_what_was_lofted_before_the_end_is_kept(pair: Path) -> None:
    (pair / INDEX).unlink()

    @contextmanager
    def ended(_files: tuple[Path, ...], doing: str) -> Iterator[Callable[[str], None]]:
        def one(name: str) -> None:
            if doing == "lofting" and name == "knot":
                raise KeyboardInterrupt

        yield one

    with pytest.raises(KeyboardInterrupt):
        stage.book(pair, measure=True, watched=ended)
    kept = index_in(pair, stage.version("bayloft"))
    assert {file for file, each in kept.items() if each.board and each.board.volume_mm3} == {"knot.toml"}
    assert not any(path.name.startswith(".bayloft-") and path.is_dir() for path in pair.iterdir())


def test_two_at_once_and_any_executor(pair: Path) -> None:
    expected = told(pair)
    (pair / INDEX).unlink()
    command = [sys.executable, "-m", "bayloft", "book", pair, "--measure", "--jobs", "1", "--json"]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE) for _ in range(2)]
    for each in both:
        assert json.loads(each.communicate()[0])["boards"] == expected
        assert each.returncode == 0
    assert len(index_in(pair, stage.version("bayloft"))) == 2
    (pair / INDEX).unlink()
    with ThreadPoolExecutor(2) as executor:
        found = stage.book(pair, BoardsWanted(ranges={"volume": asked_range("volume", "from 1 L")}), jobs=executor)
    assert [board.volume_mm3 for board in found.boards] == [row["volume_mm3"] for row in expected]


def test_a_book_that_is_known_loads_nothing_heavy(pair: Path) -> None:
    code = (
        "import sys; from bayloft.cli import main; main(['book', sys.argv[1]], standalone_mode=False);"
        "print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code, pair], capture_output=True, text=True, check=True)
    assert "2 boards" in done.stdout
    assert not {"numpy", "scipy", "pydantic", "tree_sitter"} & set(done.stderr.split())


# Folders


def test_links_in_a_circle_and_to_folders_elsewhere(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "knot.toml").write_text(KNOT, "utf-8")
    for name, to in (("self", "."), ("up", ".."), ("other", "../elsewhere"), ("same", "../elsewhere"), ("gone", "x")):
        (tmp_path / "mine" / name).symlink_to(to)
    os.mkfifo(tmp_path / "mine" / "pipe.toml")
    (tmp_path / "mine" / ".hidden").mkdir()
    (tmp_path / "mine" / ".hidden" / "ruff.toml").write_text(RUFF, "utf-8")
    assert names(tmp_path / "mine") == ["Knot"]


def test_too_much_and_what_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(30):
        (tmp_path / f"{number}").mkdir()
    (tmp_path / "knot.toml").write_text(KNOT, "utf-8")
    real = os.scandir

    def denied(place: Path) -> object:
        if place.name == "7":
            raise PermissionError(13, "Permission denied")
        return real(place)

    monkeypatch.setattr(finding.os, "scandir", denied)
    said = book(tmp_path)
    assert "not read: 7: this folder cannot be read: Permission denied" in said
    assert "1 board;" in said
    monkeypatch.setattr(finding, "MOST_ENTRIES", 30)
    assert "more than 30 files and folders" in book(tmp_path, code=2)


def test_many_that_cannot_be_read_are_told_in_short(tmp_path: Path) -> None:
    for number in range(25):
        (tmp_path / f"{number:02}.toml").write_text("edition = 2\n", "utf-8")
    rows = book(tmp_path).splitlines()
    assert len(rows) == 22
    assert rows[-1] == "and 5 more that cannot be read; --json tells all"
    assert len(json.loads(book(tmp_path, "--json"))["unread"]) == 25


def test_the_kinds_of_tails_are_those_of_a_spec() -> None:
    assert set(TAIL_KINDS) == set(TAILS)
