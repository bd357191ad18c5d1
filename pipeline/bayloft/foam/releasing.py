"""What comes back of a bend when the clamps come off, and saw cuts that let a half bend that would not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bayloft.foam.fitting import Fit
from bayloft.foam.regluing import BeamSection, Regluing
from bayloft.solid.measure import stringer_from_mm, thickness
from bayloft.spec.bench.stringer import Stringer


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
    marks = bent.everywhere
    x = np.array([mark.x_mm for mark in marks])
    back = np.interp(x, [each.x_mm for each in resisting], shares) * np.array([mark.change_1_mm for mark in marks])
    low = int(np.argmin([mark.becomes_mm for mark in marks]))

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


def wedge_cuts(bent: Regluing, most_strain: float, kerf_mm: float) -> WedgeCuts | None:
    """Return the cuts that take the bend where a face would be strained by more than its maker allows; None where it
    nowhere is. Closed, each turns the half by its kerf over its depth.
    """
    marks = bent.everywhere
    over = [i for i, mark in enumerate(marks) if mark.most_strain > most_strain]
    if not over:
        return None
    part = marks[over[0] : over[-1] + 1]
    x = [mark.x_mm for mark in part]
    deep = float(bent.lines.foil.at(x).min())
    turn = float(np.trapezoid([mark.change_1_mm for mark in part], x))
    return WedgeCuts(
        from_mm=x[0],
        to_mm=x[-1],
        count=int(np.ceil(abs(turn) * deep / kerf_mm)),
        deep_mm=deep,
        face="bottom" if turn < 0.0 else "deck",
    )


def released(fit: Fit, stringer: Stringer) -> SpringBack | None:
    """Return what comes back of a re-glued block's bend; None where the stiffness of foam or wood is not given.

    The stringer is as high as the board and what is left on at both edges, where the board comes to lie.
    """
    bent, foam = fit.block.regluing, fit.blank.foam
    if bent is None or foam.stiffness_mpa is None or stringer.stiffness_mpa is None:
        return None
    first, last = stringer_from_mm(fit.body), fit.board.length_mm
    resisting = tuple(each for each in fit.block.resisting if first < each.x_mm - fit.tail_gap_mm < last)
    if not resisting:
        return None
    own = thickness(fit.body, [each.x_mm - fit.tail_gap_mm for each in resisting])
    return spring_back(
        bent,
        resisting,
        tuple((own + 2.0 * stringer.allowance_mm).tolist()),
        foam_mpa=foam.stiffness_mpa,
        wood_mpa=stringer.stiffness_mpa,
        thickness_mm=stringer.thickness_mm,
    )
