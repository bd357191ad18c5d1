"""Numbers of sections as a test writes them: what is told, and what is usual for the rest."""

from __future__ import annotations

from bayloft.spec.boards.quantities import QUANTITIES, Size, usual
from bayloft.spec.text.given import Form, Given


def line(name: str, *at: tuple[float, float], form: Form = "length", table: str = "rails") -> tuple[Given, ...]:
    """Return a quantity's numbers from pairs of station in mm and value, each from an entry of its own."""
    return tuple(Given(x_mm=x, value=value, path=(table, i, name), form=form) for i, (x, value) in enumerate(at))


def made_sections(length_mm: float, **told: tuple[Given, ...]) -> dict[str, tuple[Given, ...]]:
    """Return the numbers of every quantity: those told, and the usual ones of a board of this length."""
    unknown = set(told) - set(QUANTITIES)
    assert not unknown, unknown
    return {
        name: told.get(name)
        or tuple(
            Given(x_mm=x, value=share, path=("rails", 0, name), assumed=True, form="share")
            for x, share in usual(name, Size(length_mm=length_mm, width_mm=None, thickness_mm=None))
        )
        for name in QUANTITIES
    }
