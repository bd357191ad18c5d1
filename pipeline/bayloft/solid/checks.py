"""Every number of a mesh held against the integral, and the mesh asked whether it is a solid."""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np

from bayloft.findings import Finding, judged
from bayloft.solid.assembly import Assembly
from bayloft.solid.body import Body
from bayloft.solid.integrals import Integrals
from bayloft.solid.mesh import Mesh, float32_collapsed, manifold, solid_of
from bayloft.solid.meshing import Grid, chord_deviation, grid_for, meshed
from bayloft.tolerances import ASSEMBLY_VOLUME_RELATIVE, CHORD_MM, MESH_ORDER, MESH_VOLUME_RELATIVE, RICHARDSON_RELATIVE

FINER, FINEST = 0.7, 0.02
"""Safety with which a chord tolerance is made finer for the sake of the volume, and the least share of it tried."""

USUAL_SAG = 8.0
"""Greatest over mean distance of a mesh from a curved face (measured on fins, with one or both faces curved): where the
first grid of a thin body starts, so that fewer are thrown away."""

HOLLOW_SHARE = 0.2
"""Share of the greatest error of the volume by which a mesh may be larger than its body: over a hollow bottom chords
run outside."""

NO_ORDER_SHARE = 1e-2
"""Share of the greatest error of the volume below which the error has no order: what is outside and inside cancels."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedMesh:
    """A mesh, the same as a manifold3d solid, and its figures: chord tolerance asked and deviation sampled (mm),
    volumes (mm3) of the mesh, of its halving and extrapolated from both, the order at which the error falls, and what
    the checks found.
    """

    mesh: Mesh
    solid: manifold3d.Manifold
    tolerance_mm: float
    deviation_mm: float
    volume_mm3: float
    halved_volume_mm3: float
    extrapolated_volume_mm3: float
    order: float
    findings: tuple[Finding, ...]


def _within(body: Body, exact: Integrals, tolerance_mm: float, coarse: float) -> tuple[Grid, Mesh, float, float]:
    """Return a grid within the chord tolerance, its mesh, and the volumes of this and of its halving.

    The grid is made finer, down to FINEST of the tolerance, until the mesh's volume and the one extrapolated from both
    meshes agree with the body's within their limits, which `coarse` makes wider.
    """
    volume_mm3 = exact.volume_mm3
    curved = 2.0 if body.starboard is None else 1.0
    asked = min(tolerance_mm, USUAL_SAG * MESH_VOLUME_RELATIVE * coarse * volume_mm3 / (curved * exact.area_mm2))
    while True:
        grid = grid_for(body, asked)
        mesh = meshed(body, grid)
        volume, halved = mesh.volume_mm3, meshed(body, grid.halved()).volume_mm3
        relative = abs(volume / volume_mm3 - 1.0) / (MESH_VOLUME_RELATIVE * coarse)
        residual = abs((4.0 * halved - volume) / 3.0 / volume_mm3 - 1.0) / (RICHARDSON_RELATIVE * coarse**2)
        # The error of the volume goes with the chord tolerance, what extrapolation leaves of it with its square.
        excess = max(relative, np.sqrt(residual))
        finer = FINER * asked / excess
        if excess <= 1.0 or finer < FINEST * tolerance_mm:
            return grid, mesh, volume, halved
        asked = finer


def checked_mesh(body: Body, exact: Integrals, tolerance_mm: float, where: str) -> CheckedMesh:
    """Return the mesh of a body within a chord tolerance, with every check made on it.

    The volume of an inscribed mesh is a little small, by an error that falls with the square of the spacing: its size,
    its sign, its order on the halved grid, and the volume extrapolated from both (Richardson) are all held against the
    integral. Only a hollow bottom, where chords run outside, may make it a trifle large. A body so thin that its volume
    would be too far off at the asked chord tolerance, a fin above all, is meshed finer until it is not.
    """
    coarse = max(1.0, tolerance_mm / CHORD_MM)
    limit, residual_limit = MESH_VOLUME_RELATIVE * coarse, RICHARDSON_RELATIVE * coarse**2
    grid, mesh, volume, halved = _within(body, exact, tolerance_mm, coarse)
    deviation = chord_deviation(body, grid)
    short, short_halved = exact.volume_mm3 - volume, exact.volume_mm3 - halved
    order = float(np.log2(short / short_halved)) if short * short_halved > 0.0 else float("nan")
    extrapolated = (4.0 * halved - volume) / 3.0
    relative = abs(short) / exact.volume_mm3
    residual = abs(extrapolated / exact.volume_mm3 - 1.0)
    beyond = -HOLLOW_SHARE * limit * exact.volume_mm3
    unpaired, collapsed = mesh.unpaired_edges(), float32_collapsed(mesh)
    solid = solid_of(mesh)
    sound, reason = manifold(solid, volume)
    findings = (
        judged("mesh-closed", where, unpaired, 0, "edges", "edges without exactly one opposite", good=unpaired == 0),
        judged("mesh-manifold", where, int(not sound), 0, "faults", f"a second judge says: {reason}", good=sound),
        judged("mesh-outward", where, volume, 0.0, "mm3", "enclosed volume is positive", good=volume > 0.0),
        judged("mesh-facets", where, collapsed, 0, "facets", "facets that vanish in an STL", good=collapsed == 0),
        judged(
            "mesh-volume",
            where,
            relative,
            limit,
            "relative",
            "mesh volume against the integral",
            good=relative <= limit,
        ),
        judged("mesh-inscribed", where, short, beyond, "mm3", "the body less its mesh", good=short > beyond),
        judged(
            "mesh-order",
            where,
            order,
            MESH_ORDER[0 if order < 2.0 else 1],
            "",
            "order at which the volume error falls",
            good=MESH_ORDER[0] <= order <= MESH_ORDER[1] or relative <= NO_ORDER_SHARE * limit,
        ),
        judged(
            "mesh-extrapolated",
            where,
            residual,
            residual_limit,
            "relative",
            "volume extrapolated from mesh and halving against the integral",
            good=residual <= residual_limit,
        ),
        judged(
            "chord-deviation",
            where,
            deviation,
            tolerance_mm,
            "mm",
            "greatest sampled distance of mesh and surface",
            good=deviation <= tolerance_mm,
        ),
    )
    return CheckedMesh(
        mesh=mesh,
        solid=solid,
        tolerance_mm=tolerance_mm,
        deviation_mm=deviation,
        volume_mm3=volume,
        halved_volume_mm3=halved,
        extrapolated_volume_mm3=extrapolated,
        order=order,
        findings=findings,
    )


def checked_assembly(assembly: Assembly, board_mm3: float, where: str) -> tuple[Finding, ...]:
    """Return the checks of a board with its fins: closed solids, as an STL holds them, of the whole and of every cut
    fin; the whole with the volume of its parts less overlaps; no fin that comes out of the deck or is parted by the
    bottom, none that meets another. Where fin and board cut one another there are facets like needles, which are no
    fault.
    """
    whole = assembly.whole
    unpaired = sum(mesh.unpaired_edges() for mesh in (whole, *(mesh for _, mesh in assembly.cut_fins)))
    parts = board_mm3 + sum(assembly.fins_mm3) - assembly.overlap_mm3
    short = abs(whole.volume_mm3 / parts - 1.0)
    name = f"{where} with fins"
    bodies = max(join.bodies for join in assembly.joins)
    meeting = sum(shared for _, _, shared in assembly.meeting)
    pairs = sorted({f"{one.n} and {other.n}" for one, other, _ in assembly.meeting})
    apart = f"volume in which fins meet: entries {', '.join(pairs)}" if pairs else "volume in which fins meet"
    return (
        judged("mesh-closed", name, unpaired, 0, "edges", "edges without exactly one opposite", good=unpaired == 0),
        judged(
            "assembly-volume",
            name,
            short,
            ASSEMBLY_VOLUME_RELATIVE,
            "relative",
            "board and fins less overlaps against the volume of the whole",
            good=short <= ASSEMBLY_VOLUME_RELATIVE,
        ),
        judged("fins-whole", name, bodies, 1, "pieces", "pieces of a fin outside the board", good=bodies == 1),
        judged("fins-apart", name, meeting, 0.0, "mm3", apart, good=not pairs),
    )
