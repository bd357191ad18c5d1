"""A laminate of cloth and resin: how thick a ply cures, what it weighs, how its plies are shared out among sessions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.spec.fins.layup import Layup

Face = Literal["panel", "outer face", "inside face"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Laminate:
    """A cured laminate without voids: the thickness of a ply, the density, and each ply's glass and resin."""

    ply_mm: float
    density_kg_m3: float
    glass_g_m2: float
    resin_g_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What is laid at once: where, how many plies, their cloth and resin, and how thick the laminate there is then."""

    face: Face
    plies: int
    cloth_g: float
    resin_g: float
    laid_mm: float


def laminate(layup: Layup) -> Laminate:
    """Return the laminate of a layup. Density: cloth over its share by mass, over the thickness of a ply."""
    glass, resin, ply_mm = layup.cloth_g_m2, layup.resin_g_m2, layup.ply_mm
    return Laminate(ply_mm=ply_mm, density_kg_m3=(glass + resin) / ply_mm, glass_g_m2=glass, resin_g_m2=resin)


def batches(plies: int, most: int) -> tuple[int, ...]:
    """Return plies shared out among as few batches of at most `most` as there can be, alike within one, larger first.

    Raises ValueError unless both are at least 1.
    """
    if plies < 1 or most < 1:
        raise ValueError(f"{plies} plies cannot be shared out among batches of at most {most}")
    count = -(-plies // most)
    even, larger = divmod(plies, count)
    return (even + 1,) * larger + (even,) * (count - larger)


def sessions(of: Laminate, plies: int, most: int, area_m2: float, face: Face) -> tuple[Session, ...]:
    """Return the sessions in which so many plies of an area are laid, at most `most` at once."""
    done, found = 0, []
    for batch in batches(plies, most):
        done += batch
        found.append(
            Session(
                face=face,
                plies=batch,
                cloth_g=batch * of.glass_g_m2 * area_m2,
                resin_g=batch * of.resin_g_m2 * area_m2,
                laid_mm=done * of.ply_mm,
            )
        )
    return tuple(found)
