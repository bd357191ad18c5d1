"""A board derived from another: the other's numbers scaled, and the file's own laid over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from os.path import relpath
from pathlib import Path
from typing import Any, Literal

from bayloft.spec.boards.board import Board, Factors
from bayloft.spec.text.measures import plain
from bayloft.spec.text.source import Source
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM, origins
from bayloft.spec.text.tables import STATION_KEYS
from bayloft.units import length_mm

HOW_READ = ("read_to", "exact")
"""Keys that say of a number only how it was read."""

Keep = Literal["proportions", "thickness and rails"]
Axis = Literal["along", "across", "up", "rise", "same"]
"""The direction in which a length is scaled; rise: a height of the rocker."""
Values = dict[str, Any]

YIELDS_MM = NOSE_AND_TAIL_MM
"""mm around a number that a file gives itself within which the other board's numbers of the same line yield: a foot."""

FOOT = f"{plain(NOSE_AND_TAIL_MM, 6)} mm"
"""Where nose and tail are measured, as it is typed."""

LOOSE_MARK = "3 mm"
"""Mark to which the other board's numbers count as read in a line of which the file gives a number itself: the line
keeps near them, and is fair through the file's own (no source)."""

AXES: Mapping[str, Mapping[str, Axis]] = {
    "outline": {"width": "across", "over": "along"},
    "nose": {"tip_radius": "across"},
    "tail": {"tip_radius": "across", "block": "across", "corner_radius": "across", "depth": "along"},
    "rocker": {"nose": "rise", "tail": "rise", "height": "rise", "flat": "along"},
    "thickness": {"nose_tip": "up", "tail_end": "up", "thickness": "up", "over": "along"},
    "rails": {"radius": "up", "tuck": "up", "edge_radius": "up", "inside": "up", "down": "up"},
    "deck": {"depth": "up", "flat": "across", "width": "up"},
    "bottom": {"depth": "up", "flat": "across", "width": "across"},
    "channels": {"off_stringer": "across", "width": "across", "depth": "up", "fade": "along"},
    "fins": {"off_stringer": "across", "clearance": "same", "bit": "same", "bush": "same"},
    "plugs": {
        "off_stringer": "across",
        **dict.fromkeys(("round", "long", "wide", "corner_radius", "deep"), "same"),
    },
    "templates": {"deck_skin": "same", "sanding": "same"},
    "stringer": dict.fromkeys(("thickness", "glue_line", "kerf", "allowance", "clamps_every"), "same"),
    "shaping": {"pass_depth": "same"},
    "bands": {"sole": "same"},
    "glass": dict.fromkeys(("lap", "bolt", "trim", "long", "wide"), "same"),
    "float": {"height": "same"},
    "hot_wire": dict.fromkeys(("kerf", "left_on", "lead"), "same"),
    "panels": dict.fromkeys(("saw", "bolt", "between"), "same"),
}
"""How the lengths of each table are scaled. Stations lie along, and `read_to` stays as it is; the width of a chine goes
with its height. Fins and plugs keep their size, and their places move with the board.
A blank is not taken: another board comes out of another block."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LongLine:
    """The keys of a long line: of its numbers, of their list, of its own place, of the numbers that stand a foot from
    tail and nose, and of those at the very ends.
    """

    number: str
    listed: str
    top: str
    feet: Mapping[str, str]
    ends: tuple[str, ...] = ()


LINES: Mapping[str, LongLine] = {
    "outline": LongLine(
        number="width",
        listed="widths",
        top="wide_point",
        feet={"tail_width": "from_tail", "nose_width": "from_nose"},
    ),
    "rocker": LongLine(number="height", listed="heights", top="lowest", feet={}, ends=("tail", "nose")),
    "thickness": LongLine(
        number="thickness",
        listed="thicknesses",
        top="thickest",
        feet={"tail": "from_tail", "nose": "from_nose"},
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """The board that another is derived from, what its file says in full, and the file of its rails where they stand in
    one.
    """

    board: Board
    source: Source
    rails: Source | None


def factors_of(own: Values, base: Base, length_mm: float, keep: Keep) -> Factors:
    """Return the factors to a length: those of numbers that a file gives itself, or else what the maker keeps."""
    board, unit, along = base.board, _unit(own), length_mm / base.board.length_mm

    def of(table: str, key: str, before_mm: float, otherwise: float) -> float:
        inside = own.get(table)
        mm = _mm(_number(inside.get(key)), unit) if isinstance(inside, dict) else None
        return otherwise if mm is None or mm <= 0.0 else mm / before_mm

    return Factors(
        along=along,
        across=of("outline", "wide_point", board.wide_point.value, along),
        up=of("thickness", "thickest", board.thickest.value, along if keep == "proportions" else 1.0),
        tail_rise=of("rocker", "tail", board.heights[0].value, along),
        nose_rise=of("rocker", "nose", board.heights[-1].value, along),
    )


def derived(source: Source, base: Base, length_mm: float, factors: Factors) -> Source:
    """Return a source with what it takes of another board: that board's numbers scaled, and its own laid over them."""
    own = {key: value for key, value in source.values.items() if key not in ("from", "length")}
    taken = _Taken(base, factors, Path(source.file).parent).values()
    if any(_top(own, table) is not None for table in ("outline", "thickness")):
        taken = {key: value for key, value in taken.items() if key not in ("volume", "volume_by")}
    _dome_told_once(own, taken)
    laid = {key: _laid(key, own[key], taken[key], length_mm, _unit(own)) for key in own if key in taken}
    whole = {**taken, **own, **laid, "length": f"{plain(length_mm, 6)} mm"}
    return replace(source, values=whole, derived=True)


def _dome_told_once(own: Values, taken: Values) -> None:
    """Leave out what is taken of the dome where a file says it itself: its deck, or drops of its rails."""
    if "deck" in own and "rails" not in own:
        entries = [{key: value for key, value in entry.items() if key != "drops"} for entry in taken.get("rails", [])]
        taken["rails"] = [entry for entry in entries if any(key not in (*STATION_KEYS, *HOW_READ) for key in entry)]
        if not taken["rails"]:
            del taken["rails"]
    rails = own.get("rails")
    dropped = isinstance(rails, list) and any(isinstance(each, dict) and "drops" in each for each in rails)
    if "deck" not in own and dropped:
        taken.pop("deck", None)


def _unit(values: Values) -> str | None:
    unit = values.get("unit")
    return unit if isinstance(unit, str) else None


def _top(values: Values, table: str) -> Any:
    """Return what is typed of the place of a long line."""
    inside = values.get(table)
    return inside.get(LINES[table].top) if isinstance(inside, dict) else None


def _number(typed: Any) -> Any:
    """Return the number of what was typed alone, or in a table that also says where it is, or how it was read."""
    if not isinstance(typed, dict):
        return typed
    return next((typed[line.number] for line in LINES.values() if line.number in typed), None)


def _mm(typed: Any, unit: str | None) -> float | None:
    """Return a typed length in mm; None for what is none, which is told once the whole is read."""
    if isinstance(typed, bool) or not isinstance(typed, str | int | float):
        return None
    try:
        return length_mm(typed, unit)
    except ValueError:
        return None


def _station(entry: Any, length_mm: float, unit: str | None) -> float | None:
    """Return an entry's station in mm from the tail end; None where it tells none."""
    for key, (origin, sign) in origins(length_mm).items():
        if isinstance(entry, dict) and (mm := _mm(entry.get(key), unit)) is not None:
            return origin + sign * mm
    return None


def _marked(entry: Values, mark: Any) -> Values:
    """Return an entry with the mark to which it was read, if there is one and it does not say so itself."""
    return entry if mark is None or any(key in entry for key in HOW_READ) else {**entry, "read_to": mark}


class _Taken:
    """The other board's values, scaled: every length with its unit, every file as seen from a folder."""

    def __init__(self, base: Base, factors: Factors, folder: Path) -> None:
        self.base, self.factors, self.folder = base, factors, folder
        self.unit = _unit(base.source.values)

    def values(self) -> Values:
        """Return them."""
        typed = self.base.source.values
        found: Values = {key: self._scaled(typed[key], key) for key in AXES if key in typed and key not in LINES}
        mark = typed.get("read_to")
        for key in ("deck", "bottom", "rails"):
            if isinstance(typed.get(key), list):
                found[key] = self._scaled([_marked(entry, mark) for entry in typed[key]], key)
        if self.base.rails:
            shared = self.base.rails.values
            self.unit = _unit(shared)
            own_mark = shared.get("read_to", None if mark is None else f"{plain(length_mm(mark, _unit(typed)), 6)} mm")
            found["rails"] = self._scaled([_marked(entry, own_mark) for entry in shared["rails"]], "rails")
            self.unit = _unit(typed)
        named = [(fin, "fin") for fin in found.get("fins", ())] + [(found.get("stringer", {}), "plank")]
        for table, key in named:
            if key in table:
                file = Path(self.base.source.file).parent / table[key]
                table[key] = Path(relpath(file, self.folder)).as_posix()
        if aim := self.base.board.aim:
            factors = self.factors
            litres = aim.litres * factors.along * factors.across * factors.up
            found |= {"volume": f"{plain(litres, 6)} L", "volume_by": aim.by}
        return found | {table: self._line(table) for table in LINES}

    def _line(self, table: str) -> Values:
        """Return the table of a long line, each number with its station and the mark to which it was read."""
        line, typed = LINES[table], self.base.source.values[table]
        mark = typed.get("read_to", self.base.source.values.get("read_to"))

        def entry(value: Any) -> Values:
            return _marked(value if isinstance(value, dict) else {line.number: value}, mark)

        listed = [entry(value) for value in typed.get(line.listed, [])]
        listed += [{key: FOOT, **entry(typed[name])} for name, key in line.feet.items() if name in typed]
        ends = {key: entry(typed[key]) if mark is not None else typed[key] for key in line.ends}
        top = typed.get(line.top)  # the lowest point may be left to be found
        most = {} if top is None else {line.top: entry(top) if line.number in top else top}
        rest = {key: value for key, value in typed.items() if key not in (*line.feet, "read_to")}
        return dict(self._scaled({**rest, **most, **ends, line.listed: listed}, table))

    def _scaled(self, value: Any, table: str, key: str = "", *, nose: bool = True) -> Any:
        """Return a value of a table with all lengths in it scaled; nose: of the rocker, whether it is on that side."""
        if isinstance(value, list):
            return [self._scaled(inner, table, key) for inner in value]
        if isinstance(value, dict):
            if table == "rocker":
                nose = key != "tail" and (key != "heights" or self._ahead(value))
            chine = table == "bottom" and value.get("shape") == "chine"
            return {
                inner: self._scaled(value[inner], "deck" if chine and inner == "width" else table, inner, nose=nose)
                for inner in value
            }
        axis = "along" if key in STATION_KEYS else "same" if key == "read_to" else AXES[table].get(key)
        if axis is None:
            return value
        f = self.factors
        rise = f.nose_rise if nose and key != "tail" else f.tail_rise
        factor = {"along": f.along, "across": f.across, "up": f.up, "rise": rise, "same": 1.0}[axis]
        return f"{plain(length_mm(value, self.unit) * factor, 6)} mm"

    def _ahead(self, entry: Values) -> bool:
        """Whether a height of the rocker lies ahead of the lowest point."""
        board = self.base.board
        lowest = board.length_mm / 2 if board.lowest_x_mm is None else board.lowest_x_mm
        return (_station(entry, board.length_mm, self.unit) or 0.0) > lowest


def _laid(table: str, own: Any, taken: Any, length_mm: float, unit: str | None) -> Any:
    """Return a table's own values laid over those taken. A list stands in place of the other, but of a long line's
    numbers only those yield that are near its own.
    """
    if not isinstance(own, dict) or not isinstance(taken, dict):
        return own
    if own.get("kind", taken.get("kind")) != taken.get("kind"):
        return own
    line = LINES.get(table)
    if line is None:
        return taken | own
    listed = own.get(line.listed, [])
    if not isinstance(listed, list):
        return taken | own
    feet = [{key: FOOT} for name, key in line.feet.items() if name in own]
    stations = [_station(entry, length_mm, unit) for entry in (*listed, own.get(line.top), *feet)]
    told = [x for x in stations if x is not None]
    kept = [
        {"read_to": LOOSE_MARK, **entry}
        for entry in taken[line.listed]
        if all(abs((_station(entry, length_mm, None) or 0.0) - x) > YIELDS_MM for x in told)
    ]
    top = own.get(line.top)
    if isinstance(top, dict) and line.top in taken:
        here = any(key in top for key in STATION_KEYS)
        top = {key: value for key, value in taken[line.top].items() if not (here and key in STATION_KEYS)} | top
    return taken | own | ({} if top is None else {line.top: top}) | {line.listed: [*listed, *kept]}
