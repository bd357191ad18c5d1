"""report.json: every number of a build, as asked, as lofted, and as checked."""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from bayloft.errors import spelled
from bayloft.findings import Finding
from bayloft.laminating.layup import FinLayup, assumed_limits, fin_layup
from bayloft.lines.planform_figures import planform_figures
from bayloft.record.bench_entries import bands_entry, plug_entries, stringer_entry
from bayloft.record.figures import DECIMALS, FIGURES, figures, report_bytes, rounded, summed
from bayloft.record.float_entry import float_entry
from bayloft.record.glass_entries import glass_entry, weight_entry
from bayloft.record.heading import FILE_NAME, head
from bayloft.record.panel_entries import panel_entries, session_entries
from bayloft.solid.assembly import Joined
from bayloft.solid.checks import CheckedMesh
from bayloft.solid.integrals import Integrals
from bayloft.solid.loft import LoftedBoard, LoftedFin
from bayloft.spec.fins.fin import Fin
from bayloft.spec.fins.layup import CAUTIOUS
from bayloft.spec.text.given import Assumed
from bayloft.units import feet_inches

FORMAT = 1
"""Raised when a key of the report changes its meaning."""


def _measured(finding: Finding) -> float | None:
    """Return what was measured to FIGURES significant figures, and no finer than that of the limit."""
    value = figures(finding.measured)
    if value is None or not 0.0 < abs(finding.limit) < math.inf:
        return value
    return round(value, FIGURES - math.floor(math.log10(abs(finding.limit)))) + 0.0


def _integrals(exact: Integrals) -> dict[str, Any]:
    return {
        "volume_mm3": summed(exact.volume_mm3),
        "area_mm2": summed(exact.area_mm2),
        "plan_area_mm2": summed(exact.plan_area_mm2),
        "centroid_mm": [rounded(value) for value in exact.centroid_mm],
        "second_moments_about_centroid_mm5": {
            axis: summed(value) for axis, value in zip(("x", "y", "z"), exact.second_moments_mm5, strict=True)
        },
        "product_of_inertia_xz_mm5": summed(exact.product_xz_mm5),
    }


def _mesh(checked: CheckedMesh) -> dict[str, Any]:
    return {
        "volume_mm3": summed(checked.volume_mm3),
        "halved_volume_mm3": summed(checked.halved_volume_mm3),
        "extrapolated_volume_mm3": summed(checked.extrapolated_volume_mm3),
        "order": figures(checked.order),
        "chord_tolerance_mm": checked.tolerance_mm,
        "chord_deviation_mm": figures(checked.deviation_mm),
        "vertices": len(checked.mesh.vertices),
        "triangles": len(checked.mesh.triangles),
    }


def finding_entry(finding: Finding) -> dict[str, Any]:
    """Return a finding as plain values."""
    return {
        "code": finding.code,
        "severity": finding.severity,
        "where": finding.where,
        "measured": _measured(finding),
        "limit": figures(finding.limit),
        "unit": finding.unit,
        "text": finding.text,
    }


def assumed_entries(owner: str, assumed: tuple[Assumed, ...]) -> list[dict[str, str]]:
    """Return what was assumed for a spec, as plain values."""
    return [{"in": owner, "key": spelled(item.path), "value": item.value, "reason": item.reason} for item in assumed]


def _planform(lofted: LoftedFin) -> dict[str, Any]:
    plan = planform_figures(lofted.draft.lines)
    return {
        "area_mm2": summed(plan.area_mm2),
        "aspect_ratio": {
            "single_fin_depth2_over_area": rounded(plan.aspect_ratio),
            "with_mirror_image_in_the_bottom": rounded(plan.aspect_ratio_with_image),
        },
        "sweep_of_quarter_chord_deg": rounded(plan.sweep_deg),
        "centre_of_area_mm": {"x": rounded(plan.centre_of_area_mm[0]), "z": rounded(plan.centre_of_area_mm[1])},
        "mean_chord_mm": {
            "geometric": rounded(plan.mean_chord_mm),
            "aerodynamic": rounded(plan.aerodynamic_mean_chord_mm),
        },
    }


def _fin(lofted: LoftedFin) -> dict[str, Any]:
    draft, fin = lofted.draft, lofted.draft.fin
    return {
        "name": fin.name,
        "base_mm": rounded(fin.base_mm),
        "depth_mm": rounded(fin.depth_mm),
        "rake_mm": rounded(fin.rake_mm),
        "family": fin.family,
        "planform": _planform(lofted),
        "foil": fin.foil if fin.section is None else "section",
        "integrals": _integrals(lofted.exact),
        "mesh": _mesh(lofted.checked),
        "layup": _layup(fin, fin_layup(fin, draft.lines, draft.body, lofted.exact)),
    }


def _layup(fin: Fin, laid: FinLayup) -> dict[str, Any]:
    given, panel, cautious = fin.layup, laid.panel, assumed_limits(fin)

    def limit(key: str, value: float) -> dict[str, Any]:
        return {"value": value, "note": CAUTIOUS if key in cautious else "given"}

    core = None
    if fin.core is not None:
        core = {
            "material": fin.core.material,
            "density_kg_m3": rounded(fin.core.density_kg_m3),
            "thickness_mm": rounded(fin.core.thickness_mm),
            "foiled_volume_mm3": summed(laid.core_mm3),
            "mass_g": rounded(laid.core_g),
        }
    return {
        "cloth_g_m2": rounded(given.cloth_g_m2),
        "fibre_share": given.fibre_share,
        "glass_density_kg_m3": rounded(given.glass_density_kg_m3),
        "resin_density_kg_m3": rounded(given.resin_density_kg_m3),
        "ply_mm": rounded(panel.laminate.ply_mm),
        "laminate_density_kg_m3": rounded(panel.laminate.density_kg_m3),
        "plies": panel.plies,
        "panel_mm": list(panel.size_mm),
        "panel_thickness_mm": rounded(panel.thickness_mm),
        "ground_off_mm": rounded(panel.ground_mm),
        "core": core,
        "plies_per_session": limit("plies_per_session", given.plies_per_session),
        "pot_g": limit("pot", rounded(given.pot_g)),
        "sessions": session_entries(panel.sessions),
        "cloth_m2": rounded(laid.cloth_m2),
        "cloth_g": rounded(laid.cloth_g),
        "resin_g": rounded(laid.resin_g),
        "panel_g": rounded(laid.panel_g),
        "finished_g": rounded(laid.finished_g),
        "waste_g": rounded(laid.waste_g),
    }


def _standing(joined: Joined) -> dict[str, Any]:
    """Return where a fin stands: base ends of the port or single fin from tail end, stringer and flat plane."""
    stand, placement = joined.stand, joined.stand.placement
    return {
        "fin": placement.fin.name,
        "key": spelled(placement.path),
        "sides": list(stand.sides),
        "rear_mm": [rounded(value) for value in stand.rear_mm.tolist()],
        "front_mm": [rounded(value) for value in stand.front_mm.tolist()],
        "toe_deg": rounded(placement.toe_deg),
        "toe_over_base_mm": rounded(stand.toe_mm),
        "cant_deg": rounded(placement.cant_deg),
        "base_off_straight_mm": figures(stand.deviation_mm),
        "base_off_square_deg": figures(stand.bevel_deg),
        "each_volume_mm3": {
            "with_base_carried_into_board": summed(joined.prolonged_mm3),
            "inside_board": summed(joined.overlap_mm3),
            "outside_board": summed(joined.outside_mm3),
        },
        "slot": None
        if placement.slot is None
        else {key: rounded(value) for key, value in dataclasses.asdict(placement.slot).items()},
    }


def file_entries(folder: Path | None) -> list[dict[str, Any]]:
    """Return the files of a folder with size and SHA-256, by name."""
    if folder is None:
        return []
    paths = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return [_file_entry(path.relative_to(folder).as_posix(), path.read_bytes()) for path in paths]


def byte_entries(files: Mapping[str, bytes]) -> list[dict[str, Any]]:
    """Return files that are to be written with size and SHA-256, by name."""
    return [_file_entry(name, files[name]) for name in sorted(files)]


def _file_entry(name: str, data: bytes) -> dict[str, Any]:
    return {"name": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}


def report(lofted: LoftedBoard, folder: Path | None, version: str, date: datetime.date | None = None) -> dict[str, Any]:
    """Return the report of a build as plain values; `folder` holds the files it lists with size and SHA-256 (None: no
    files were written), `date` is the day written on them.
    """
    board = lofted.board
    severities = [finding.severity for finding in lofted.findings]
    agreeing = {
        "agreement",
        "concave-lost",
        "curvature-signs",
        "derived",
        "hollow-section",
        "moved",
        "plug-foam",
        "second-drop",
        "straight-stretch",
        "swells",
        "volume-aim",
    }
    assumed = assumed_entries(board.name, board.assumed)
    for fin in lofted.fins:
        assumed += assumed_entries(fin.draft.fin.name, fin.draft.fin.assumed)
    fins = [_fin(fin) for fin in lofted.fins]
    made = zip(lofted.fins, fins, strict=True)
    return {
        "format": FORMAT,
        **head(lofted, version, date),
        "unit": "mm" if board.metric else "in",
        "length": {"mm": rounded(board.length_mm), "feet": feet_inches(board.length_mm)},
        "litres": round(lofted.exact.volume_mm3 / 1e6, 3),
        "dimensions": [
            {
                "key": spelled(item.path),
                "what": item.what,
                "station_mm": rounded(item.x_mm),
                "asked_mm": rounded(item.asked_mm),
                "lofted_mm": rounded(item.lofted_mm),
                "error_mm": figures(round(item.error_mm, DECIMALS) + 0.0),
                "limit_mm": rounded(item.limit_mm),
                "play_mm": rounded(item.play_mm),
            }
            for item in lofted.dimensions
        ],
        "integrals": _integrals(lofted.exact),
        "section_areas": {
            "stations_mm": [rounded(x) for x in lofted.area_stations_mm],
            "areas_mm2": [round(area, 3) + 0.0 for area in lofted.section_areas_mm2],
        },
        "mesh": _mesh(lofted.checked),
        "fins": fins,
        "panels": panel_entries(lofted.draft, {fin.draft.fin.slug: said["layup"]["finished_g"] for fin, said in made}),
        "standing": [_standing(joined) for joined in lofted.with_fins.joins] if lofted.with_fins else [],
        "plugs": plug_entries(lofted.draft),
        "glass": glass_entry(lofted.draft),
        "weight": weight_entry(lofted.draft),
        "stringer": stringer_entry(lofted.draft),
        "bands": bands_entry(lofted.draft),
        "float": float_entry(lofted.draft),
        "checks": {
            "made": len(severities),
            "warnings": severities.count("warning"),
            "failed": severities.count("failure"),
            "results": [finding_entry(finding) for finding in lofted.findings if finding.code not in agreeing],
        },
        "findings": [finding_entry(finding) for finding in lofted.findings if finding.code in agreeing],
        "assumed": assumed,
        "files": file_entries(folder),
    }


def write(lofted: LoftedBoard, folder: Path, version: str, date: datetime.date | None = None) -> dict[str, Any]:
    """Write report.json into a folder that holds all other files of the build, and return what it says."""
    said = report(lofted, folder, version, date)
    (folder / FILE_NAME).write_bytes(report_bytes(said))
    return said
