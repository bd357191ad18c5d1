"""What the report says of a board's glass and of its weight, as plain values."""

from __future__ import annotations

import math
from typing import Any

from bayloft.errors import spelled
from bayloft.laminating.glassing import board_glass, tape_line
from bayloft.laminating.weighing import board_weight
from bayloft.record.figures import rounded, summed
from bayloft.solid.draft import Draft
from bayloft.spec.bench.glass import Spread


def glass_entry(draft: Draft) -> dict[str, Any] | None:
    """Return how a board is glassed; None where its file asks for nothing."""
    made = board_glass(draft)
    if made is None:
        return None
    return {
        "lap_mm": rounded(made.glass.lap_mm),
        "laps": made.glass.laps,
        "bolt_mm": rounded(made.glass.bolt_mm),
        "off_the_bolt_mm": round(made.bolt_mm, 1),
        "faces": [
            {
                "face": face.face,
                "cloths_g_m2": [rounded(weight) for weight in face.cloths_g_m2],
                "area_mm2": round(face.area_mm2),
                "lap_on_the_other_mm2": round(face.lap_mm2),
                "girth_mm": round(face.girth_mm, 2),
                "girth_at_mm": rounded(face.widest_mm),
                "piece_mm": [round(face.long_mm, 1), round(face.wide_mm, 1)],
                "bolt_leaves_lap_mm": round(face.leaves_mm, 1),
                "cloth_g": round(face.cloth_g, 1),
                "resin_g": _spread(face.resin_g),
                "pots": face.pots,
                "relief_cuts": {"nose": face.relief_cuts[0], "tail": face.relief_cuts[1]},
                "ends_on_the_other_at": [
                    {
                        "station_mm": rounded(each.x_mm),
                        "from_middle_mm": None if math.isnan(each.from_middle_mm) else round(each.from_middle_mm, 2),
                        "from_rail_mm": None if math.isnan(each.from_rail_mm) else round(each.from_rail_mm, 2),
                    }
                    for each in tape_line(draft, face.lap)
                ],
            }
            for face in made.faces
        ],
        "patches": [
            {
                "name": own.patch.name,
                "key": spelled(own.patch.path),
                "area_mm2": round(own.area_mm2),
                "cloth_g": round(own.cloth_g, 1),
                "resin_g": _spread(own.resin_g),
            }
            for own in made.patches
        ],
        "fill_coat_g": _spread(made.fill_g),
        "gloss_g": _spread(made.gloss_g),
    }


def weight_entry(draft: Draft) -> dict[str, Any] | None:
    """Return what a board weighs; None where nothing is said of its glass."""
    weight = board_weight(draft)
    if weight is None:
        return None
    return {
        "finished_g": _spread(weight.total_g),
        "balance_mm": round(weight.balance_mm, 1),
        "parts": [
            {"name": part.name, "g": _spread(part.mass_g), "middle_mm": round(part.x_mm, 1)} for part in weight.parts
        ],
        "assumed": list(weight.assumed),
        "changes_g": {words: round(mass) for words, mass in weight.changes},
    }


def _spread(spread: Spread) -> dict[str, float]:
    return {"low": summed(round(spread.low)), "usual": summed(round(spread.usual)), "high": summed(round(spread.high))}
