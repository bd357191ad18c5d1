"""Coordinate files that a message beside a spec cannot show: too large, a folder, bytes that are no text."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bayloft.errors import SpecError
from bayloft.lines.fin import SECTION_PLACES
from bayloft.lines.foil import foil
from bayloft.spec.fins.section_file import read_section
from bayloft.spec.text.encoding import SAVE_AS_UTF_8
from bayloft.tolerances import MAX_SECTION_BYTES


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "scan.dat"
    path.write_bytes(b"0.5 0.1\n" * (MAX_SECTION_BYTES // 8 + 1))
    with pytest.raises(SpecError, match="is too large for a foil"):
        read_section(path)
    path.write_bytes(b"0.5 0.1\n" * (MAX_SECTION_BYTES // 8))
    with pytest.raises(SpecError, match=r"x does not go on|x neither rises"):
        read_section(path)


def test_a_folder_and_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(SpecError, match="is not a file"):
        read_section(tmp_path)
    with pytest.raises(SpecError, match="cannot be read"):
        read_section(tmp_path / "none.dat")


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    path = tmp_path / "picture.dat"
    path.write_bytes(bytes(range(256)) * 4)
    with pytest.raises(SpecError, match=r"picture\.dat:\d+: not two numbers") as caught:
        read_section(path)
    assert str(caught.value).isprintable() or "\n" in str(caught.value)
    assert caught.value.faults[0].value.isprintable()


def test_one_face_with_too_few_points(tmp_path: Path) -> None:
    path = tmp_path / "foil.dat"
    rows = [(x, 0.06 * x * (1 - x)) for x in np.linspace(1.0, 0.0, 12)] + [(0.5, -0.02), (1.0, 0.0)]
    path.write_text("".join(f"{x} {y}\n" for x, y in rows), "utf-8")
    with pytest.raises(SpecError, match="too few points on one face"):
        read_section(path)


def test_every_form_in_reach_has_one_summit() -> None:
    for greatest_at in np.linspace(0.2, 0.6, 9):
        for radius in np.linspace(0.25, 2.25, 9):
            outer = foil("double", greatest_at=float(greatest_at), leading_radius=float(radius)).outer(SECTION_PLACES)
            assert outer.min() > 0.0
            assert (np.diff(np.sign(np.diff(outer))) != 0).sum() == 1


def test_two_bytes_a_letter(tmp_path: Path) -> None:
    path = tmp_path / "foil.dat"
    path.write_bytes("Plate\n1 0\n0.5 0.1\n0 0\n".encode("utf-16"))
    with pytest.raises(SpecError, match="not plain text, but UTF-16 or UTF-32, two bytes or more a letter") as caught:
        read_section(path)
    assert caught.value.faults[0].hint == SAVE_AS_UTF_8
