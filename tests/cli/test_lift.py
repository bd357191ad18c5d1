"""From a sheet of readings to a spec that builds: readings met, datums turned, slips named."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from bayloft.cli import main
from bayloft.lift.sheet import lift
from bayloft.lines.audit import audit
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.spec.loading import load_board

AVOCET = Path(__file__).parents[2] / "specs" / "readings" / "avocet.csv"
LENGTH_IN = 84.0
STATIONS_IN = (6, 12, 18, 26, 34, 42, 50, 58, 66, 72, 78)


def ellipse_in(x: float) -> float:
    return 21.0 * float(np.sqrt(max(1.0 - (2 * x / LENGTH_IN - 1.0) ** 2, 0.0)))


def superellipse_in(x: float) -> float:
    """Of exponent 2.3."""
    return 20.0 * float(max(1.0 - abs(2 * x / LENGTH_IN - 1.0) ** 2.3, 0.0) ** (1 / 2.3))


def rocker_in(x: float) -> float:
    """A cubic that is level at the centre: more bend towards the nose."""
    s = 2 * x / LENGTH_IN - 1.0
    return 3.0 * s * s + 0.9 * s * s * s


def foil_in(x: float) -> float:
    """A parabola, as the waterlines of Wigley's hull are: y = B/2 (1 - (2 x / L)^2) (D. Hally, Representation of Wigley
    hulls, DREA TC 89/308, 1989).
    """
    s = 2 * x / LENGTH_IN - 1.0
    return 0.9 + 1.7 * (1.0 - s * s)


def read_to(inches: float, parts: int = 16) -> float:
    return round(inches * parts) / parts


def sheet(
    tmp_path: Path,
    width: Callable[[float], float] = ellipse_in,
    *,
    datum: str = "lowest",
    raised: Callable[[float], float] = lambda _: 0.0,
    wrong: dict[tuple[int, str], float] | None = None,
) -> Path:
    """A sheet of readings to a sixteenth, those of the rocker raised by what the straightedge stood off, `wrong` ones
    as they are given.
    """
    rows = []
    for x in (0, *STATIONS_IN, int(LENGTH_IN)):
        cells = {
            "width": read_to(width(x)) if x in STATIONS_IN else "",
            "rocker": max(read_to(rocker_in(x) + raised(x)), 0.0),
            "thickness": read_to(foil_in(x)) if x in STATIONS_IN else "",
        }
        cells |= {kind: value for (at, kind), value in (wrong or {}).items() if at == x}
        rows.append(", ".join(map(str, ("tail", x, *cells.values()))))
    path = tmp_path / f"{datum.replace(' ', '-')}.csv"
    path.write_text(
        f"name, Trial\nlength, {LENGTH_IN}\nunit, in\naccuracy, 1/32 in\nrocker_datum, {datum}\nnose.kind, round\n"
        f"tail.kind, round\nfrom, at, width, rocker, thickness\n" + "\n".join(rows) + "\n",
        encoding="utf-8",
    )
    return path


def lines_of(path: Path, out: Path) -> BoardLines:
    return board_lines(load_board(lift(path, out).files[0]))


@pytest.mark.parametrize("width", [ellipse_in, superellipse_in])
def test_curves_of_known_form_come_back_from_readings_of_them(tmp_path: Path, width: Callable[[float], float]) -> None:
    """Widths of an ellipse and a superellipse, a cubic rocker and Wigley's parabola: within half a mark where they were
    read, within a mark between, each line with one swell.
    """
    lines = lines_of(sheet(tmp_path, width), tmp_path / "out")
    x = np.linspace(6.0, 78.0, 145)
    for drawn, form, marks in (
        (2.0 * lines.outline.at(x * 25.4), width, 1.0),
        (lines.rocker.at(x * 25.4), rocker_in, 1.0),
        (lines.foil.at(x * 25.4), foil_in, 1.0),
    ):
        true = np.array([25.4 * form(float(each)) for each in x])
        assert np.abs(drawn - true).max() < marks * 25.4 / 16
        at = np.isin(x, STATIONS_IN)
        read = np.array([25.4 * read_to(form(float(each))) for each in x[at]])
        assert np.abs(drawn[at] - read).max() <= 25.4 / 32
    warned = [
        each.where for each in audit(lines) if each.code in ("swells", "curvature-signs") and each.severity != "note"
    ]
    assert not {"outline", "rocker", "foil"} & set(warned)


def test_three_ways_to_read_a_rocker_are_one_rocker(tmp_path: Path) -> None:
    """From the floor at its lowest point, which is the centre; from a straightedge that touched elsewhere; and from a
    line over tail and nose down to the bottom.
    """
    tail, nose = rocker_in(0.0), rocker_in(LENGTH_IN)

    def chord(x: float) -> float:
        return tail + (nose - tail) * x / LENGTH_IN

    floor = lines_of(sheet(tmp_path), tmp_path / "a")
    tilted = lines_of(sheet(tmp_path, datum="centre", raised=lambda x: 0.4 + 0.01 * x), tmp_path / "b")
    hung = lines_of(
        sheet(tmp_path, datum="tail and nose", raised=lambda x: chord(x) - 2 * rocker_in(x)), tmp_path / "c"
    )
    x = np.linspace(0.0, LENGTH_IN * 25.4, 85)
    for other in (tilted, hung):
        assert np.abs(other.rocker.at(x) - floor.rocker.at(x)).max() < 2.5 * 25.4 / 16
        assert other.lowest_x_mm == pytest.approx(LENGTH_IN * 25.4 / 2, abs=0.1)


@pytest.mark.parametrize(
    ("at", "kind", "value", "said"),
    [
        (26, "width", read_to(ellipse_in(26)) - 1.0, "an inch too little"),
        (58, "width", read_to(ellipse_in(58)) / 2, "half of it for the whole"),
        (18, "thickness", read_to(foil_in(18)) - 0.75, ""),
        (66, "rocker", read_to(rocker_in(66)) + 0.5, ""),
    ],
)
def test_the_one_reading_that_was_misread_is_the_one_that_is_named(
    tmp_path: Path, at: int, kind: str, value: float, said: str
) -> None:
    path = sheet(tmp_path, wrong={(at, kind): value})
    result = CliRunner().invoke(main, ["lift", str(path), "-o", str(tmp_path / "out")])
    assert result.exit_code == 2
    line = 9 + (0, *STATIONS_IN).index(at)
    told = re.findall(r"csv:(\d+): (readings\S*):", result.output)
    assert told == [(str(line), f"readings[{(0, *STATIONS_IN).index(at) + 1}].{kind}")]
    assert said in result.output
    assert not (tmp_path / "out").exists()


def test_the_demo_sheet_is_lifted_says_so_and_builds(tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = CliRunner().invoke(main, ["lift", str(AVOCET), "-o", str(out)])
    assert first.exit_code == 0, first.output
    assert "lines within 1 mm of every reading" in first.output
    assert "of the foam: 1.00 mm of laminate taken off the deck" in first.output
    assert sorted(path.name for path in out.iterdir()) == ["avocet-readings.svg", "avocet.toml", "board.schema.json"]
    checked = CliRunner().invoke(main, ["check", str(out / "avocet.toml"), "--tolerance", "1"])
    assert checked.exit_code == 0, checked.output
    again = CliRunner().invoke(main, ["lift", str(AVOCET), "-o", str(out)])
    assert again.exit_code == 2
    assert "is there already" in again.output
    twice = tmp_path / "twice"
    CliRunner().invoke(main, ["lift", str(AVOCET), "-o", str(twice)])
    assert [path.read_bytes() for path in sorted(twice.iterdir())] == [
        path.read_bytes() for path in sorted(out.iterdir())
    ]


def test_what_is_said_behind_each_reading_is_what_the_board_is_drawn_with(tmp_path: Path) -> None:
    """The remarks of the spec against its own lines, loaded anew: to the last decimal that they have."""
    spec = lift(AVOCET, tmp_path).files[0]
    lines = board_lines(load_board(spec))
    length = lines.length_mm
    said = re.findall(
        r"from_(tail|nose) = ([\d.]+), width = ([\d.]+) \},  # drawn ([\d.]+), ([-+][\d.]+) mm", spec.read_text("utf-8")
    )
    assert len(said) == 13
    for end, at, read, drawn, off in said:
        x = float(at) * 25.4 if end == "tail" else length - float(at) * 25.4
        assert 2 * float(lines.outline.at(x)) == pytest.approx(25.4 * float(drawn), abs=0.02)
        assert 25.4 * (float(drawn) - float(read)) == pytest.approx(float(off), abs=0.01)


def test_the_demo_board_is_what_its_sheet_lifts_to(tmp_path: Path) -> None:
    lifted = lift(AVOCET, tmp_path).files[0].read_text("utf-8").splitlines()
    board = (AVOCET.parents[1] / "boards" / "avocet.toml").read_text("utf-8").splitlines()
    # Where the sheet lay is told otherwise, and rails and fin follow.
    assert board[2 : len(lifted)] == lifted[2:]
