"""Channels, from their tables to trusted numbers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from bayloft.errors import KeyPath
from bayloft.spec.boards.board import Tail
from bayloft.spec.boards.channel import Channel
from bayloft.spec.boards.section_models import ChannelTable
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import station_mm
from bayloft.units import at_most, both

FADE_SHARE = 1 / 4
"""Length over which a channel runs in and out, as a share of its length. Common practice, no source."""
LEAST_LENGTH_MM = 80.0
"""mm, least length of a channel: a shorter one is a dent (common practice, no source)."""


def trusted_channels(
    tables: Sequence[ChannelTable], length_mm: float, tail: Tail | None, reading: Reading
) -> tuple[Channel, ...]:
    """Return the channels from the stringer outwards; two that overlap, and one without room to run in and out, are
    faults.
    """
    found = [
        channel
        for place, table in enumerate(tables)
        if (channel := _channel(table, ("channels", place), length_mm, tail, reading))
    ]
    ordered = sorted(found, key=lambda channel: channel.off_mm)
    for inner, outer in pairwise(ordered):
        reach = inner.off_mm + inner.width_mm
        if outer.off_mm < reach:
            problem = "overlaps the channel inside it"
            allowed = f"at least {both(reach)}, where that one ends"
            reading.fault((*outer.path, "off_stringer"), problem, allowed=allowed, mm=outer.off_mm)
    return tuple(ordered)


def _channel(
    table: ChannelTable, path: KeyPath, length_mm: float, tail: Tail | None, reading: Reading
) -> Channel | None:
    front = station_mm(table.begins, (*path, "begins"), length_mm, reading)
    rear = 0.0 if table.ends is None else station_mm(table.ends, (*path, "ends"), length_mm, reading)
    if front is None or rear is None:
        return None
    if table.ends is None and tail is not None and not tail.cut_off:
        hint = "say where it ends: only at a tail that is cut off can it run out over the end"
        reading.fault(path, "a channel without an end, and the tail closes to a tip", hint=hint)
        return None
    if front - rear < LEAST_LENGTH_MM:
        allowed = f"at least {both(LEAST_LENGTH_MM)} ahead of where it ends"
        reading.fault((*path, "begins"), "not ahead of the channel's end by enough", allowed=allowed)
        return None
    most = (front - rear) / 2.0
    fade = table.fade
    if fade is None:
        fade = reading.assume_mm((*path, "fade"), FADE_SHARE * (front - rear), "a quarter of the channel's length")
    elif fade > most:
        reading.fault((*path, "fade"), "longer than half the channel", allowed=f"at most {at_most(most)}", mm=fade)
    return Channel(
        off_mm=table.off_stringer,
        width_mm=table.width,
        depth_mm=table.depth,
        from_mm=rear if table.ends is not None else rear - fade,
        to_mm=front,
        fade_mm=fade,
        path=path,
    )
