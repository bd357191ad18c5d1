"""Lengths, angles, shares and weights as a maker types them, and lengths as a tape reads them."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Mapping
from fractions import Fraction

MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
"""Exact millimetres in each unit that a length may carry (international inch, 25.4 mm since 1959: from memory)."""

METRIC_UNITS = frozenset({"mm", "cm", "m"})

LONGEST_MM = 100_000
"""No board, plank or roll of cloth is near 100 m long: more is a slip of the unit."""

LONGEST_TEXT = 40
"""Characters. Twice what the longest sensible length takes; it also bounds the digits of every number read."""

LARGEST_NUMBER = 10**12
"""A bare number beyond this is refused before it is turned into digits."""

FEET_FROM_IN = 36
"""Inches. Makers speak of widths in inches alone and of lengths in feet: feet are written from one yard up (common
practice, no source)."""

FINE_BELOW_MM = 12.7
"""mm below which a limit is read to 1/64 inch: a sixteenth would round too much of it away."""

HAIR = 1e-6
"""Share of a mark by which a length may miss it and be on it: rounding."""

_LENGTH_FORMS = """write a length such as 545 mm, 54.5 cm, 1.2 m, 21 1/2 in, 7 ft 4 in or 7'4"""
_PRIMES = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "−": "-", "⁄": "/"})
_POWERS = str.maketrans({"²": "2", "³": "3"})
_VULGAR_FRACTION = re.compile("[¼-¾⅐-⅞↉]")
_NUMBER = r"(?:[0-9]+[ -])?[0-9]+ ?/ ?[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_WORDS = {"inches": "in", "inch": "in", "feet": "ft", "foot": "ft"}
_WORD = re.compile(rf"(?<![a-z])(?:{'|'.join(_WORDS)})(?![a-z])")
_FEET_AND_INCHES = re.compile(rf"""(?P<feet>{_NUMBER}) ?(?:'|ft) ?(?P<inches>{_NUMBER}) ?(?:"|in)?""")
_ONE_UNIT = re.compile(rf"""(?P<number>{_NUMBER}) ?(?P<unit>mm|cm|m|in|"|ft|')?""")
_ANGLE = re.compile(rf"(?P<number>{_NUMBER}) ?(?:deg|°)?")
_SHARE = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<percent>%)?")
_WEIGHED = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>[a-z/]+[23]?)")

_TEMPERATURE = re.compile(rf"(?P<number>{_NUMBER}) ?(?:deg|°)? ?(?P<unit>[cf])")

_OUNCE_G, _POUND_G = Fraction("28.349523125"), Fraction("453.59237")
G_PER_MASS = {"g": Fraction(1), "kg": Fraction(1000), "oz": _OUNCE_G, "lb": _POUND_G}
G_M2_PER_CLOTH_WEIGHT = {
    "g/m2": Fraction(1),
    "gsm": Fraction(1),
    "g": Fraction(1),
    "oz/yd2": _OUNCE_G / Fraction("0.83612736"),
    "oz": _OUNCE_G / Fraction("0.83612736"),
}
G_M2_PER_SPREAD = {"g/m2": Fraction(1), "gsm": Fraction(1), "kg/m2": Fraction(1000)}
L_PER_VOLUME = {
    **dict.fromkeys(("L", "l", "litre", "litres", "liter", "liters"), Fraction(1)),
    "cm3": Fraction(1, 1000),
    "in3": Fraction("0.016387064"),
    "ft3": Fraction("28.316846592"),
}
PSU_G_KG = Fraction("35.16504") / 35
"""Absolute salinity in g/kg of sea water for each unit of practical salinity (TEOS-10, near the surface)."""
G_KG_PER_SALINITY = {"g/kg": Fraction(1), "ppt": Fraction(1), "psu": PSU_G_KG}
KG_M3_PER_DENSITY = {
    "kg/m3": Fraction(1),
    "g/cm3": Fraction(1000),
    "lb/ft3": _POUND_G / 1000 / Fraction("0.3048") ** 3,
}
MPA_PER_STIFFNESS = {
    "mpa": Fraction(1),
    "n/mm2": Fraction(1),
    "gpa": Fraction(1000),
    "psi": _POUND_G / 1000 * Fraction("9.80665") / Fraction("0.0254") ** 2 / 10**6,
}
"""Exact grams, grams per square metre, kilograms per cubic metre and megapascals in each unit (international pound and
yard, 1959; standard gravity, 9.80665 m/s2: from memory). Cloth is spoken of in ounces or grams alone: the square yard
or metre is understood."""


def length_mm(text: str | int | float, unit: str | None) -> float:
    """Return a typed length in mm: the float nearest to its exact rational value.

    Parameters
    ----------
    text : a number, or feet / inches / fractions (``7'4``, ``21 1/2"``, ``2 7/8 in``, ``2-7/8 inches``, ``21½``), or a
        number followed by mm, cm, m, in or ft; a leading minus sign makes it negative.
    unit : what a number without a unit is measured in: a key of `MM_PER_UNIT`, or None if nothing says so.

    Raises
    ------
    ValueError : the text is no length, carries no unit while `unit` is None (exactly 0 needs none), or is longer than
        `LONGEST_MM`; the message is one line and says what is allowed.
    """
    if unit is not None and unit not in MM_PER_UNIT:
        raise ValueError(f"a unit of length is one of {', '.join(MM_PER_UNIT)}")
    if isinstance(text, str):
        sign, body = _sign_and_body(text, _LENGTH_FORMS)
        amount, own_unit = _length(body)
    else:
        sign, amount, own_unit = 1, _exact(text, _LENGTH_FORMS), None
    if amount == 0:
        return 0.0
    unit = own_unit or unit
    if unit is None:
        raise ValueError(f"a length without a unit; {_LENGTH_FORMS}")
    exact_mm = sign * amount * MM_PER_UNIT[unit]
    if abs(exact_mm) > LONGEST_MM:
        raise ValueError(f"a length of more than {LONGEST_MM // 1000} m; check its unit")
    return float(exact_mm)


def carried_unit(text: str) -> str | None:
    """Return the unit that a typed length carries, a key of `MM_PER_UNIT`, or None where it carries none.

    Raises ValueError where the text is no length.
    """
    return _length(_sign_and_body(text, _LENGTH_FORMS)[1])[1]


def angle_deg(text: str | int | float) -> float:
    """Return an angle in degrees, typed as a number, ``12 deg`` or ``12°``. Raises ValueError for anything else."""
    forms = "write an angle in degrees, such as 12 or 12 deg"
    if not isinstance(text, str):
        return float(_exact(text, forms))
    sign, body = _sign_and_body(text, forms)
    match = _ANGLE.fullmatch(body)
    if match is None:
        raise ValueError(f"not an angle; {forms}")
    return float(sign * _number(match["number"]))


def share(text: str | int | float) -> float:
    """Return a share of the whole, typed as ``0.35`` or ``35 %``, as 0.35; its range is the caller's to judge.

    Raises ValueError for anything that is neither.
    """
    forms = "write a share such as 0.35 or 35 %"
    if not isinstance(text, str):
        return float(_exact(text, forms))
    sign, body = _sign_and_body(text, forms)
    match = _SHARE.fullmatch(body)
    if match is None:
        raise ValueError(f"not a share; {forms}")
    return float(sign * _number(match["number"]) / (100 if match["percent"] else 1))


def mass_g(text: str | int | float) -> float:
    """Return a typed mass in grams: ``300 g``, ``0.3 kg``, ``10 oz``, ``1/2 lb``; else ValueError."""
    return _weighed(text, G_PER_MASS, "write a mass such as 300 g, 0.3 kg or 10 oz")


def mass_kg(text: str | int | float) -> float:
    """Return a typed mass in kg: ``75 kg``, ``165 lb``; else ValueError."""
    return _weighed(text, {unit: g / 1000 for unit, g in G_PER_MASS.items()}, "write a mass such as 75 kg or 165 lb")


def salinity_g_kg(text: str | int | float) -> float:
    """Return a typed salinity in g/kg: ``35 g/kg``, ``35 ppt``, ``35 psu``; else ValueError."""
    return _weighed(text, G_KG_PER_SALINITY, "write a salinity such as 35 g/kg or 35 psu")


def temperature_c(text: str | int | float) -> float:
    """Return a typed temperature in degrees C: ``12 C``, ``12 °C``, ``54 F``; else ValueError."""
    forms = "write a temperature such as 12 C or 54 F"
    if not isinstance(text, str):
        raise ValueError(f"a number without a unit; {forms}")
    sign, body = _sign_and_body(text, forms)
    match = _TEMPERATURE.fullmatch(body)
    if match is None:
        raise ValueError(f"not a temperature; {forms}")
    degrees = sign * _number(match["number"])
    return float(degrees if match["unit"] == "c" else (degrees - 32) * 5 / 9)


def cloth_g_m2(text: str | int | float) -> float:
    """Return a typed cloth weight in g/m2: ``7.5 oz/yd2``, ``7.5 oz``, ``250 g/m2``, ``250 g``; else ValueError."""
    return _weighed(text, G_M2_PER_CLOTH_WEIGHT, "write a cloth weight such as 7.5 oz/yd2 or 250 g/m2")


def spread_g_m2(text: str | int | float) -> float:
    """Return a typed spread of glue in g/m2: ``300 g/m2``, ``0.3 kg/m2``; else ValueError."""
    return _weighed(text, G_M2_PER_SPREAD, "write a spread such as 300 g/m2")


def density_kg_m3(text: str | int | float) -> float:
    """Return a typed density in kg/m3: ``1.2 g/cm3``, ``1200 kg/m3``, ``20 lb/ft3``; else ValueError."""
    return _weighed(text, KG_M3_PER_DENSITY, "write a density such as 1.2 g/cm3, 1200 kg/m3 or 20 lb/ft3")


def stiffness_mpa(text: str | int | float) -> float:
    """Return a typed modulus of elasticity in MPa: ``8 MPa``, ``7.7 GPa``, ``1100 psi``; else ValueError."""
    return _weighed(text, MPA_PER_STIFFNESS, "write a stiffness such as 8 MPa, 7.7 GPa or 1100 psi")


def volume_l(text: str | int | float) -> float:
    """Return a typed volume in litres: ``32 L``, ``32 litres``, ``1.1 ft3``; else ValueError."""
    return _weighed(text, L_PER_VOLUME, "write a volume such as 32 L or 1.1 ft3")


def feet_inches(length_mm: float, denominator: int = 16, feet_from_in: int = FEET_FROM_IN) -> str:
    """Return a finite length as a tape reads it, to the nearest 1 / `denominator` inch, halves away from zero.

    Feet are written from `feet_from_in` up: ``7' 4"``, ``5' 8 3/16"``, but ``21 1/2"``. `length_mm` reads it back.
    """
    parts = _parts(length_mm, denominator)
    if parts < feet_from_in * denominator:
        return inches(length_mm, denominator)
    feet, rest = divmod(parts, 12 * denominator)
    return f"""{"-" if length_mm < 0 else ""}{feet}' {_mixed(Fraction(rest, denominator))}\""""


def inches(length_mm: float, denominator: int = 16) -> str:
    """Return a finite length in inches alone, to the nearest 1 / `denominator` inch: ``88"``, ``21 1/2"``."""
    parts = _parts(length_mm, denominator)
    return f"""{"-" if length_mm < 0 and parts else ""}{_mixed(Fraction(parts, denominator))}\""""


def both(length_mm: float, denominator: int = 16) -> str:
    """Return a length as messages and drawings show it, on the tape and in millimetres: ``21 1/2" (546.1 mm)``."""
    return f"{feet_inches(length_mm, denominator)} ({length_mm:.1f} mm)"


def at_most(length_mm: float) -> str:
    """Return an upper limit of 0 or more as `both` writes lengths, rounded down: either reading of it keeps to it."""
    return _rounded(length_mm, math.floor, HAIR)


def at_least(length_mm: float) -> str:
    """Return a lower limit of 0 or more as `both` writes lengths, rounded up: either reading of it keeps to it."""
    return _rounded(length_mm, math.ceil, -HAIR)


def litres(volume_mm3: float) -> float:
    """Return a volume in litres."""
    return volume_mm3 / 1e6


def _sign_and_body(text: str, forms: str) -> tuple[int, str]:
    """Return the sign (1 or -1) and the tidied rest of a typed text: plain marks and fractions, single spaces."""
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"longer than {LONGEST_TEXT} characters; {forms}")
    if "," in text:
        raise ValueError("a comma; write decimals with a point, such as 54.5, and thousands with nothing between")
    # The space keeps 21½ from becoming 211/2.
    spaced = _VULGAR_FRACTION.sub(lambda fraction: " " + unicodedata.normalize("NFKC", fraction[0]), text)
    body = " ".join(spaced.translate(_PRIMES).lower().replace("''", '"').split())
    if not body:
        raise ValueError(f"empty; {forms}")
    return (-1, body[1:].lstrip()) if body.startswith("-") else (1, body)


def _length(body: str) -> tuple[Fraction, str | None]:
    """Return the number in a length without sign, and the unit it carries."""
    body = _WORD.sub(lambda word: _WORDS[word[0]], body)
    if match := _FEET_AND_INCHES.fullmatch(body):
        feet, over = _number(match["feet"]), _number(match["inches"])
        if feet.denominator != 1:
            raise ValueError("feet followed by inches must be a whole number, such as 7'4 or 7' 4 1/2")
        if over >= 12:
            raise ValueError("after feet the inches must be less than 12, such as 7'4; or write it all in inches")
        return feet * 12 + over, "in"
    if match := _ONE_UNIT.fullmatch(body):
        unit = match["unit"]
        return _number(match["number"]), {"'": "ft", '"': "in"}.get(unit, unit)
    raise ValueError(f"not a length; {_LENGTH_FORMS}")


def _weighed(text: str | int | float, sizes: Mapping[str, Fraction], forms: str) -> float:
    """Return a typed quantity in the unit whose size is 1: the float nearest to its exact rational value."""
    if not isinstance(text, str):
        raise ValueError(f"a number without a unit; {forms}")
    sign, body = _sign_and_body(text.translate(_POWERS), forms)
    match = _WEIGHED.fullmatch(body)
    if match is None or match["unit"] not in sizes:
        raise ValueError(f"not understood; {forms}")
    return float(sign * _number(match["number"]) * sizes[match["unit"]])


def _number(typed: str) -> Fraction:
    """Return the exact value of ``21``, ``21.5``, ``1/2``, ``21 1/2`` or ``21-1/2``."""
    if "/" not in typed:
        return Fraction(typed)
    front, _, denominator = typed.partition("/")
    *whole, numerator = front.replace("-", " ").split()
    if int(denominator) == 0:
        raise ValueError("a fraction with the denominator 0; write one such as 1/2 or 3/16")
    part = Fraction(int(numerator), int(denominator))
    if whole and part >= 1:
        raise ValueError("a fraction after a whole number must be less than 1, such as 21 1/2")
    return part + sum(map(int, whole))


def _exact(number: object, forms: str) -> Fraction:
    """Return a number as its shortest decimals say it, so that 21.1 and the text 21.1 mean the same."""
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise ValueError(f"neither a number nor a text; {forms}")
    if not abs(number) <= LARGEST_NUMBER:
        raise ValueError(f"not finite, or beyond any use; {forms}")
    return Fraction(repr(float(number)))


def _parts(length_mm: float, denominator: int) -> int:
    """Return the size of a length, sign dropped, in whole parts of 1 / `denominator` inch."""
    return int(abs(Fraction(length_mm)) / MM_PER_UNIT["in"] * denominator + Fraction(1, 2))


def _rounded(length_mm: float, rounding: Callable[[float], int], hair: float) -> str:
    denominator = 16 if length_mm >= FINE_BELOW_MM else 64
    mark_mm = float(MM_PER_UNIT["in"]) / denominator
    tape_mm, tenths = rounding(length_mm / mark_mm + hair) * mark_mm, rounding(length_mm * 10 + hair)
    return f"{feet_inches(tape_mm, denominator)} ({tenths / 10:.1f} mm)"


def _mixed(value: Fraction) -> str:
    """Return ``21``, ``1/2`` or ``21 1/2``."""
    whole, rest = divmod(value, 1)
    return " ".join(str(part) for part in (whole, rest) if part) or "0"
