"""Any fin that is not refused is one closed solid: random numbers over all families and foils."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
import pytest

from bayloft.errors import SpecError
from bayloft.solid.draft import drafted_fin
from bayloft.solid.loft import lofted_fin
from bayloft.spec.fins.fin import Family, Fin, FoilKind, FoilSection
from bayloft.spec.fins.fin_forms import FAMILIES
from bayloft.spec.loading import load_fin

PLAIN = load_fin(Path(__file__).parents[2] / "specs" / "fins" / "avocet-single.toml")
FINS = 150
SEED = 492
MOST_REFUSED = FINS // 6
CHORD_MM = 0.5
"""mm, ten times the usual chord tolerance: what is asked here is whether a solid closes."""


def cambered(camber: float) -> FoilSection:
    x = np.linspace(0.0, 1.0, 40) ** 2
    half = 0.6 * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    line = 4.0 * camber * x * (1.0 - x)
    faces = [tuple(map(tuple, np.stack([x, line + side * half], 1).tolist())) for side in (1.0, -1.0)]
    return FoilSection(name="cambered", outer=faces[0], inner=faces[1])


def fins() -> Iterator[Fin]:
    """Fins by turns of every family and foil, the numbers spread round what is usual for the family."""
    random = np.random.default_rng(SEED)
    kinds: tuple[FoilKind, ...] = get_args(FoilKind)
    families: tuple[Family, ...] = get_args(Family)
    for i in range(FINS):
        family = families[i % len(families)]
        usual = FAMILIES[family]
        depth = float(random.uniform(70.0, 280.0))
        base = depth * float(random.uniform(0.6, 1.6))
        thickness = float(np.clip(random.uniform(0.04, 0.09) * base, 4.0, 14.0))
        tip = thickness * float(random.uniform(0.2, 0.6))
        shifted = random.uniform(-0.03, 0.03, 2)
        section = cambered(float(random.uniform(0.0, 0.03))) if i // len(families) % 4 == 3 else None
        yield replace(
            PLAIN,
            base_mm=base,
            depth_mm=depth,
            rake_mm=depth * float(random.uniform(0.0, 0.6)),
            family=family,
            leading_fullness=usual.leading_fullness + float(shifted[0]),
            trailing_hollow=usual.trailing_hollow + float(shifted[1]),
            tip_radius_mm=usual.tip_radius * depth * float(random.uniform(0.8, 1.2)),
            tip_width_mm=usual.tip_width and usual.tip_width * depth * float(random.uniform(0.9, 1.1)),
            base_fillet_mm=float(random.choice([0.0, random.uniform(1.0, 0.06 * base)])),
            foil=kinds[i // len(families) % len(kinds)],
            hollow_mm=thickness * float(random.uniform(0.05, 0.3)),
            greatest_at=float(random.choice([0.3, random.uniform(0.25, 0.5)])),
            leading_radius=float(random.choice([1.0, random.uniform(0.5, 1.5)])),
            section=section,
            thickness_mm=thickness,
            tip_thickness_mm=tip,
            trailing_edge_mm=tip * float(random.uniform(0.2, 0.55)),
        )


def test_random_fins_are_closed_solids_or_refused_with_a_reason() -> None:
    refused, made = [], set()
    for fin in fins():
        try:
            whole = lofted_fin(drafted_fin(fin), CHORD_MM)
        except SpecError as error:
            refused.append(error)
            continue
        sound = {"mesh-closed", "mesh-manifold", "mesh-outward", "mesh-facets", "mesh-inscribed", "chord-deviation"}
        failed = [finding for finding in whole.checked.findings if not finding.passed]
        assert [finding.code for finding in failed if finding.code in sound] == [], fin
        made.add((fin.family, "section" if fin.section else fin.foil))
        assert whole.exact.volume_mm3 == pytest.approx(whole.checked.extrapolated_volume_mm3, rel=1e-3)
    assert all(fault.problem for error in refused for fault in error.faults)
    assert len(refused) <= MOST_REFUSED, [str(error) for error in refused]
    assert len(made) == len(get_args(Family)) * (len(get_args(FoilKind)) + 1)
