"""A blank as trusted values: its shape as a board's, in millimetres, its foam, and what is in it."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.spec.boards.board import Board

USUAL_ERROR_MM = 0.8
"""mm, half a sixteenth of an inch: what a block may be less than measured, where neither it nor the tape is told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Foam:
    """The foam: its kind, its density in kg/m3 and where that is from; its modulus of elasticity in MPa, and the share
    by which a face may be strained. None: not given.
    """

    kind: str
    density_kg_m3: float | None
    source: str | None
    stiffness_mpa: float | None = None
    most_strain: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OldStringer:
    """The stringer in a block: its thickness in mm, its wood, or None."""

    thickness_mm: float
    wood: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A block of foam. shape: a board of its outline, rocker, foil and sections, without fins. error_mm: what it may be
    less than measured, square to any face.
    """

    shape: Board
    foam: Foam
    stringer: OldStringer | None
    error_mm: float
    price: str | None
    note: str | None

    @property
    def name(self) -> str:
        """Its name."""
        return self.shape.name
