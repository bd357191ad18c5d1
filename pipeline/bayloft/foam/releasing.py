"""What comes back of a bend when the clamps come off, and saw cuts that let a half bend that would not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bayloft.foam.regluing import BeamSection, Regluing


@dataclass(frozen=True, slots=True, kw_only=True)
class SpringBack:
    """How much of the change of bend comes back, as a share of it, least and most along the block, and by how much the
    nose and the tail then lie nearer to where they were, in mm.
    """

    least: float
    most: float
    nose_mm: float
    tail_mm: float


def spring_back(
    bent: Regluing,
    resisting: tuple[BeamSection, ...],
    depths_mm: tuple[float, ...],
    *,
    foam_mpa: float,
    wood_mpa: float,
    thickness_mm: float,
) -> SpringBack:
    """Return what comes back where two halves that were bent are glued to a stringer that was straight to its own
    shape: of a change of curvature the share E_f I_f / (E_f I_f + E_w I_w), the stiffnesses of foam and stringer side
    by side (composite beam; S. Timoshenko, "Strength of Materials", part I, from memory). Foam that creeps gives less.

    depths_mm: of the stringer at the sections that resist.
    """
    foam = foam_mpa * np.array([each.moment_mm4 for each in resisting])
    wood = wood_mpa * thickness_mm * np.array(depths_mm) ** 3 / 12.0
    shares = foam / (foam + wood)
    x = np.array([mark.x_mm for mark in bent.marks])
    back = np.interp(x, [each.x_mm for each in resisting], shares) * np.array([mark.change_1_mm for mark in bent.marks])
    low = int(np.argmin([mark.becomes_mm for mark in bent.marks]))

    def rises(part: slice) -> float:
        arm = np.abs(x[part] - x[part][-1] if part.start is not None else x[part] - x[part][0])
        return abs(float(np.trapezoid(back[part] * arm, x[part])))

    return SpringBack(
        least=float(shares.min()),
        most=float(shares.max()),
        nose_mm=rises(slice(low, None)),
        tail_mm=rises(slice(None, low + 1)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WedgeCuts:
    """Saw cuts across a half that close when it bends: so many between two stations in mm, from the face that is
    squeezed; how far each goes in, mm, down to a hinge at the other face.
    """

    from_mm: float
    to_mm: float
    count: int
    deep_mm: float
    face: str


def wedge_cuts(bent: Regluing, depths_mm: tuple[float, ...], most_strain: float, kerf_mm: float) -> WedgeCuts | None:
    """Return the cuts that take the bend where a face would be strained by more than its maker allows; None where it
    nowhere is. Closed, each turns the half by its kerf over its depth.

    depths_mm: of the block at the marks.
    """
    strains = np.array([max(abs(mark.bottom_strain), abs(mark.deck_strain)) for mark in bent.marks])
    over = np.flatnonzero(strains > most_strain)
    if not len(over):
        return None
    part = slice(max(int(over[0]) - 1, 0), min(int(over[-1]) + 2, len(strains)))
    x = np.array([mark.x_mm for mark in bent.marks])[part]
    change = np.array([mark.change_1_mm for mark in bent.marks])[part]
    deep = float(np.array(depths_mm)[part].min())
    turn = float(np.trapezoid(change, x))
    return WedgeCuts(
        from_mm=float(x[0]),
        to_mm=float(x[-1]),
        count=int(np.ceil(abs(turn) * deep / kerf_mm)),
        deep_mm=deep,
        face="bottom" if turn < 0.0 else "deck",
    )
