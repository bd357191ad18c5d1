"""A board's spec as text, from the readings taken off one that exists."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bayloft.errors import KeyPath
from bayloft.spec.readings.taken import SheetReadings
from bayloft.spec.readings.texts import length_text, remark
from bayloft.spec.text.given import Given
from bayloft.spec.text.measures import EDITION, plain
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM, nearer_end
from bayloft.spec.text.vocabulary import toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number that the spec has beside the readings: its value in mm, its station, and why it is there."""

    x_mm: float
    value_mm: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecParts:
    """What the text is made of besides the readings themselves: widest and thickest place, rocker at both ends (tail,
    nose), heights on the datum, the station where the bottom is level, thickness a foot from tail and nose; apexes:
    station of each reading of the rail's widest point, and its height as a share of the thickness.
    """

    wide: Figure
    thick: Figure
    ends: tuple[Figure, Figure]
    heights: tuple[Given, ...]
    level: Figure
    feet: tuple[Figure, Figure]
    apexes: tuple[tuple[float, float], ...]


class _Text:
    """Lines of a spec, and where in the readings each number of them came from."""

    def __init__(self, taken: SheetReadings, drawn: Mapping[KeyPath, float]) -> None:
        self.taken, self.drawn = taken, drawn
        self.lines: list[str] = []
        self.came_from: dict[KeyPath, KeyPath] = {}

    def number(self, mm: float) -> str:
        """Return a length as a bare number in the file's unit, to a hundredth of a millimetre."""
        return length_text(mm, metric=self.taken.metric)

    def station(self, x_mm: float) -> str:
        """Return a station's key and value, from the nearer end."""
        end, mm = nearer_end(x_mm, self.taken.length_mm)
        return f"from_{end} = {self.number(mm)}"

    def remark(self, path: KeyPath, value_mm: float) -> str:
        """Return what is said of a reading behind it: what is drawn, and by how much it is off."""
        if path not in self.drawn:
            return ""
        off = self.drawn[path] - value_mm
        return f"  # drawn {self.number(self.drawn[path])}, {off:+.2f} mm"

    def entries(self, table: str, key: str, value_key: str, given: Iterable[Given]) -> None:
        """Add a list of readings."""
        self.lines.append(f"{key} = [")
        for place, number in enumerate(given):
            self.came_from[table, key, place, value_key] = number.path
            entry = f"{{ {self.station(number.x_mm)}, {value_key} = {self.number(number.value)} }},"
            self.lines.append(f"  {entry}{self.remark(number.path, number.value)}")
        self.lines.append("]")


def spec_text(
    taken: SheetReadings, parts: SpecParts, drawn: Mapping[KeyPath, float]
) -> tuple[str, dict[KeyPath, KeyPath]]:
    """Return the text, and for the path of each reading in it the path that it had in the sheet; `drawn`: what the
    lines have at readings, mm, by the latter.
    """
    text = _Text(taken, drawn)
    mark, glass = 2 * taken.play_mm, taken.glass
    text.lines += [
        "#:schema ./board.schema.json",
        f"# Lifted from {remark(taken.source.file)}: {sum(map(len, taken.of.values()))} readings, each good to "
        f"{plain(taken.play_mm)} mm to either side.",
        "# Behind each reading: what the board is drawn with, and by how much that is off.",
        f"# Foam: {plain(glass.deck_mm, 2)} mm of laminate is taken off the deck, {plain(glass.bottom_mm, 2)} mm off "
        f"the bottom, {plain(glass.rail_mm, 2)} mm off either rail."
        if glass.rail_mm
        else "# Foam, as it was measured: nothing was taken off for a laminate.",
        "",
        f"edition = {EDITION}",
        f"name = {toml(taken.name)}",
        f"unit = {toml('mm' if taken.metric else 'in')}",
        f"length = {text.number(taken.length_mm)}",
        f'read_to = "{plain(mark, 4)} mm"  # twice what a reading may be off: the lines pass within half of it',
        "",
        "[outline]",
        f"wide_point = {{ width = {text.number(parts.wide.value_mm)}, {text.station(parts.wide.x_mm)} }}"
        f"  # {parts.wide.why}",
    ]
    first = taken.ends["tail"].get("block", 0.0)
    widths = [number for number in taken.of["width"] if first / 4 < number.x_mm < taken.length_mm - 1.0]
    apart = [number for number in widths if abs(number.x_mm - parts.wide.x_mm) > 1.0]
    text.entries("outline", "widths", "width", apart)
    for end in ("nose", "tail"):
        text.lines += ["", f"[{end}]", f"kind = {toml(taken.ends[end]['kind'])}"]
        sizes = {key: value for key, value in taken.ends[end].items() if key != "kind"}
        text.lines += [f"{key} = {plain(v) if key == 'straightness' else text.number(v)}" for key, v in sizes.items()]
    tail, nose = parts.ends
    inner = [number for number in parts.heights if 1.0 < number.x_mm < taken.length_mm - 1.0]
    text.lines += ["", "[rocker]"]
    text.lines += [f"{key} = {text.number(at.value_mm)}  # {at.why}" for key, at in (("nose", nose), ("tail", tail))]
    text.lines.append(f"lowest = {{ {text.station(parts.level.x_mm)} }}  # {parts.level.why}")
    text.entries("rocker", "heights", "height", [n for n in inner if abs(n.x_mm - parts.level.x_mm) > 1.0])
    _thickness(text, parts)
    _sections(text, parts)
    return "\n".join(text.lines) + "\n", text.came_from


def _thickness(text: _Text, parts: SpecParts) -> None:
    taken = text.taken
    text.lines += [
        "",
        "[thickness]",
        f"thickest = {{ thickness = {text.number(parts.thick.value_mm)}, {text.station(parts.thick.x_mm)} }}"
        f"  # {parts.thick.why}",
    ]
    for key, at in zip(("tail", "nose"), parts.feet, strict=True):
        text.lines.append(f"{key} = {text.number(at.value_mm)}  # {at.why}")
    at_feet = (NOSE_AND_TAIL_MM, taken.length_mm - NOSE_AND_TAIL_MM, parts.thick.x_mm)
    apart = [n for n in taken.of["thickness"] if min(abs(n.x_mm - x) for x in at_feet) > 1.0]
    text.entries("thickness", "thicknesses", "thickness", [n for n in apart if 1.0 < n.x_mm < taken.length_mm - 1.0])


def _sections(text: _Text, parts: SpecParts) -> None:
    """Add rails and bottom, where any of them was read."""
    taken = text.taken
    rails: dict[float, list[str]] = {}
    for x, share in parts.apexes:
        rails.setdefault(x, []).append(f"apex = {plain(share)}")
    for number in taken.of["drop"]:
        drop = f"{{ inside = {text.number(taken.drop_inside_mm)}, down = {text.number(number.value)} }}"
        rails.setdefault(number.x_mm, []).append(f"drops = [{drop}]")
    for x, keys in sorted(rails.items()):
        text.lines += ["", "[[rails]]", text.station(x), *keys]
    shapes = sorted((number.x_mm, shape, number) for shape in ("concave", "roll", "vee") for number in taken.of[shape])
    for x, shape, number in shapes:
        if number.value > 0.0:
            text.lines += [
                "",
                "[[bottom]]",
                text.station(x),
                f'shape = "{shape}"',
                f"depth = {text.number(number.value)}",
            ]
        elif not any(other.value > 0.0 for at, _, other in shapes if at == x):
            text.lines += ["", "[[bottom]]", text.station(x), 'shape = "flat"']
