"""The density of fresh and of sea water at the surface.

One over the derivative by pressure, at the pressure of the atmosphere, of the Gibbs functions of the international
standard of 2010 (TEOS-10): of water, IAPWS SR7-09, and of what salt adds, IAPWS R13-08. At the surface 22 of their
terms are left, so no package is needed, and no table has to be read between its lines.
"""

from __future__ import annotations

STANDARD_G_KG = 35.16504
"""Absolute salinity in g/kg of standard sea water."""

FULL_G_KG, FULL_C = 40.0 * STANDARD_G_KG / 35.0, 40.0
"""What salinity and temperature are a share of."""

WATER = (
    100015.695367145,
    -270.983805184062,
    1455.0364540468,
    -672.50778314507,
    397.968445406972,
    -194.618310617595,
    63.5113936641785,
    -9.63108119393062,
)
"""By powers of the temperature's share."""

SALT = (
    (-3310.49154044839, 729.116529735046, -860.764303783977, 694.244814133268, -297.728741987187),
    (199.459603073901, -175.292041186547, 383.058066002476, -460.319931801257, 234.565187611355),
    (-54.7919133532887, -22.6683558512829),
    (36.0284195611086,),
)
"""By powers of the root of the salinity's share, from the second on, and in each by powers of the temperature's."""


def density_kg_m3(salinity_g_kg: float, temperature_c: float) -> float:
    """Return the density in kg/m3 of water at the surface: absolute salinity 0 to 42 g/kg, -2 to 40 degrees C."""
    warm, salt = temperature_c / FULL_C, salinity_g_kg / FULL_G_KG
    total = _polynomial(WATER, warm)
    for power, row in enumerate(SALT):
        total += salt * salt ** (power / 2.0) * _polynomial(row, warm)
    return 1e8 / total


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
