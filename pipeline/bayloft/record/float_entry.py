"""What the report says of how a board floats, as plain values."""

from __future__ import annotations

from typing import Any

from bayloft.floating.float_words import verdict
from bayloft.floating.floats import ENDS, BoardFloats, FloatLie, LoadedFloat, board_floats
from bayloft.record.figures import rounded
from bayloft.solid.draft import Draft

PLACES, SHARE_FIGURES = 3, 6
"""Decimals of mm, degrees and kg, and significant figures of volumes and areas: no balance is found more finely."""


def float_entry(draft: Draft) -> dict[str, Any] | None:
    """Return how a board floats under the load that its file asks about; None where it asks nothing."""
    floats = board_floats(draft)
    if floats is None:
        return None
    asked = floats.asked
    return {
        "verdict": verdict(floats, metric=draft.board.metric),
        "rests": floats.own.lie is not None,
        "load_kg": rounded(asked.load_kg),
        "load_at_mm": {"x": rounded(asked.x_mm), "z": _mm(floats.load_at_mm[1])},
        "board_kg": rounded(asked.board_kg),
        "water": asked.water,
        "temperature_c": rounded(asked.temperature_c),
        "salinity_g_kg": rounded(asked.salinity_g_kg),
        "density_kg_m3": _mm(floats.density_kg_m3),
        "carries_at_most_kg": _mm(floats.carries_kg),
        "loads": [_loaded(floats, each) for each in floats.loads],
    }


def _loaded(floats: BoardFloats, each: LoadedFloat) -> dict[str, Any]:
    said: dict[str, Any] = {"load_kg": rounded(each.load_kg), "fate": each.rest.fate}
    said["displaced_mm3"] = _figures(each.rest.mass_kg / floats.density_kg_m3 * 1e9)
    return said if each.lie is None else said | _lie(each.lie, each.rest.metacentric_mm)


def _lie(lie: FloatLie, metacentric_mm: float) -> dict[str, Any]:
    below = lie.below
    return {
        "trim_nose_up_deg": _mm(lie.trim_deg),
        "draft_mm": {end: _mm(value) for end, value in zip(ENDS, lie.drafts_mm, strict=True)},
        "freeboard_of_deck_mm": {end: _mm(value) for end, value in zip(ENDS, lie.freeboards_mm, strict=True)},
        "waterline_mm": {
            "from": _mm(lie.line.from_mm),
            "to": _mm(lie.line.to_mm),
            "length": _mm(lie.length_mm),
            "beam": _mm(2.0 * lie.line.half_beam_mm),
        },
        "waterplane_mm2": _figures(lie.waterplane_mm2),
        "under_water_mm3": _figures(below.volume_mm3),
        "centre_under_water_mm": [_mm(value) for value in below.centre_mm],
        "wetted_mm2": _figures(below.skin_mm2),
        "deck_under_water": {
            "at_stringer_mm": [[_mm(x) for x in ends] for ends in lie.stretches_mm],
            "share_of_deck": round(lie.deck_share, 4),
        },
        "longitudinal_metacentric_height_mm": round(metacentric_mm, 1),
        "sinks_by_mm_per_kg": round(lie.sinks_mm_kg, 4),
        "ends_move_by_mm_per_mm_of_load": round(lie.trims_mm_mm, 4),
    }


def _mm(value: float) -> float:
    return round(value, PLACES) + 0.0


def _figures(value: float) -> float:
    return float(f"{value:.{SHARE_FIGURES}g}")
