"""Fins that hang off the board are refused, with the reason."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bayloft.build import check_boards, loaded
from bayloft.errors import SpecError
from bayloft.findings import CheckError
from bayloft.lines.drafting import board_lines
from bayloft.lines.fin import fin_lines
from bayloft.lines.footing import footprint, stands_whole
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[3] / "specs"
DUNLIN, TURNSTONE = (f"{name}.toml" for name in ("dunlin", "turnstone"))


@pytest.fixture
def changed(tmp_path: Path):
    def change(name: str, *pairs: tuple[str, str]) -> Path:
        path = shutil.copytree(SPECS, tmp_path, dirs_exist_ok=True) / "boards" / name
        text = path.read_text(encoding="utf-8")
        for old, new in pairs:
            assert text.count(old) == 1
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
        return path

    return change


def reason(path: Path) -> str:
    with pytest.raises(SpecError) as caught:
        loaded([path])
    return str(caught.value).replace(f"{path}", path.name)


@pytest.mark.parametrize("name", sorted(path.name for path in (SPECS / "boards").glob("*.toml")))
def test_demo_fins_stand_whole(name: str) -> None:
    assert bool(loaded([SPECS / "boards" / name])[0].fins) == (name != "sanderling.toml")


def test_over_the_outline(changed) -> None:
    assert reason(changed(DUNLIN, ("off_stringer = 108", "off_stringer = 180"))) == (
        'dunlin.toml:83: fins[1].off_stringer: the base of Dunlin side reaches 1/8" (3.1 mm) over the outline\n'
        '    found:   7 1/16" (180.0 mm)\n'
        '    allowed: at most 6 1/2" (165.1 mm), with this from_tail\n'
        "1 fault in the spec; nothing was written"
    )


def test_across_the_foot_of_the_rail(changed) -> None:
    said = reason(changed(DUNLIN, ("off_stringer = 108", "off_stringer = 175")))
    assert "across the foot of the rail, where the bottom ends" in said


def test_across_the_stringer(changed) -> None:
    path = changed(DUNLIN, ("off_stringer = 108", "off_stringer = 12"), ("toe = 3 ", "toe = 10 "), ("= 280", "= 500"))
    assert "across the stringer into the other fin of the pair" in reason(path)


def test_over_the_tail_end(changed) -> None:
    path = changed(DUNLIN, ("off_stringer = 108", "off_stringer = 40"), ("from_tail = 280", "from_tail = 2"))
    said = reason(path)
    assert "fins[1].from_tail: the base of Dunlin side reaches" in said
    assert "over the tail's end" in said


def test_over_the_tail_on_the_stringer_is_a_matter_of_the_station(changed) -> None:
    said = reason(changed("whimbrel.toml", ('from_tail = "6 1/2 in"', "from_tail = 0")))
    assert "fins[1].from_tail: the base of Whimbrel flex reaches" in said
    assert "off_stringer" not in said


@pytest.mark.parametrize(
    ("from_tail", "off_stringer", "toe"),
    [(280, 180, 3), (280, 175, 3), (500, 12, 10), (2, 40, 3), (0, 108, 3), (100, 160, 0), (1500, 190, 3)],
)
def test_what_is_suggested_would_do(changed, from_tail: int, off_stringer: int, toe: int) -> None:
    def at(from_tail: str, off_stringer: str) -> Path:
        return changed(
            DUNLIN,
            ("from_tail = 280", f"from_tail = {from_tail}"),
            ("off_stringer = 108", f"off_stringer = {off_stringer}"),
            ("toe = 3 ", f"toe = {toe} "),
        )

    said = reason(at(f"{from_tail}", f"{off_stringer}"))
    numbers = {"from_tail": f"{from_tail}", "off_stringer": f"{off_stringer}"}
    for reading in (r'(.*?")', r".*?\((.*?) mm\)"):
        read = re.search(rf"(?:at most|at least) {reading}", said)
        key = re.search(r"try:     (from_tail|off_stringer) at", said) or re.search(r"fins\[1\]\.(\w+)", said)
        assert read, said
        assert key, said
        number = f"'''{read[1]}'''" if '"' in read[1] else read[1]
        assert loaded([at(**numbers | {key[1]: number})])


def test_into_the_notch() -> None:
    """spec/fins/fin_rules.py tells of the rear end of a base; here it is all of the base."""
    board = load_board(SPECS / "boards" / TURNSTONE)
    keel = replace(board.fins[0], from_tail_mm=10.0)
    with pytest.raises(SpecError) as caught:
        stands_whole(replace(board, fins=(keel,)), board_lines(board), {keel.fin.slug: fin_lines(keel.fin)})
    assert "reaches 5/16\" (7.1 mm) over the tail's notch" in str(caught.value)


def test_the_footprint_is_the_base(changed) -> None:
    placement = load_board(changed(DUNLIN, ("toe = 3 ", "toe = 0 "))).fins[0]
    lines = fin_lines(placement.fin)
    base, thick = placement.fin.base_mm, placement.fin.thickness_mm
    x, y = footprint(placement, lines).T
    assert (x.min(), x.max()) == pytest.approx((placement.from_tail_mm, placement.from_tail_mm + base), abs=1e-9)
    # The trailing edge's share makes it 0.12 % more.
    assert y.max() - placement.off_stringer_mm == pytest.approx(thick, rel=2e-3)
    assert y.min() - placement.off_stringer_mm == pytest.approx(0.0, abs=0.1)
    toed = load_board(changed(DUNLIN, ("toe = 3 ", "toe = 4 "))).fins[0]
    turned = footprint(toed, fin_lines(toed.fin))
    assert np.ptp(turned[:, 1]) > np.ptp(y)


def test_fins_that_meet_above_their_bases_are_refused(changed) -> None:
    path = changed(
        DUNLIN, ("off_stringer = 108", "off_stringer = 20"), ("toe = 3 ", "toe = 0 "), ("cant = 6", "cant = -25")
    )
    with pytest.raises(CheckError) as caught:
        check_boards([path], tolerance_mm=1.0)
    codes = {finding.code: finding for finding in caught.value.findings}
    assert codes["fins-apart"].text == "volume in which fins meet: entries 1 and 1"
    assert codes["fins-apart"].measured > 100.0
