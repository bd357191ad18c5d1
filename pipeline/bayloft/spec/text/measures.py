"""Kinds of numbers a key can take: how each is read from what was typed, and between which hard bounds.

The bounds catch slips (a wrong unit, a lost decimal point). They are far outside common practice and no advice.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from bayloft.units import angle_deg, both, length_mm, share


class Refused(ValueError):  # noqa: N818 - it never leaves the spec border as an error: it becomes a Fault
    """A value that a key cannot take: the problem, what is allowed, what to try, and the mm if it was a length."""

    def __init__(self, problem: str, *, allowed: str = "", hint: str = "", mm: float | None = None) -> None:
        super().__init__(problem)
        self.problem, self.allowed, self.hint, self.mm = problem, allowed, hint, mm


class NoUnit(Refused):
    """A bare length in a file that names no unit."""


class Measure(Protocol):
    """A kind of number: read from what was typed, described to an editor."""

    def read(self, typed: object, unit: str | None) -> object:
        """Return the trusted value of `typed`; a bare length is in `unit`. Raises Refused."""

    def json_schema(self) -> dict[str, Any]:
        """Return what an editor may know of it, as JSON Schema."""


def plain(number: float, decimals: int = 3) -> str:
    """Return a number in as few decimals as say it: ``0.4``, ``12``, never ``-0``."""
    return f"{round(number, decimals) + 0.0:.10g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A length in mm from `low_mm` to `high_mm`."""

    low_mm: float
    high_mm: float

    def read(self, typed: object, unit: str | None) -> float:
        """Return the length in mm. Raises Refused, NoUnit."""
        # Below a millimetre the tape's nearest sixteenth would read 0.
        low = both(self.low_mm) if abs(self.low_mm) >= 1 else f"{plain(self.low_mm)} mm" if self.low_mm else "0"
        allowed = f"{low} to {both(self.high_mm)}"
        mm = _number(typed, lambda text: length_mm(text, unit or "mm"), allowed)
        if unit is None:
            try:
                _number(typed, lambda text: length_mm(text, None), allowed)
            except Refused as refused:
                raise NoUnit("a length without a unit", hint=refused.hint) from None
        if mm < self.low_mm:
            problem = "negative" if mm < 0 else "zero" if mm == 0 else "too small"
            raise Refused(problem, allowed=allowed, mm=mm)
        if mm > self.high_mm:
            raise Refused("too large", allowed=allowed, mm=mm)
        return mm

    def json_schema(self) -> dict[str, Any]:
        """Return a number or a text: an editor cannot know the file's unit, so the bounds are left to bayloft."""
        return {"type": ["number", "string"]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Advance:
    """How far a cutter goes per `per`, a minute or a flute, from `low_mm` to `high_mm`: a length, with or without
    ``/min`` or ``/flute`` behind it.
    """

    low_mm: float
    high_mm: float
    per: str

    def length(self, typed: Any) -> Any:
        """Return what was typed without the ``/min`` or ``/flute`` behind it."""
        return re.sub(rf"\s*/\s*{self.per}\s*$", "", typed) if isinstance(typed, str) else typed

    def read(self, typed: object, unit: str | None) -> float:
        """Return the advance in mm. Raises Refused, NoUnit."""
        allowed = f"{plain(self.low_mm)} to {plain(self.high_mm)} mm/{self.per}"
        try:
            return Length(low_mm=self.low_mm, high_mm=self.high_mm).read(self.length(typed), unit)
        except NoUnit:
            raise
        except Refused as refused:
            hint = "a cutter that turns and does not go forward rubs and burns" if refused.problem == "zero" else ""
            problem = "a feed of zero" if refused.problem == "zero" else refused.problem
            raise Refused(problem, allowed=allowed, hint=hint or refused.hint) from None

    def json_schema(self) -> dict[str, Any]:
        """Return a number or a text, as for a length."""
        return {"type": ["number", "string"]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Angle:
    """An angle in degrees from `low_deg` to `high_deg`."""

    low_deg: float
    high_deg: float

    def read(self, typed: object, _unit: str | None) -> float:
        """Return the angle in degrees. Raises Refused."""
        allowed = f"{plain(self.low_deg)} to {plain(self.high_deg)} degrees"
        degrees = _number(typed, angle_deg, allowed)
        return _within(degrees, self.low_deg, self.high_deg, allowed)

    def json_schema(self) -> dict[str, Any]:
        """Return a number in bounds, or a text."""
        return {"anyOf": [{"type": "number", "minimum": self.low_deg, "maximum": self.high_deg}, {"type": "string"}]}


@dataclass(frozen=True, slots=True, kw_only=True)
class AnglesOrCount:
    """A list of one to `most` angles, or how many there are to be, 0 to `most`."""

    angle: Angle
    most: int

    def read(self, typed: object, unit: str | None) -> tuple[float, ...] | int:
        """Return the angles in degrees, or their number. Raises Refused."""
        allowed = f"0 to {self.most}, or a list of as many angles"
        if isinstance(typed, int) and not isinstance(typed, bool):
            return int(_within(typed, 0, self.most, allowed))
        hint = f'["{plain(self.angle.low_deg * 4)} deg"]'
        if not isinstance(typed, list):
            raise Refused("neither a whole number nor a list", allowed=allowed, hint=hint)
        if not 1 <= len(typed) <= self.most:
            raise Refused(f"{len(typed)} angles", allowed=allowed, hint=hint)
        return tuple(self.angle.read(each, unit) for each in typed)

    def json_schema(self) -> dict[str, Any]:
        """Return a whole number, or a list of numbers in bounds or texts."""
        listed = {"type": "array", "items": self.angle.json_schema(), "minItems": 1, "maxItems": self.most}
        return {"anyOf": [{"type": "integer", "minimum": 0, "maximum": self.most}, listed]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A share from `low` to `high`."""

    low: float
    high: float

    def read(self, typed: object, _unit: str | None) -> float:
        """Return the share as a number. Raises Refused."""
        allowed = f"{self.low:g} to {self.high:g}, {plain(100 * self.low)} % to {plain(100 * self.high)} %"
        return _within(_number(typed, share, allowed), self.low, self.high, allowed)

    def json_schema(self) -> dict[str, Any]:
        """Return a number in bounds, or a text in percent."""
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [number, {"type": "string", "pattern": "^-?[0-9./ ]+%?$"}]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """How much further along than through a slope goes, ``1:12`` or ``12``, from `low` to `high`."""

    low: float
    high: float

    def read(self, typed: object, _unit: str | None) -> float:
        """Return the length along for 1 through. Raises Refused."""
        allowed = f"1:{plain(self.low)} to 1:{plain(self.high)}"
        body = re.sub(r"^\s*1\s*:\s*", "", typed) if isinstance(typed, str) else typed
        return _within(_number(body, share, allowed), self.low, self.high, allowed)

    def json_schema(self) -> dict[str, Any]:
        """Return a number in bounds, or a text such as 1:12."""
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [number, {"type": "string", "pattern": "^ *(1 *: *)?[0-9./ ]+$"}]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """A mass, cloth weight, density or volume with its unit, read by `reader`, from `low` to `high` in `unit`."""

    reader: Callable[[str | int | float], float]
    low: float
    high: float
    unit: str

    def read(self, typed: object, _unit: str | None) -> float:
        """Return the quantity in `unit`. Raises Refused."""
        allowed = f"{plain(self.low)} to {plain(self.high)} {self.unit}"
        return _within(_number(typed, self.reader, allowed), self.low, self.high, allowed)

    def json_schema(self) -> dict[str, Any]:
        """Return a text: a number alone has no unit."""
        return {"type": "string"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Several:
    """Quantities of one kind with a + between them, at most `most`."""

    each: Weighed
    most: int

    def read(self, typed: object, unit: str | None) -> tuple[float, ...]:
        """Return the quantities. Raises Refused."""
        parts = typed.split("+") if isinstance(typed, str) else [typed]
        if len(parts) > self.most:
            raise Refused(f"{len(parts)} of them", allowed=f"at most {self.most}, with a + between them")
        return tuple(self.each.read(part.strip() if isinstance(part, str) else part, unit) for part in parts)

    def json_schema(self) -> dict[str, Any]:
        """Return a text."""
        return {"type": "string"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """A whole number from `low` to `high`."""

    low: int
    high: int

    def read(self, typed: object, _unit: str | None) -> int:
        """Return the number. Raises Refused."""
        allowed = f"a whole number, {self.low} to {self.high}"
        if isinstance(typed, bool) or not isinstance(typed, int):
            raise Refused("not a whole number", allowed=allowed)
        return int(_within(typed, self.low, self.high, allowed))

    def json_schema(self) -> dict[str, Any]:
        """Return a whole number in bounds."""
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


EDITION = 2
"""The edition of the format of boards and rails that this version reads: the meaning of their keys."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """The edition of the format that a file is written in: `EDITION`."""

    def read(self, typed: object, _unit: str | None) -> int:
        """Return the edition. Raises Refused."""
        if isinstance(typed, bool) or not isinstance(typed, int):
            raise Refused("not a whole number", allowed=str(EDITION), hint=f"edition = {EDITION}")
        if typed != EDITION:
            hint = f"edition = {EDITION}, once the keys say what they mean in it"
            raise Refused("an edition that this version of bayloft does not read", allowed=str(EDITION), hint=hint)
        return typed

    def json_schema(self) -> dict[str, Any]:
        """Return the one number."""
        return {"const": EDITION}


@dataclass(frozen=True, slots=True, kw_only=True)
class RakeGiven:
    """A fin's rake as it was typed: a length in mm, or an angle in degrees from the square to the base."""

    length_mm: float = 0.0
    angle_deg: float | None = None

    def at_mm(self, depth_mm: float) -> float:
        """Return how far the tip of a fin of this depth lies aft of the middle of its base, in mm."""
        return self.length_mm if self.angle_deg is None else depth_mm * math.tan(math.radians(self.angle_deg))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rake:
    """A rake: a length, or an angle where the text ends in deg or °."""

    length: Length
    angle: Angle

    def read(self, typed: object, unit: str | None) -> RakeGiven:
        """Return the rake as typed. Raises Refused."""
        if isinstance(typed, str) and typed.rstrip().lower().endswith(("deg", "°")):
            return RakeGiven(angle_deg=self.angle.read(typed, unit))
        return RakeGiven(length_mm=self.length.read(typed, unit))

    def json_schema(self) -> dict[str, Any]:
        """Return a number or a text."""
        return self.length.json_schema()


@dataclass(frozen=True, slots=True, kw_only=True)
class ToeGiven:
    """A fin's toe as it was typed: an angle in degrees, or in mm by how much the front end of the base stands nearer to
    the stringer than its rear end.
    """

    angle_deg: float = 0.0
    length_mm: float | None = None

    def at_deg(self, base_mm: float) -> float:
        """Return the toe in degrees of a base of this length, more than 90 where the length is longer than the base."""
        if self.length_mm is None:
            return self.angle_deg
        sine = self.length_mm / base_mm
        return math.degrees(math.asin(sine)) if abs(sine) <= 1.0 else math.copysign(180.0, sine)


@dataclass(frozen=True, slots=True, kw_only=True)
class Toe:
    """A toe: an angle, or a length where the text carries a unit of length."""

    angle: Angle

    def read(self, typed: object, unit: str | None) -> ToeGiven:
        """Return the toe as typed: a bare number is degrees in every file. Raises Refused."""
        if isinstance(typed, str):
            try:
                return ToeGiven(length_mm=length_mm(typed, None))
            except ValueError:
                pass
        try:
            return ToeGiven(angle_deg=self.angle.read(typed, unit))
        except Refused as refused:
            allowed = f"{refused.allowed}, or the length by which the front is nearer to the stringer"
            hint = '"3 deg", or "1/8 in"' if refused.hint else ""
            raise Refused(refused.problem, allowed=allowed, hint=hint) from None

    def json_schema(self) -> dict[str, Any]:
        """Return a number of degrees in bounds, or a text."""
        return self.angle.json_schema()


def _number(typed: object, read: Callable[[str | int | float], float], allowed: str) -> float:
    """Return what `read` makes of a number or a text; what it says of anything else becomes Refused."""
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        raise Refused("neither a number nor a text", allowed=allowed)
    try:
        return read(typed)
    except ValueError as error:
        problem, _, forms = str(error).partition("; ")
        raise Refused(problem, allowed=allowed, hint=forms.removeprefix("or ")) from None


def _within(value: float, low: float, high: float, allowed: str) -> float:
    if not low <= value <= high:
        raise Refused("too small" if value < low else "too large", allowed=allowed)
    return value
