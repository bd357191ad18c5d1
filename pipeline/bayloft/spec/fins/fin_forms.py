"""A fin's planform and the form of its foil from their tables: families, measured edges, foils from files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from bayloft.errors import KeyPath
from bayloft.spec.fins.fin import USUAL_GREATEST_AT, EdgePoint, Family, FoilKind, FoilSection
from bayloft.spec.fins.fin_models import EdgeAt, FoilTable, PlanformTable
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.units import both


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What is usual for a fin of a kind, as shares of the depth; None: the tip is as wide as the others leave it."""

    leading_fullness: float
    trailing_hollow: float
    tip_radius: float
    tip_width: float | None = None


USUAL = Shape(leading_fullness=0.12, trailing_hollow=0.08, tip_radius=0.06)
"""Without a family. Common practice, no source."""

FAMILIES: Mapping[Family, Shape] = {
    "raked flex": Shape(leading_fullness=0.18, trailing_hollow=0.14, tip_radius=0.1, tip_width=0.3),
    "upright pivot": Shape(leading_fullness=0.15, trailing_hollow=0.02, tip_radius=0.15, tip_width=0.3),
    "low keel": Shape(leading_fullness=0.24, trailing_hollow=0.04, tip_radius=0.16, tip_width=0.42),
    "half-moon": Shape(leading_fullness=0.28, trailing_hollow=-0.22, tip_radius=0.4),
    "cutaway": Shape(leading_fullness=0.18, trailing_hollow=0.2, tip_radius=0.12, tip_width=0.28),
    "side": Shape(leading_fullness=0.18, trailing_hollow=0.09, tip_radius=0.1, tip_width=0.3),
}
"""Common practice, no source."""

HOLLOW_SHARE = 0.2
"""Depth of a hollow inside face over the thickness at the base. Common practice, no source."""
LEAST_APART_MM = 2.0
"""mm, least height between two measured points: nearer ones give a direction, not a place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanformNumbers:
    """The part of a fin's trusted values that its planform table gives."""

    leading_fullness: float
    trailing_hollow: float
    tip_radius_mm: float | None
    tip_width_mm: float | None
    leading: tuple[EdgePoint, ...]
    trailing: tuple[EdgePoint, ...]
    base_fillet_mm: float
    family: Family | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FoilForm:
    """The part of a fin's trusted values that say the form of its foil."""

    foil: FoilKind
    hollow_mm: float
    greatest_at: float
    leading_radius: float
    section: FoilSection | None


def planform_numbers(table: PlanformTable, base_mm: float, depth_mm: float, reading: Reading) -> PlanformNumbers:
    """Return the planform's numbers, assumed where not given: as usual for the family, if one is named."""
    usual = FAMILIES[table.family] if table.family else USUAL
    reason = f"usual for the family {table.family}" if table.family else "usual for a raked fin"
    leading, trailing = (
        _points(getattr(table, edge), edge, depth_mm, table.read_to, reading) for edge in ("leading", "trailing")
    )
    shares = {}
    for key, edge in (("leading_fullness", leading), ("trailing_hollow", trailing)):
        share: float | None = getattr(table, key)
        if edge and share is not None:
            problem = "measured points and this number both shape the same edge"
            reading.fault(("planform", key), problem, hint=f"leave out {key}, or the points of {key.split('_')[0]}")
        if share is None and not edge:
            reading.assume(("planform", key), f"{plain(getattr(usual, key))} of the depth", reason)
        shares[key] = getattr(usual, key) if share is None else share
    if table.base_fillet is not None and table.base_fillet > base_mm / 8:
        allowed = f"at most an eighth of the base, {both(base_mm / 8)}"
        reading.fault(("planform", "base_fillet"), "too long for the base", allowed=allowed, mm=table.base_fillet)
    return PlanformNumbers(
        **shares,
        tip_radius_mm=_tip_radius(table, usual, depth_mm, reading, reason, measured=bool(leading or trailing)),
        tip_width_mm=_tip_width(table, usual, depth_mm, reading, reason),
        leading=leading,
        trailing=trailing,
        base_fillet_mm=table.base_fillet or 0.0,
        family=table.family,
    )


def _tip_radius(
    table: PlanformTable, usual: Shape, depth_mm: float, reading: Reading, reason: str, *, measured: bool
) -> float | None:
    path = ("planform", "tip_radius")
    if table.tip_radius is None:
        if measured:
            reading.assume(path, "the fairest", "the measured points leave it open")
            return None
        mm = usual.tip_radius * depth_mm
        return reading.assume_mm(path, mm, f"{plain(usual.tip_radius)} of the depth, {reason}")
    if table.tip_radius > depth_mm / 2:
        allowed = f"at most half the depth, {both(depth_mm / 2)}"
        reading.fault(path, "rounder than the fin is deep", allowed=allowed, mm=table.tip_radius)
    return table.tip_radius


def _tip_width(table: PlanformTable, usual: Shape, depth_mm: float, reading: Reading, reason: str) -> float | None:
    path = ("planform", "tip_width")
    if table.trailing:
        if table.tip_width is not None:
            problem = "measured points and this number both shape the same edge"
            reading.fault(path, problem, hint="leave out tip_width, or the points of trailing", mm=table.tip_width)
        return None
    if table.tip_width is None and usual.tip_width is not None:
        mm = usual.tip_width * depth_mm
        return reading.assume_mm(path, mm, f"{plain(usual.tip_width)} of the depth, {reason}")
    return table.tip_width


def _points(
    entries: Sequence[EdgeAt] | None, edge: str, depth_mm: float, read_to_mm: float | None, reading: Reading
) -> tuple[EdgePoint, ...]:
    """Return the measured points of an edge, rising."""
    found = []
    for place, entry in enumerate(entries or ()):
        path: KeyPath = ("planform", edge, place)
        if not LEAST_APART_MM <= entry.height <= depth_mm - LEAST_APART_MM:
            allowed = f"{both(LEAST_APART_MM)} to {both(depth_mm - LEAST_APART_MM)}; base and tip are given already"
            reading.fault((*path, "height"), "not between base and tip", allowed=allowed, mm=entry.height)
        play = entry.play_mm(read_to_mm)
        found.append(EdgePoint(height_mm=entry.height, x_mm=entry.x, path=path, play_mm=play))
    found.sort(key=lambda point: point.height_mm)
    for before, after in pairwise(found):
        if after.height_mm - before.height_mm < LEAST_APART_MM:
            problem = f"as high as another point of this edge, {both(before.height_mm)}"
            allowed = f"points {both(LEAST_APART_MM)} apart or more"
            reading.fault((*after.path, "height"), problem, allowed=allowed, mm=after.height_mm)
    return tuple(found)


def foil_form(
    table: FoilTable, thickness_mm: float, reading: Reading, read: Callable[[str, KeyPath], FoilSection | None]
) -> FoilForm:
    """Return the form of the foil; `read` returns the foil of a named file, or None, told as a fault."""
    kind = table.kind or "double"
    section = None
    if table.section is not None:
        section = read(table.section, ("foil", "section"))
        for key in ("kind", "hollow", "greatest_at", "leading_radius"):
            if getattr(table, key) is not None:
                problem = "the file of foil.section gives the whole form of the foil"
                reading.fault(("foil", key), problem, hint=f"leave out {key}, or section")
    elif table.kind is None:
        reading.assume(("foil", "kind"), "double", "both faces curved, as on a fin that stands on the stringer")
    hollow = table.hollow
    if hollow is not None and kind != "hollow" and table.section is None:
        reading.fault(("foil", "hollow"), f"a {kind} foil has no hollow", hint='leave it out, or kind = "hollow"')
    if hollow is None and kind == "hollow":
        reason = f"{plain(HOLLOW_SHARE)} of the thickness at the base"
        hollow = reading.assume_mm(("foil", "hollow"), HOLLOW_SHARE * thickness_mm, reason)
    if table.greatest_at is None and table.section is None:
        reason = "the NACA four-digit foil"
        reading.assume(("foil", "greatest_at"), f"{plain(100 * USUAL_GREATEST_AT)} % of the chord", reason)
    return FoilForm(
        foil=kind,
        hollow_mm=hollow or 0.0,
        greatest_at=USUAL_GREATEST_AT if table.greatest_at is None else table.greatest_at,
        leading_radius=1.0 if table.leading_radius is None else table.leading_radius,
        section=section,
    )
