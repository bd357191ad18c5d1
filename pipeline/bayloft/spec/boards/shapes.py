"""The shapes of deck and bottom, from their entries to numbers for the quantities that they set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from bayloft.errors import KeyPath
from bayloft.spec.boards.quantities import LEVEL
from bayloft.spec.boards.section_models import BottomAt, DeckAt
from bayloft.spec.text.given import Given
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import Stationed, placed
from bayloft.tolerances import SEPARATE_STATIONS_MM

ROLLED_FLAT_SHARE = 0.5
"""Width in the middle of a rolled deck that stays flat, as a share of the full width. Common practice, no source."""
CHINE_WIDTH_DEPTHS = 2.5
"""Width of a chine in depths where only its depth is given. Common practice, no source."""

DECK_KEYS: Mapping[str, tuple[str, ...]] = {
    "domed": ("depth", "flat"),
    "flat": (),
    "rolled": ("depth", "flat"),
    "concave": ("depth",),
    "chine": ("depth", "width"),
}
BOTTOM_KEYS: Mapping[str, tuple[str, ...]] = {
    "flat": (),
    "roll": ("depth", "flat"),
    "vee": ("depth",),
    "concave": ("depth", "width"),
    "double concave": ("depth",),
    "chine": ("depth", "width"),
}
"""The shapes, and the keys that go with each; a depth it must have."""

Shaped = TypeVar("Shaped", DeckAt, BottomAt)
Lines = dict[str, list[Given]]


def deck_points(
    entries: Sequence[DeckAt], length_mm: float, reading: Reading, read_to_mm: float | None = None
) -> Lines:
    """Return the numbers of the deck's quantities that its entries set, sorted by station, each station once;
    `read_to_mm` is the file's mark.

    The chine is told at every station that any entry names, 0 where it names other shapes; the rest only where its own
    shape is.
    """
    lines: Lines = {}
    for group in _by_station(entries, ("deck",), length_mm, reading):
        for place, at in enumerate(group):
            _keys_of_shape(at, DECK_KEYS, reading)
            others = [each.entry.shape for each in group[:place]]
            if at.entry.shape != "chine" and any(other != "chine" for other in others):
                _keep_one(at, "two shapes of the deck at one station, and neither is a chine", reading)
            _set_deck(lines, at, reading, read_to_mm)
        if all(at.entry.shape != "chine" for at in group):
            _add(lines, "deck_chine", group[0], 0.0, "shape")
    return lines


def _set_deck(lines: Lines, at: Stationed[DeckAt], reading: Reading, read_to_mm: float | None) -> None:
    """Add what one entry says of the deck."""
    shape, depth, flat = at.entry.shape, at.entry.depth or 0.0, at.entry.flat
    if shape == "chine":
        _add(lines, "deck_chine", at, depth, "depth")
        lines.setdefault("deck_chine_width", []).append(_chine_width(at, reading))
        return
    dome, key = -depth if shape == "concave" else depth, "shape" if shape == "flat" else "depth"
    _add(lines, "dome", at, dome, key, read_to_mm)
    if flat is not None:
        _add(lines, "deck_flat", at, flat, "flat", read_to_mm)
    elif shape == "domed":
        _add(lines, "deck_flat", at, 0.0, "shape")
    elif shape == "rolled":
        path = (*at.path, "flat")
        reading.assume(path, "half the width", "usual for a rolled deck")
        share = Given(x_mm=at.x_mm, value=ROLLED_FLAT_SHARE, path=path, assumed=True, form="share")
        lines.setdefault("deck_flat", []).append(share)


def bottom_points(
    entries: Sequence[BottomAt], length_mm: float, reading: Reading, read_to_mm: float | None = None
) -> Lines:
    """Return the numbers of the bottom's quantities that its entries set, sorted by station, each station once;
    `read_to_mm` is the file's mark.

    A depth is told at every station that any entry names, 0 where it names other shapes; a width only where its own
    shape is.
    """
    lines: Lines = {}
    depths = {shape: shape.replace(" ", "_") for shape, keys in BOTTOM_KEYS.items() if keys}
    for group in _by_station(entries, ("bottom",), length_mm, reading):
        told: list[str] = []
        for at in group:
            shape = at.entry.shape
            _keys_of_shape(at, BOTTOM_KEYS, reading)
            if "flat" in (shape, *told) and {shape, *told} - {"flat", "chine"}:
                _keep_one(at, "flat and another shape at one station", reading)
            told.append(shape)
            _set_bottom_width(lines, at, reading, read_to_mm)
        for named, name in depths.items():
            own = next((at for at in group if at.entry.shape == named), None)
            depth = own.entry.depth or 0.0 if own else 0.0
            _add(lines, name, own or group[0], depth, "depth" if own else "shape", read_to_mm)
    return lines


def _set_bottom_width(lines: Lines, at: Stationed[BottomAt], reading: Reading, read_to_mm: float | None) -> None:
    """Add what one entry says of widths."""
    if at.entry.shape == "roll":
        _add(lines, "roll_flat", at, at.entry.flat or 0.0, "flat" if at.entry.flat else "shape", read_to_mm)
    elif at.entry.shape == "chine":
        lines.setdefault("chine_width", []).append(_chine_width(at, reading))
    elif at.entry.shape == "concave" and at.entry.width is not None:
        _add(lines, "concave_width", at, at.entry.width, "width", read_to_mm)
    elif at.entry.shape == "concave":
        rail_to_rail = Given(x_mm=at.x_mm, value=1.0, path=(*at.path, "shape"), form="share")
        lines.setdefault("concave_width", []).append(rail_to_rail)


def _add(lines: Lines, name: str, at: Stationed[Shaped], mm: float, key: str, read_to_mm: float | None = None) -> None:
    """Add a length to a line; that there is none is exact, and so is a chine, which is what it is all along."""
    mark = read_to_mm if mm and name not in LEVEL else None
    given = at.entry.given(at.x_mm, mm, (*at.path, key), mark)
    lines.setdefault(name, []).append(given if mm and name not in LEVEL else replace(given, play_mm=0.0))


def _chine_width(at: Stationed[Shaped], reading: Reading) -> Given:
    """Return how far a chine reaches in."""
    path, width, depth = (*at.path, "width"), at.entry.width, at.entry.depth
    if width is None and depth is not None:
        reason = f"{CHINE_WIDTH_DEPTHS:g} x its depth, usual for a chine"
        width = reading.assume_mm(path, CHINE_WIDTH_DEPTHS * depth, reason)
    return Given(x_mm=at.x_mm, value=width or 0.0, path=path, assumed=at.entry.width is None)


def _keys_of_shape(at: Stationed[Shaped], keys: Mapping[str, tuple[str, ...]], reading: Reading) -> None:
    """Tell of a key that does not go with the entry's shape, and of a depth that is missing."""
    shape = at.entry.shape
    for key in ("depth", "flat", "width"):
        if getattr(at.entry, key) is not None and key not in keys[shape]:
            having = " or ".join(f'"{other}"' for other, its in keys.items() if key in its)
            hint = f"leave it out; {key} is for shape {having}"
            reading.fault((*at.path, key), f'shape "{shape}" has no {key}', hint=hint)
    if "depth" in keys[shape] and at.entry.depth is None:
        reading.missing((*at.path, "depth"))


def _keep_one(at: Stationed[Shaped], problem: str, reading: Reading) -> None:
    reading.fault((*at.path, "shape"), problem, hint="keep one of the two")


def _by_station(
    entries: Sequence[Shaped], path: KeyPath, length_mm: float, reading: Reading
) -> list[list[Stationed[Shaped]]]:
    """Return the entries in groups of one station each, sorted by station; a shape told twice in a group is a fault and
    left out.
    """
    groups: list[list[Stationed[Shaped]]] = []
    for at in sorted(placed(entries, path, length_mm, reading), key=lambda at: at.x_mm):
        if not groups or at.x_mm - groups[-1][0].x_mm > SEPARATE_STATIONS_MM:
            groups.append([at])
        elif any(other.entry.shape == at.entry.shape for other in groups[-1]):
            _keep_one(at, "the same shape twice at one station", reading)
        else:
            groups[-1].append(at)
    return groups
