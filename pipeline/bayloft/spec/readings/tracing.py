"""A fin's tracing: from its sheet to trusted points, and to the text of the fin's spec."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bayloft.errors import KeyPath, SpecError
from bayloft.spec.parsing import tables_from
from bayloft.spec.readings.models import TracedFinSpec
from bayloft.spec.readings.texts import length_text, metric_unit, remark
from bayloft.spec.text.measures import plain
from bayloft.spec.text.source import Source
from bayloft.spec.text.vocabulary import toml

EDGES = ("leading", "trailing")

STEEPEST = 4.0
"""By how much more than a point may be off, square to its edge, its x may be off at most: near the tip an edge runs
nearly level, and its x says little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedPoint:
    """A point of an edge, mm: height above the base, x forward of the base's rear end, what x may be off, and where in
    the sheet it is.
    """

    height_mm: float
    x_mm: float
    play_mm: float
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracing:
    """A fin as traced: sizes in mm, what a point may be off square to its edge, the points of both edges, rising."""

    name: str
    base_mm: float
    depth_mm: float
    rake_mm: float
    play_mm: float
    edges: Mapping[str, tuple[TracedPoint, ...]]
    metric: bool
    source: Source


def load_tracing(source: Source) -> Tracing:
    """Return the tracing of a sheet. Raises SpecError with every fault of it."""
    reading, spec = tables_from(TracedFinSpec, source)
    if reading.faults or spec.base is None or spec.depth is None or spec.rake is None:
        raise SpecError(tuple(reading.faults))
    rake = spec.rake.at_mm(spec.depth)
    ends = {"leading": spec.base, "trailing": 0.0}
    found: dict[str, list[tuple[float, float, KeyPath]]] = {edge: [] for edge in EDGES}
    for place, entry in enumerate(spec.traced or ()):
        path: KeyPath = ("traced", place)
        told = [edge for edge in EDGES if getattr(entry, edge) is not None]
        if not told:
            reading.fault(path, "neither a leading nor a trailing edge", hint='leading = "5 1/2 in"')
        if not 0.0 < entry.height < spec.depth:
            allowed = "between base and tip, which base, depth and rake tell"
            reading.fault((*path, "height"), "not between base and tip", allowed=allowed, mm=entry.height)
        for edge in told:
            found[edge].append((entry.height, getattr(entry, edge), (*path, edge)))
    if reading.faults:
        raise SpecError(tuple(reading.faults))
    tip = spec.base / 2 - rake
    play = spec.accuracy or 0.0
    return Tracing(
        name=spec.name or "",
        base_mm=spec.base,
        depth_mm=spec.depth,
        rake_mm=rake,
        play_mm=play,
        edges={
            edge: _with_plays(sorted(points), (0.0, ends[edge]), (spec.depth, tip), play)
            for edge, points in found.items()
        },
        metric=metric_unit(source),
        source=source,
    )


def _with_plays(
    points: Sequence[tuple[float, float, KeyPath]], base: tuple[float, float], tip: tuple[float, float], play_mm: float
) -> tuple[TracedPoint, ...]:
    """Return points with what x may be off: more where the edge leans, as the points beside one tell."""
    heights = [base[0], *(height for height, _, _ in points), tip[0]]
    places = [base[1], *(x for _, x, _ in points), tip[1]]
    found = []
    for i, (height, x, path) in enumerate(points, 1):
        lean = (places[i + 1] - places[i - 1]) / max(heights[i + 1] - heights[i - 1], 1e-6)
        more = min((1.0 + lean * lean) ** 0.5, STEEPEST)
        found.append(TracedPoint(height_mm=height, x_mm=x, play_mm=more * play_mm, path=path))
    return tuple(found)


def fin_text(taken: Tracing, drawn: Mapping[KeyPath, float]) -> tuple[str, dict[KeyPath, KeyPath]]:
    """Return the text of the fin's spec, and for the path of each point in it the path that it had in the sheet;
    `drawn`: the x in mm that the edges have at points, by the latter.
    """

    def mm(value: float) -> str:
        return length_text(value, metric=taken.metric)

    came_from: dict[KeyPath, KeyPath] = {}
    count = sum(map(len, taken.edges.values()))
    lines = [
        "#:schema ./fin.schema.json",
        f"# Lifted from {remark(taken.source.file)}: {count} points of a tracing, each good to "
        f"{plain(taken.play_mm)} mm square to its edge.",
        "# Behind each point: what the edge is drawn with, and by how much that is off.",
        "",
        f"name = {toml(taken.name)}",
        f"unit = {toml('mm' if taken.metric else 'in')}",
        f"base = {mm(taken.base_mm)}",
        f"depth = {mm(taken.depth_mm)}",
        f"rake = {mm(taken.rake_mm)}",
        "",
        "[planform]",
    ]
    for edge in EDGES:
        if not taken.edges[edge]:
            continue
        lines.append(f"{edge} = [")
        for place, point in enumerate(taken.edges[edge]):
            came_from["planform", edge, place] = point.path
            entry = f"{{ height = {mm(point.height_mm)}, x = {mm(point.x_mm)}, "
            entry += f'read_to = "{plain(2 * point.play_mm, 3)} mm" }},'
            off = drawn.get(point.path)
            said = "" if off is None else f"  # drawn {mm(off)}, {off - point.x_mm:+.2f} mm"
            lines.append(f"  {entry}{said}")
        lines.append("]")
    for table in ("foil", "tab"):
        lines += _as_typed(table, taken.source.values.get(table))
    return "\n".join(lines) + "\n", came_from


def _as_typed(name: str, table: Any) -> list[str]:
    """Return the lines of a table as it was typed in the sheet."""
    if not isinstance(table, dict) or not table:
        return []
    return ["", f"[{name}]", *(f"{key} = {toml(value)}" for key, value in table.items())]
