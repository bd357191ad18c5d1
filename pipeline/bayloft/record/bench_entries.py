"""What the report says of a board's new stringer, its rail bands and its plugs, as plain values."""

from __future__ import annotations

import math
from typing import Any

from bayloft.errors import spelled
from bayloft.foam.bands import BoardBands, FaceBands, board_bands
from bayloft.foam.plank_words import verdict
from bayloft.foam.stringers import CutStringer, StringerPiece, cut_stringer
from bayloft.record.figures import rounded, summed
from bayloft.solid.draft import Draft
from bayloft.solid.plugs import pockets


def stringer_entry(draft: Draft) -> dict[str, Any] | None:
    """Return a board's new stringer: how it comes out of its plank, what is glued, what it weighs; None without one."""
    cut = cut_stringer(draft)
    if cut is None:
        return None
    stringer, (clamps, apart) = cut.stringer, cut.clamps
    return {
        "verdict": " ".join(filter(None, verdict(cut, metric=draft.board.metric))),
        "wood": stringer.wood,
        "thickness_mm": rounded(stringer.thickness_mm),
        "strips": stringer.strips,
        "allowance_mm": rounded(stringer.allowance_mm),
        "plank": None if cut.plank is None else cut.plank.name,
        "comes_out": None if cut.plank is None else cut.comes_out,
        "least_plank_mm": [rounded(cut.least.length_mm), rounded(cut.least.width_mm)],
        "pieces": [_piece(piece, cut) for piece in cut.pieces],
        "scarfs_mm": [[rounded(x) for x in own] for own in cut.scarfs],
        "clamps": {"count": clamps, "apart_mm": rounded(apart)},
        "glued_mm2": summed(cut.glue_area_mm2),
        "glue_g": _grams(cut.glue_g),
        "pigment_g": _grams(cut.pigment_g),
        "finished_g": _grams(None if cut.finished_kg is None else 1e3 * cut.finished_kg),
        "sawn_g": _grams(None if cut.sawn_kg is None else 1e3 * cut.sawn_kg),
        "steepest_grain": {
            "one_in": round(cut.steepest.along, 2),
            "station_mm": round(cut.steepest.x_mm),
            "edge": cut.steepest.edge,
        },
    }


def _piece(piece: StringerPiece, cut: CutStringer) -> dict[str, Any]:
    ends = None if cut.plank is None else piece.ends_on(cut.plank)
    lie = piece.lie
    return {
        "from_mm": rounded(piece.from_mm),
        "to_mm": rounded(piece.to_mm),
        "turned_deg": None if lie is None else rounded(lie.angle_deg),
        "turned_over": None if lie is None else lie.turned_over,
        "on_plank_mm": None
        if ends is None
        else {
            name: {"from_end": rounded(end.from_end_mm), "from_edge": rounded(end.from_edge_mm)}
            for name, end in zip(("tail_end", "nose_end"), ends, strict=True)
        },
    }


def bands_entry(draft: Draft) -> dict[str, Any] | None:
    """Return a board's rail bands at its stations; None where it asks for none."""
    bands = draft.board.bands
    if bands is None:
        return None
    found = board_bands(draft.body, bands)
    rows = found.at(bands.stations_mm)
    return {
        "stations_mm": [rounded(float(found.stations_mm[i])) for i in rows],
        "sole_mm": rounded(found.sole_mm),
        "faces": {face.face: [_flat(found, face, n, rows) for n in range(face.count)] for face in found.faces},
    }


def _flat(found: BoardBands, face: FaceBands, n: int, rows: list[int]) -> dict[str, Any]:
    sole = next(each for each in found.soles if (each.face, each.number) == (face.face, n + 1))

    def at_rows(values: Any) -> list[float | None]:
        return [None if math.isnan(values[i]) else rounded(float(values[i])) for i in rows]

    return {
        "slope_deg": at_rows(face.angles_deg[:, n]),
        "inner_off_middle_mm": at_rows(face.inner_mm[:, n]),
        "up_the_side_mm": at_rows(face.side_mm[:, n]),
        "foam_left_inside_mm": at_rows(face.left_mm[:, n]),
        "sole_cuts_mm": rounded(sole.cuts_mm),
    }


def plug_entries(draft: Draft) -> list[dict[str, Any]]:
    """Return a board's plugs and boxes, with the foam that their pockets take and leave."""
    return [
        {
            "name": pocket.plug.name,
            "key": spelled(pocket.plug.path),
            "face": pocket.plug.face,
            "sides": list(pocket.plug.sides),
            "middle_mm": [rounded(value) for value in pocket.middle_mm.tolist()],
            "length_mm": rounded(pocket.plug.length_mm),
            "width_mm": rounded(pocket.plug.width_mm),
            "corner_radius_mm": rounded(pocket.plug.corner_mm),
            "deep_mm": {
                "at_its_middle": rounded(pocket.plug.depth_mm),
                "least": rounded(pocket.plug.depth_mm + pocket.lowest_mm),
                "greatest": rounded(pocket.plug.depth_mm + pocket.highest_mm),
            },
            "toe_deg": rounded(pocket.plug.toe_deg),
            "cant_deg": None if pocket.plug.cant_deg is None else rounded(pocket.plug.cant_deg),
            "foam_under_mm": rounded(pocket.under_mm),
            "each_takes_mm3": summed(pocket.volume_mm3),
        }
        for pocket in pockets(draft.board, draft.body)
    ]


def _grams(value: float | None) -> float | None:
    return None if value is None else summed(value)
