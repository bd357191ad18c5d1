"""How a board floats, in words."""

from __future__ import annotations

from bayloft.floating.floats import BoardFloats, FloatLie
from bayloft.tape import along, at_least, fine


def kilograms(mass_kg: float) -> str:
    """Return a mass to a tenth of a kg."""
    return f"{round(mass_kg, 1):g} kg"


def verdict(floats: BoardFloats, *, metric: bool) -> str:
    """Return in one sentence whether a board carries its load, and how it lies then."""
    own, asked = floats.own, floats.asked
    load = kilograms(asked.load_kg)
    if own.rest.fate == "sinks":
        return f"it sinks under {load}: the board carries at most {most(floats)}"
    if own.lie is None:
        end = "tail" if own.rest.fate == "tips tail down" else "nose"
        other = "nose" if end == "tail" else "tail"
        told = f"under {load} there it goes down by the {end} and stands on end"
        return f"{told}: put less on it, or nearer to the {other}"
    lie = own.lie
    draws = fine(lie.drafts_mm[1], metric=metric)
    return f"under {load} it draws {draws} at the centre, {trim(lie.trim_deg)}; {deck(lie, metric=metric)}"


def most(floats: BoardFloats) -> str:
    """Return the most that a board carries, rounded down."""
    return "no load at all" if floats.carries_kg <= 0.0 else f"{int(floats.carries_kg * 10.0) / 10.0:g} kg"


def trim(deg: float) -> str:
    """Return a trim in words."""
    if abs(deg) < 0.05:
        return "level"
    return f"nose {'up' if deg > 0.0 else 'down'} {abs(deg):.1f} degrees"


def deck(lie: FloatLie, *, metric: bool) -> str:
    """Return in words how far the deck at the stringer is clear of the water, or where it is under."""
    if not lie.stretches_mm:
        return f"the deck there is {at_least(lie.freeboards_mm[1], metric=metric)} clear of the water"
    told = ", ".join(f"{along(start, metric=metric)} to {along(end, metric=metric)}" for start, end in lie.stretches_mm)
    return f"water stands over the deck at the stringer, {told} from the tail"
