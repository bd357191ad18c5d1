"""Plugs and boxes, from their tables to trusted numbers."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.errors import KeyPath
from bayloft.spec.boards.placements import Deck, toe_within
from bayloft.spec.boards.plug import Plug
from bayloft.spec.boards.plug_models import PlugTable
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import placed
from bayloft.units import at_least, at_most, both

Size = tuple[float, float, float]


def trusted_plugs(tables: Sequence[PlugTable], deck: Deck, reading: Reading) -> tuple[Plug, ...]:
    """Return the plugs in the order of the file; one that is off the board, or says too little or too much of its size
    or its place, is a fault.
    """
    found = []
    for at in placed(tables, ("plugs",), deck.length_mm, reading):
        table, path = at.entry, at.path
        size, sides = _size(table, path, reading), _sides(table, path, reading)
        for key in ("name", "face", "deep"):
            if getattr(table, key) is None:
                reading.missing((*path, key))
        if size is None or table.name is None or table.face is None or table.deep is None:
            continue
        length, width, corner = size
        off = table.off_stringer or 0.0
        toe = table.toe.at_deg(length) if table.toe else 0.0
        plug = Plug(
            name=table.name,
            face=table.face,
            x_mm=at.x_mm,
            off_mm=off,
            sides=sides,
            length_mm=length,
            width_mm=width,
            corner_mm=corner,
            depth_mm=table.deep,
            toe_deg=toe,
            cant_deg=table.cant,
            path=path,
        )
        _lies_on_board(plug, at.entry.station_keys[0], deck, reading)
        found.append(plug)
    return tuple(found)


def _size(table: PlugTable, path: KeyPath, reading: Reading) -> Size | None:
    """Return length, width and radius of the corners, or None where they are not told."""
    sides = [key for key in ("long", "wide") if getattr(table, key) is not None]
    if table.round is not None:
        for key in [*sides, *(["corner_radius"] if table.corner_radius is not None else [])]:
            reading.fault((*path, key), "told of a round one", hint="keep `round`, or `long` and `wide`")
        return table.round, table.round, table.round / 2.0
    if len(sides) < 2:
        if not any(reading.explained((*path, key)) for key in ("round", "long", "wide")):
            hint = 'round = "1 1/8 in", or long = "10 1/2 in" and wide = "1 in"'
            reading.fault(path, f"no size{f' but `{sides[0]}`' if sides else ''}", hint=hint)
        return None
    length, width = float(table.long or 0.0), float(table.wide or 0.0)
    most, corner = min(length, width) / 2.0, table.corner_radius
    if corner is None:
        return length, width, reading.assume_mm((*path, "corner_radius"), most, "round ends")
    if corner > most:
        allowed = f"at most {at_most(most)}, half its width"
        reading.fault((*path, "corner_radius"), "rounder than it is wide", allowed=allowed, mm=corner)
    return length, width, corner


def _sides(table: PlugTable, path: KeyPath, reading: Reading) -> tuple[str, ...]:
    if not table.off_stringer:
        for key in ("side", "toe", "cant"):
            typed = getattr(table, key)
            if typed is not None:
                problem = f"on the stringer it has no {key}"
                reading.fault((*path, key), problem, hint='off_stringer = "3 in", or leave it out')
        return ("centre",)
    if table.side is None:
        if not reading.explained((*path, "side")):
            reading.fault(path, "off the stringer, and on no side", hint='side = "port", or "starboard", or "both"')
        return ("centre",)
    return ("port", "starboard") if table.side == "both" else (table.side,)


def _lies_on_board(plug: Plug, key: str, deck: Deck, reading: Reading) -> None:
    """Tell of a plug that by the board's widths cannot lie on it; the surface itself is asked once there is one."""
    half = plug.length_mm / 2.0
    if not half <= plug.x_mm <= deck.length_mm - half:
        problem, allowed = "its ends are off the board", f"a middle at least {at_least(half)} from either end"
        reading.fault((*plug.path, key), problem, allowed=allowed)
        return
    inner, outer = plug.off_mm - plug.width_mm / 2.0, plug.off_mm + plug.width_mm / 2.0
    if (most := deck.half_width_mm(plug.x_mm)) < outer:
        allowed = f"at most {at_most(max(most - plug.width_mm / 2.0, 0.0))}"
        at = "off_stringer" if plug.off_mm else "round" if plug.is_round else "wide"
        reading.fault((*plug.path, at), "off the board", allowed=allowed, mm=plug.off_mm)
    if deck.tail and plug.x_mm - half < (notch := deck.tail.notch_mm(max(inner, 0.0))):
        allowed = f"a middle at least {at_least(notch + half)} from the tail end"
        reading.fault((*plug.path, key), "reaches into the tail's notch", allowed=allowed)
    if plug.sides == ("port", "starboard") and inner < 0.0:
        allowed = f"more than {both(plug.width_mm / 2.0)}, or without off_stringer one on the stringer"
        reading.fault((*plug.path, "off_stringer"), "the two of the pair overlap", allowed=allowed, mm=plug.off_mm)
    toe_within(plug.toe_deg, plug.length_mm, "length", plug.path, reading)
