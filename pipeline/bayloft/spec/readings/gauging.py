"""Rails taken off a board with a contour gauge: from their sheet to trusted points, and to a file of rails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayloft.errors import KeyPath, SpecError
from bayloft.spec.boards.quantities import RailKind
from bayloft.spec.parsing import tables_from
from bayloft.spec.readings.models import GaugedAt, GaugedRailsSpec
from bayloft.spec.readings.texts import length_text, metric_unit, remark
from bayloft.spec.text.measures import EDITION, plain
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import Source
from bayloft.spec.text.stations import nearer_end, placed
from bayloft.spec.text.vocabulary import toml
from bayloft.tolerances import SEPARATE_STATIONS_MM

LEAST_POINTS = 8
"""Points of one rail: it has six numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugedPoint:
    """A point of a rail, mm: how far inside the widest point, how high above the bottom at the stringer."""

    inside_mm: float
    height_mm: float
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugedRail:
    """The rail at a station, mm from the tail end: the board's width and thickness there, and its points."""

    x_mm: float
    width_mm: float
    thickness_mm: float
    points: tuple[GaugedPoint, ...]
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauging:
    """Rails as they were gauged, from the tail; what a point may be off, square to the rail."""

    name: str
    length_mm: float
    play_mm: float
    rails: tuple[GaugedRail, ...]
    metric: bool
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedRail:
    """The numbers of a rail that passes nearest to its points: shares, and lengths in mm; the kind whose edge it has,
    where that is too soft to have a radius; the drop of the deck at its innermost point; how far the bottom falls away
    to the rail (less than 0: rises); how far each point is off it, mm.
    """

    apex: float
    radius_mm: float
    shoulder: float
    tuck_mm: float
    edge_radius_mm: float | None
    kind: RailKind | None
    inside_mm: float
    down_mm: float
    fall_mm: float
    off_mm: tuple[float, ...]


def load_gauging(source: Source) -> Gauging:
    """Return the rails of a sheet. Raises SpecError with every fault of it."""
    reading, spec = tables_from(GaugedRailsSpec, source)
    if reading.faults or spec.length is None:
        raise SpecError(tuple(reading.faults))
    rails: list[list[tuple[float, GaugedAt, KeyPath]]] = []
    points = placed(spec.gauged or (), ("gauged",), spec.length, reading)
    for at in sorted(points, key=lambda at: at.x_mm):
        if not rails or at.x_mm - rails[-1][0][0] > SEPARATE_STATIONS_MM:
            rails.append([])
        rails[-1].append((at.x_mm, at.entry, at.path))
    found = [_rail(rail, reading) for rail in rails]
    if reading.faults:
        raise SpecError(tuple(reading.faults))
    return Gauging(
        name=spec.name or "",
        length_mm=spec.length,
        play_mm=spec.accuracy or 0.0,
        rails=tuple(rail for rail in found if rail),
        metric=metric_unit(source),
        source=source,
    )


def _rail(entries: Sequence[tuple[float, GaugedAt, KeyPath]], reading: Reading) -> GaugedRail | None:
    x_mm, _, path = entries[0]
    sizes: dict[str, float] = {}
    for _, entry, at in entries:
        for key in ("width", "thickness"):
            value = getattr(entry, key)
            if value is not None and sizes.setdefault(key, value) != value:
                reading.fault((*at, key), f"another {key} at the same station", hint="say it once", mm=value)
    for key in ("width", "thickness"):
        if key not in sizes:
            reading.fault(path, f"no {key} at this station", hint=f"the {key} of the board there, in one of its rows")
    if len(entries) < LEAST_POINTS:
        reading.fault(path, f"{len(entries)} points of a rail", allowed=f"{LEAST_POINTS} or more, over and under it")
    if len(sizes) < 2:
        return None
    for _, entry, at in entries:
        if entry.inside >= sizes["width"] / 2:
            reading.fault((*at, "inside"), "beyond the stringer", mm=entry.inside)
    points = (
        GaugedPoint(inside_mm=entry.inside, height_mm=entry.height, path=(*at, "height")) for _, entry, at in entries
    )
    ordered = tuple(sorted(points, key=lambda point: (point.height_mm, point.inside_mm)))
    return GaugedRail(x_mm=x_mm, width_mm=sizes["width"], thickness_mm=sizes["thickness"], points=ordered, path=path)


def rails_text(taken: Gauging, fitted: Sequence[FittedRail]) -> str:
    """Return the text of a file of rails."""

    def mm(value: float) -> str:
        return length_text(value, metric=taken.metric)

    lines = [
        "#:schema ./rails.schema.json",
        f"# Lifted from {remark(taken.source.file)}, with a contour gauge; each point is good to "
        f"{plain(taken.play_mm)} mm square to the rail.",
        f'# In a board of {mm(taken.length_mm)} {"mm" if taken.metric else "in"}: rails = "(this file)". '
        "Behind each rail: how far its points are off it.",
        "",
        f"edition = {EDITION}",
        f"unit = {toml('mm' if taken.metric else 'in')}",
    ]
    for rail, fit in zip(taken.rails, fitted, strict=True):
        end, at = nearer_end(rail.x_mm, taken.length_mm)
        bottom = f"falls {mm(fit.fall_mm)}" if fit.fall_mm >= 0.0 else f"rises {mm(-fit.fall_mm)}"
        lines += [
            "",
            f"[[rails]] # {len(rail.points)} points, at most {max(fit.off_mm):.2f} mm off; "
            f"the bottom {bottom} to the rail there",
            f"from_{end} = {mm(at)}",
            *([f'kind = "{fit.kind}" # for its edge, which is too soft to have a radius'] if fit.kind else []),
            f"apex = {plain(fit.apex, 4)}",
            f"radius = {mm(fit.radius_mm)}",
            f"shoulder = {plain(fit.shoulder, 4)}",
            f"tuck = {mm(fit.tuck_mm)}",
            *([] if fit.edge_radius_mm is None else [f"edge_radius = {mm(fit.edge_radius_mm)}"]),
            f"drops = [{{ inside = {mm(fit.inside_mm)}, down = {mm(fit.down_mm)} }}]",
        ]
    return "\n".join(lines) + "\n"
