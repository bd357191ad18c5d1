"""What the report says of the panels that a board's fins are sawn from, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bayloft.laminating.laminate import Session
from bayloft.laminating.set_panels import LaidFin, SetPanel, set_panels
from bayloft.record.figures import rounded, summed
from bayloft.solid.draft import Draft


def panel_entries(draft: Draft, finished_g: Mapping[str, float]) -> list[dict[str, Any]]:
    """Return the panels of a board's fins; `finished_g`: what a finished fin weighs, by its slug."""
    return [_entry(panel, finished_g) for panel in set_panels(draft)]


def _entry(panel: SetPanel, finished_g: Mapping[str, float]) -> dict[str, Any]:
    own, fins_g = panel.panel, sum(finished_g[laid.piece.fin.fin.slug] for laid in panel.fins)
    return {
        "panel_mm": list(panel.size_mm),
        "panel_thickness_mm": rounded(own.thickness_mm),
        "plies": own.plies,
        "fins": [_fin(laid) for laid in panel.fins],
        "share_that_is_fin": {
            "together": summed(panel.fins_m2 / panel.area_m2),
            "each_alone": summed(panel.fins_m2 / panel.single_m2),
        },
        "waste_share_by_mass": {
            "together": summed(1.0 - fins_g / panel.mass_g),
            "each_alone": summed(1.0 - fins_g / (panel.mass_g * panel.single_m2 / panel.area_m2)),
        },
        "saved": {
            "cloth_m2": summed(panel.saved_share * panel.cloth_m2),
            "cloth_g": summed(panel.saved_share * panel.cloth_g),
            "resin_g": summed(panel.saved_share * panel.resin_g),
        },
        "roll": {
            "bolt_mm": rounded(panel.bolt_mm),
            "plies_side_by_side": panel.side_by_side,
            "strips_of_a_ply": panel.strips,
            "length_mm": rounded(panel.roll_mm),
        },
        "cloth_m2": summed(panel.cloth_m2),
        "cloth_g": summed(panel.cloth_g),
        "resin_g": summed(panel.resin_g),
        "core_g": summed(panel.core_g),
        "panel_g": summed(panel.mass_g),
        "sessions": session_entries(panel.sessions),
    }


def _fin(laid: LaidFin) -> dict[str, Any]:
    return {
        "fin": laid.piece.fin.fin.name,
        "copy": laid.piece.copy,
        "mirrored": laid.piece.mirrored,
        "drawn_mirrored": laid.spot.flipped,
        "inside_up": laid.turned_over,
        "turned_deg": rounded(laid.spot.turned_deg),
        "rear_of_base_mm": [rounded(value) for value in laid.spot.moved_mm],
    }


def session_entries(sessions: tuple[Session, ...]) -> list[dict[str, Any]]:
    """Return the sessions in which a panel is laid up."""
    return [
        {
            "on": session.face,
            "plies": session.plies,
            "cloth_g": rounded(session.cloth_g),
            "resin_g": rounded(session.resin_g),
            "laid_mm": rounded(session.laid_mm),
        }
        for session in sessions
    ]
