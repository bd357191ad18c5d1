"""Random fins: each must loft to a sound solid that agrees with its lines and its integral."""

from __future__ import annotations

import manifold3d
import numpy as np
import shapely
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from bayloft.errors import SpecError
from bayloft.lines.fin import fin_lines
from bayloft.solid.checks import checked_mesh
from bayloft.solid.fin import fin_body
from bayloft.solid.integrals import integrals
from bayloft.solid.mesh import solid_of
from bayloft.spec.fins.fin import Fin
from bayloft.spec.text.source import Source
from bayloft.tolerances import CHORD_MM

FINS = 60
LINES_MM = 1e-3
"""mm by which a fin's surface may leave its lines, by its own word."""


@st.composite
def fins(draw: st.DrawFn) -> Fin:
    base = draw(st.floats(60, 270))
    depth = draw(st.floats(60, min(280.0, 2 * base)))
    thickness = draw(st.floats(4, min(11.0, base / 5)))
    tip = thickness * draw(st.floats(0.25, 0.6))
    return Fin(
        name="Random",
        slug="random",
        base_mm=base,
        depth_mm=depth,
        rake_mm=depth * draw(st.floats(-0.1, 0.9)),
        leading_fullness=draw(st.floats(0.03, 0.25)),
        trailing_hollow=draw(st.floats(-0.15, 0.2)),
        tip_radius_mm=depth * draw(st.floats(0.02, 0.2)),
        foil=draw(st.sampled_from(["double", "flat"])),
        thickness_mm=thickness,
        tip_thickness_mm=tip,
        trailing_edge_mm=tip * draw(st.floats(0.1, 0.6)),
        tab=None,
        assumed=(),
        source=Source(file="random.toml", values={}, lines={}),
    )


def test_sixty_random_fins_are_sound_solids() -> None:
    """Every check of the build on every fin; the surface on its lines; one solid without handles to manifold3d."""
    foils: list[str] = []
    refused = 0

    @settings(max_examples=FINS, phases=(Phase.generate,))
    @given(fins())
    def each(fin: Fin) -> None:
        nonlocal refused
        try:
            lines = fin_lines(fin)
        except SpecError:
            refused += 1
            assume(False)
            return
        body = fin_body(lines)
        exact = integrals(body)
        checked = checked_mesh(body, exact, CHORD_MM, fin.name)
        assert [finding for finding in checked.findings if not finding.passed] == []
        assert checked.volume_mm3 < exact.volume_mm3
        solid = solid_of(checked.mesh)
        assert solid.status() == manifold3d.Error.NoError
        assert solid.genus() == 0
        # The base stands level on z = 0, and all of the fin above it.
        height = checked.mesh.vertices[:, 2]
        assert height.min() == 0.0
        assert abs(height.max() - fin.depth_mm) < 2e-9
        u, v = (np.unique(np.concatenate([b, (b[:-1] + b[1:]) / 2])) for b in body.port.breaks)
        assert np.linalg.norm(body.port.grid(u, v) - lines.face(u[:, None], v), axis=-1).max() < LINES_MM
        foils.append(fin.foil)

    each()
    assert len(foils) >= FINS
    assert refused < 0.2 * FINS
    assert min(foils.count(foil) for foil in ("double", "flat")) >= FINS // 12


@settings(max_examples=40, phases=(Phase.generate,))
@given(fins())
def test_planforms_meet_their_numbers_and_do_not_cross(fin: Fin) -> None:
    try:
        lines = fin_lines(fin)
    except SpecError:
        assume(False)
        return
    middle = lines.parameter(fin.depth_mm / 2)
    assert abs(lines.height(middle) - fin.depth_mm / 2) < 1e-9
    tip = fin.base_mm / 2 - fin.rake_mm
    for edge, base, bow in (
        (lines.leading, fin.base_mm, fin.leading_fullness * fin.depth_mm),
        (lines.trailing, 0.0, fin.trailing_hollow * fin.depth_mm),
    ):
        assert abs(edge(0.0) - base) < 1e-6
        assert abs(edge(1.0) - tip) < 1e-6
        assert abs(edge(middle) - (base + tip) / 2 - bow) < 1e-6
    u = np.linspace(0.0, 1.0, 501)
    z = lines.height(u)
    outline = np.concatenate([np.column_stack([lines.leading(u), z]), np.column_stack([lines.trailing(u), z])[-2::-1]])
    assert shapely.Polygon(outline).is_valid
    # The radius at the tip: dz = depth (1 - u)^2 and dx = slope (1 - u), so slope^2 / (2 depth).
    for edge in (lines.leading, lines.trailing):
        assert abs(edge(1.0, 1) ** 2 / (2 * fin.depth_mm) / fin.tip_radius_mm - 1.0) < 1e-6
