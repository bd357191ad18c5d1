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
    """Return the laminate of a layup.

    Thickness of a ply t = w / rho_f + w (1 - m) / (m rho_r): the glass and the resin that goes with it, by volume; w
    the cloth's areal weight, m the share of glass by mass. The same as w / (rho_f V_f), and with densities of 2.56 and
    1.2 the w / 3072 (2.56 / m - 1.36) of ISO 12215-5, annex C (both from memory, unverified). Density: w / m over t.
    """
    glass = layup.cloth_g_m2
    resin = glass * (1.0 - layup.fibre_share) / layup.fibre_share
    # g/m2 over kg/m3 is a thousandth of a metre.
    ply_mm = glass / layup.glass_density_kg_m3 + resin / layup.resin_density_kg_m3
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
