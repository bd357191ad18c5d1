"""Lengths typed for a command, not in a spec."""

from __future__ import annotations

from bayloft.errors import Fault, SpecError
from bayloft.units import both, length_mm


def typed_mm(option: str, typed: str, bounds_mm: tuple[float, float], otherwise: str) -> float:
    """Return a length typed for an option, in mm. Raises SpecError for what is none, and with `otherwise` for what is
    out of bounds.
    """
    low, high = bounds_mm
    try:
        mm = length_mm(typed, None)
        problem = "" if low <= mm <= high else otherwise
    except ValueError as error:
        mm, problem = 0.0, str(error)
    if problem:
        allowed = f"{f'{low:g} mm' if low else '0'} to {both(high)}"
        raise SpecError((Fault(file=option, line=None, path=(), value=typed, problem=problem, allowed=allowed),))
    return mm
