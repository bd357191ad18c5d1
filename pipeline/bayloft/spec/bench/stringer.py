"""A new stringer, as trusted values: its wood, its thickness, how it is cut, ripped for and glued."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Stringer:
    """A new stringer; lengths in mm.

    thickness_mm: finished, of `strips` laminae side by side with a glue line between two. through: the block is ripped
    once, through the old stringer, and not twice, beside it. allowance_mm: left on deck and bottom edge, planed off
    with the foam. spread_g_m2: glue on a joint, None: not given; pigment_share: of the glue's mass. scarf: length of a
    scarf over the thickness it is cut through. density_kg_m3, density_source, stiffness_mpa (the wood's modulus of
    elasticity along the grain): None: not given. plank: the file of the plank that it is cut from.
    """

    wood: str
    density_kg_m3: float | None
    density_source: str | None
    thickness_mm: float
    strips: int
    glue_line_mm: float
    kerf_mm: float
    through: bool
    allowance_mm: float
    spread_g_m2: float | None
    pigment_share: float | None
    clamps_every_mm: float
    scarf: float
    plank: Path | None
    stiffness_mpa: float | None = None

    @property
    def strip_mm(self) -> float:
        """Thickness of one of its strips."""
        return (self.thickness_mm - (self.strips - 1) * self.glue_line_mm) / self.strips

    @property
    def bevel_mm(self) -> float:
        """Length of the scarf of a strip, along the grain."""
        return self.scarf * self.strip_mm
