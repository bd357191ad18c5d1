"""What comes back of a bend when the clamps come off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.foam.fitting import Fit
from bayloft.foam.regluing import BeamSection, Regluing
from bayloft.solid.measure import stringer_from_mm, thickness
from bayloft.spec.bench.stringer import Stringer

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpringBack:
    """How much of the change of bend comes back, as a share of it, least and most along the block, and by how much the
    nose and the tail then lie nearer to where they were, in mm; bent_mm: by how much nose and tail were bent, measured
    alike, from the lowest place of the bottom.
    """

    least: float
    most: float
    nose_mm: float
    tail_mm: float
    bent_mm: tuple[float, float]


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
    change = np.array([mark.change_1_mm for mark in marks])
    back = np.interp(x, [each.x_mm for each in resisting], shares) * change
    low = int(np.argmin([mark.becomes_mm for mark in marks]))

    def rises(bend: Array, part: slice) -> float:
        arm = np.abs(x[part] - x[part][-1] if part.start is not None else x[part] - x[part][0])
        return abs(float(np.trapezoid(bend[part] * arm, x[part])))

    ahead, aft = slice(low, None), slice(None, low + 1)

    return SpringBack(
        least=float(shares.min()),
        most=float(shares.max()),
        nose_mm=rises(back, ahead),
        tail_mm=rises(back, aft),
        bent_mm=(rises(change, ahead), rises(change, aft)),
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
