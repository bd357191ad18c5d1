"""The half-section: one formula for bottom, rail and deck, which near a tip is the tip as well.

A place on a section is told by its inset q, the distance inside the outline square to it, to first order. Rail, deck
and underside are functions of q alone, so the same rail runs round the whole outline: along the sides, where q runs
from the rail to the stringer, and round a tip, where it runs from the tip into the board. Half-width, height and q are
analytic in one another there, so a tip is a smooth paraboloid, with no pole to be seen.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import exponential, logarithm
from bayloft.spec.boards.channel import Channel
from bayloft.spec.boards.quantities import QUANTITIES

Array = NDArray[np.float64]

LEAST_SOFTNESS = 1e-9
"""Softness below which a corner is a crease."""
LEAST_RADIUS_MM = 0.3
"""mm, least radius of an edge that is not a crease all along the board: a smaller one lies between the places of the
net, which would only ripple beside it, and no edge in glass is sharper (common practice, no source)."""
SOFTEST = 0.7
"""Softness of an edge beyond which there is none."""
FADED_SOFTNESS, FADES_BELOW = 0.5, 2.85
"""Softness that an edge has at least at a tip, and the inset at the stringer, in tucks, below which it begins to."""

CLOSING = 0.6
"""How quickly the underside runs out into the bottom inside the edge, and only there: the bottom is then its own to
rounding (found by trial: with much less it waves, with 2 it goes hollow)."""

EDGE_SHARES = (0.35, 0.6)
"""Share of the inset at the stringer up to which an edge lies where the tuck says, and which it never reaches."""
BOTTOM_SHARES = (0.12, 0.25)
"""The same for the places between which the bottom's shape is told."""
CHINE_SHARES = (0.5, 0.8)
"""The same for the inner end of a chine."""
CHINE_FADES = (0.5, 0.45)
"""Share of the inset at the stringer, taken by tuck and chine, at which the chine begins to fade, and over how much."""
CHINE_SOFTNESS = 0.06
"""Rounding of a chine's inner end, as a share of its height."""

FLAT_BEND = 0.6
"""Sharpness with which a flat middle turns into the roll beside it: less is sharper."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """What all sections of a board have in common. creased: whether the bottom edge is a crease all along; chined,
    deck_chined: whether bottom and deck have a chine anywhere; channels: strips sunk into the bottom.
    """

    creased: bool = False
    chined: bool = False
    deck_chined: bool = False
    channels: tuple[Channel, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionNumbers:
    """The numbers of sections, arrays of shapes that broadcast.

    x_mm: station. half_width; inset (at the stringer); depth (of the section before it is rounded); radius, dome,
    deck_chine, deck_chine_width, tuck, roll, vee, concave, double_concave, chine, chine_width in mm. apex: height of
    the widest point as a share of the depth. shoulder, edge: softness, 0 a crease. deck_flat, roll_flat, concave_width:
    shares of the width. traits: what they have in common.
    """

    x_mm: Array
    half_width: Array
    inset: Array
    depth: Array
    apex: Array
    radius: Array
    shoulder: Array
    dome: Array
    deck_flat: Array
    deck_chine: Array
    deck_chine_width: Array
    tuck: Array
    edge: Array
    roll: Array
    roll_flat: Array
    vee: Array
    concave: Array
    concave_width: Array
    double_concave: Array
    chine: Array
    chine_width: Array
    traits: Traits

    @property
    def apex_mm(self) -> Array:
        """Height in mm of the rail line over the bottom at the stringer, as it is carried on under a tip."""
        return self.apex * self.depth

    @property
    def edge_share(self) -> Array:
        """Inset of the bottom edge as a share of the inset at the stringer."""
        return limited(self.tuck / self.inset, EDGE_SHARES)

    @property
    def bottom_share(self) -> Array:
        """Inset of the places between which the bottom's shape is told, as a share of the inset at the stringer: of the
        edge, or where the rail is round all the way under, not far inside the widest point.
        """
        return limited(self.tuck / self.inset, BOTTOM_SHARES)

    @property
    def edge_softness(self) -> Array:
        """Softness of the bottom edge, which near a tip is never a crease."""
        fade = 1.0 - smoothly(self.inset / (FADES_BELOW * self.tuck))
        least = 0.0 if self.traits.creased else self.softness_of(LEAST_RADIUS_MM)
        edge = np.sqrt(self.edge * self.edge + least * least)
        return np.asarray(edge + (np.maximum(edge, FADED_SOFTNESS) - edge) * fade, dtype=np.float64)

    def softness_of(self, radius_mm: float) -> Array:
        """Return the softness of an edge of about this radius: within a tenth on slopes up to 45 degrees."""
        at_rail = self.apex_mm - bottom_rise(self, 0.0)
        bend = 2.0 * self.radius / (at_rail * at_rail)
        slope = at_rail / 2.0 * _slope_at_edge(bend * self.tuck) * bend
        lean = 1.0 + slope * slope / 4.0
        return np.asarray(radius_mm * slope * slope / (2.0 * at_rail * lean * np.sqrt(lean)), dtype=np.float64)

    def at(self, which: Any) -> SectionNumbers:
        """Return the numbers of some of the sections, all arrays of one shape indexed alike."""
        names = [field.name for field in fields(self) if field.name != "traits"]
        values = np.broadcast_arrays(*(getattr(self, name) for name in names))
        return replace(self, **{name: value[which] for name, value in zip(names, values, strict=True)})

    def with_depth(self, depth: Array) -> SectionNumbers:
        """Return the numbers of sections of another depth, what scales with the depth scaled."""
        ratio = depth / self.depth
        return replace(self, depth=depth, **{name: getattr(self, name) * ratio for name in _WITH_DEPTH})


_WITH_DEPTH = tuple(name for name, row in QUANTITIES.items() if row.scale in ("depth", "dome", "bottom"))


def smoothly(share: ArrayLike) -> Array:
    """Return 0 up to 0 and 1 from 1, between them the quintic with two continuous derivatives."""
    t = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    return np.asarray(t * t * t * (10.0 - t * (15.0 - 6.0 * t)), dtype=np.float64)


def limited(share: Array, limits: tuple[float, float]) -> Array:
    """Return a share as it is up to the first limit, and beyond it approaching the second."""
    low, high = limits
    t = np.maximum(share - low, 0.0) / (high - low)
    beyond = t / np.sqrt(np.sqrt(1.0 + t * t * t * t))
    return np.where(share <= low, share, low + (high - low) * beyond)


def _soft_positive(value: Array, softness: Array) -> Array:
    """Return the greater of a value and 0, rounded off over `softness`."""
    nu = np.maximum(softness, 1e-12)
    return np.asarray(np.maximum(value, 0.0) + nu * logarithm(1.0 + exponential(-np.abs(value) / nu)), dtype=np.float64)


def _capped(value: Array, softness: Array, closing: float = 0.0) -> Array:
    """Return the lesser of a value and 1, rounded off by a softness: value / (1 + value^(1/nu))^nu; a corner at nu = 0.

    Near 0 it is the value itself, whatever the softness. `closing` makes it reach 1 sooner above.
    """
    nu = np.maximum(softness, LEAST_SOFTNESS)
    size = np.maximum(value, 1e-300)
    log = logarithm(size)
    if closing:
        beyond = np.clip(size - 1.0, 0.0, 30.0)
        log = log + closing * beyond * beyond * beyond
    return exponential(np.minimum(log, 0.0) - nu * logarithm(1.0 + exponential(-np.abs(log) / nu)))


def _rise_numbers(tuck: Array) -> tuple[Array, Array]:
    less = 1.0 - tuck
    m = (np.sqrt(less * less + 0.2) + less) / (2.0 * tuck * tuck) + 0.1 * tuck / (1.0 + tuck)
    return m, -less / tuck + m * tuck


def _rise(t: Array, tuck: Array) -> Array:
    """Return f with f(0) = 0, f'(0) = 1 and f(tuck) = 1, whose square root is concave."""
    m, k = _rise_numbers(tuck)
    return np.asarray(t * (1.0 + m * t) / (1.0 + k * t), dtype=np.float64)


def _slope_at_edge(tuck: Array) -> Array:
    """Return the slope of `_rise` at t = tuck."""
    m, k = _rise_numbers(tuck)
    below = 1.0 + k * tuck
    return np.asarray(((1.0 + 2.0 * m * tuck) * below - k * tuck * (1.0 + m * tuck)) / (below * below))


def _falling(square: Array, flat: Array) -> Array:
    """Return how far a face has fallen, 0 in the middle to 1 at its edge, where the squared share of the way is
    `square` and the share `flat` stays flat: a parabola, or a hyperbola that turns where the flat ends.
    """
    turn = flat * flat
    bend = FLAT_BEND * turn

    def fallen(s: Array) -> Array:
        return np.asarray(s - turn + np.sqrt((s - turn) * (s - turn) + bend * bend), dtype=np.float64)

    zero, one = fallen(np.zeros_like(turn)), fallen(np.ones_like(turn))
    return (fallen(square) - zero) / (one - zero)


def _hollow(square: Array, width: Array) -> Array:
    """Return how far a hollow has risen from its middle, 0 to 1 at the edge: a parabola over the whole width, or one
    that ends level at a width of its own.
    """
    share = np.minimum(width, 1.0)
    fourth = share * share * share * share
    power = 1.0 / (fourth * fourth)
    far = square * square * square * square
    return np.asarray(square * np.sqrt(np.sqrt(power / (1.0 + (power - 1.0) * far))), dtype=np.float64)


def _chine_fade(n: SectionNumbers, taken: Array) -> Array:
    return 1.0 - smoothly((taken / n.inset - CHINE_FADES[0]) / CHINE_FADES[1])


def bottom_rise(n: SectionNumbers, inset: ArrayLike) -> Array:
    """Return how far the bottom's own curve has risen, mm, from the stringer to places `inset` mm inside the outline:
    roll, vee, concave, double concave and chine, carried on over the rail.
    """
    q = np.asarray(inset, dtype=np.float64)
    square = (1.0 - q / n.inset) / (1.0 - n.bottom_share)
    t = np.sqrt(np.maximum(square, 0.0))
    rise = n.vee * t + n.roll * _falling(square, n.roll_flat) - n.concave * _hollow(square, n.concave_width)
    rise = rise + 4.0 * n.double_concave * (t - square)
    if n.traits.chined:
        height = n.chine * _chine_fade(n, n.tuck + n.chine_width)
        width = np.maximum(n.chine_width, 1e-9)
        rise = rise + _soft_positive(height * (1.0 - (q - n.tuck) / width), CHINE_SOFTNESS * height)
    for channel in n.traits.channels:
        rise = rise + _sunk(n, channel, q)
    return rise


def _sunk(n: SectionNumbers, channel: Channel, inset: Array) -> Array:
    """Return how deep, mm, a channel is sunk at places `inset` mm inside the outline."""
    off = n.half_width * np.sqrt(np.maximum(1.0 - inset / n.inset, 0.0))
    ahead, behind = (n.x_mm - channel.from_mm) / channel.fade_mm, (channel.to_mm - n.x_mm) / channel.fade_mm
    depth = channel.depth_mm * smoothly(ahead) * smoothly(behind)
    side = channel.side_mm
    return depth * smoothly((off - channel.off_mm) / side) * smoothly((channel.off_mm + channel.width_mm - off) / side)


def under(n: SectionNumbers, inset: ArrayLike) -> Array:
    """Return how far below the rail line, mm, the underside lies at places `inset` mm inside the outline."""
    q = np.asarray(inset, dtype=np.float64)
    depth = n.apex_mm - bottom_rise(n, q)
    at_rail = n.apex_mm - bottom_rise(n, np.zeros_like(q))
    bend = 2.0 * n.radius / (at_rail * at_rail)
    return np.asarray(depth * np.sqrt(_capped(_rise(bend * q, bend * n.tuck), n.edge_softness, CLOSING)))


def _deck_rail(n: SectionNumbers) -> tuple[Array, Array, Array]:
    """Return how high the rail itself rises over its widest point, and height and rounding of the deck's chine; mm."""
    height = n.deck_chine * _chine_fade(n, n.deck_chine_width)
    return (1.0 - n.apex) * n.depth - n.dome - height, height, CHINE_SOFTNESS * height


def over(n: SectionNumbers, inset: ArrayLike) -> Array:
    """Return how far above the rail line, mm, the deck lies at places `inset` mm inside the outline."""
    q = np.asarray(inset, dtype=np.float64)
    rail, height, rounding = _deck_rail(n)
    deck = n.dome * (1.0 - _falling(1.0 - q / n.inset, n.deck_flat))
    if n.traits.deck_chined:
        deck = deck + _soft_positive(height, rounding)
        deck = deck - _soft_positive(height * (1.0 - q / np.maximum(n.deck_chine_width, 1e-9)), rounding)
    return np.asarray(rail * np.sqrt(_capped(2.0 * n.radius / (rail * rail) * q, n.shoulder)) + deck)


RAIL_RISE_MM = 1.0
"""mm by which the underside of the rail has left the bottom's own curve where the rail is said to begin."""
RAIL_PLACES = 48


def inset_of(n: SectionNumbers, inside_mm: ArrayLike) -> Array:
    """Return the inset in mm of places `inside_mm` inside the widest point, measured square to the stringer."""
    across = 1.0 - np.asarray(inside_mm, dtype=np.float64) / n.half_width
    return np.asarray(n.inset * (1.0 - across * across), dtype=np.float64)


def rail_from(n: SectionNumbers) -> Array:
    """Return how far inside the widest point, mm, the rail begins on the underside: at its edge, or, where it rolls
    into the bottom, where it has risen by RAIL_RISE_MM; n of shape (k,).
    """
    share = np.linspace(0.0, 1.0, RAIL_PLACES)[:, None]
    inset = share * np.minimum(n.tuck, n.inset)
    risen = (n.apex_mm - bottom_rise(n, inset)) - under(n, inset) >= RAIL_RISE_MM
    reach = np.where(risen, inset, 0.0).max(axis=0)
    return np.asarray(n.half_width * (1.0 - np.sqrt(np.maximum(1.0 - reach / n.inset, 0.0))), dtype=np.float64)


def rail_height(n: SectionNumbers) -> Array:
    """Return how high, mm, the rail itself rises from its widest point to the deck, dome and chine taken off."""
    return _deck_rail(n)[0]
