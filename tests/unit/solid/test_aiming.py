"""A volume to reach."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bayloft.errors import SpecError
from bayloft.solid.aiming import SHARES, aim_finding, scaled
from bayloft.solid.draft import drafted
from bayloft.solid.integrals import integrals
from bayloft.spec.boards.board import Aim, Board
from bayloft.tolerances import AIM_L

from ...demo import board, draft


def without_fins(name: str) -> Board:
    return replace(board(name), fins=())


@pytest.mark.parametrize("by", ["thickness", "width", "both"])
@pytest.mark.parametrize("name", ["dunlin", "whimbrel"])
def test_the_volume_is_reached_by_what_is_asked_and_nothing_else(name: str, by: str) -> None:
    """The volume once more, of the mesh's own integral at a finer rule than the search; what is not scaled stays."""
    given = without_fins(name)
    litres = round(1.07 * integrals(draft(name).body).volume_mm3 / 1e6, 1)
    found = drafted(replace(given, aim=Aim(litres=litres, by=by)))  # type: ignore[arg-type]
    volume = integrals(found.body).volume_mm3
    assert volume / 1e6 == pytest.approx(litres, abs=AIM_L)
    (finding,) = aim_finding(found.board, volume)
    assert finding.severity == "note"
    assert found.board.aim is not None
    wide, thick = (found.board.aim.factor**share for share in SHARES[by])
    assert found.board.wide_point.value == pytest.approx(given.wide_point.value * wide, abs=1e-6)
    assert found.board.thickest.value == pytest.approx(given.thickest.value * thick, abs=1e-6)
    assert found.board.heights == given.heights
    assert found.board.length_mm == given.length_mm
    assert (wide == 1.0) == (by == "thickness")
    assert (thick == 1.0) == (by == "width")


def test_a_board_without_an_aim_stays_as_it_is() -> None:
    assert drafted(board("whimbrel")).board is board("whimbrel")
    assert aim_finding(board("whimbrel"), 1.0) == []


def test_a_missed_volume_is_a_failure() -> None:
    (finding,) = aim_finding(replace(board("whimbrel"), aim=Aim(litres=48.0, by="both")), 48.002e6)
    assert finding.severity == "failure"


@pytest.mark.parametrize("litres", [9.0, 200.0])
def test_a_volume_out_of_reach_is_told_with_what_is_near(litres: float) -> None:
    with pytest.raises(SpecError) as caught:
        drafted(replace(without_fins("whimbrel"), aim=Aim(litres=litres, by="thickness")))
    (fault,) = caught.value.faults
    assert fault.path == ("volume",)
    assert "with its thicknesses scaled by 0.5 to 2" in fault.problem


def test_a_board_scaled_by_one_is_itself() -> None:
    given = board("dunlin")
    again = scaled(given, 1.0, 1.0)
    assert again.wide_point.value == pytest.approx(given.wide_point.value, abs=1e-6)
    assert again.tail == replace(given.tail, block_mm=again.tail.block_mm, corner_radius_mm=again.tail.corner_radius_mm)
