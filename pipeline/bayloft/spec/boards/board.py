"""A board as trusted values: millimetres, degrees, stations from the tail end; what the rest of bayloft reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from bayloft.errors import Fault, KeyPath
from bayloft.spec.bench.bands import Bands
from bayloft.spec.bench.blank_choice import BlankChoice
from bayloft.spec.bench.fin_panels import USUAL_PANELS, FinPanels
from bayloft.spec.bench.floating import FloatAsked
from bayloft.spec.bench.glass import Glassing
from bayloft.spec.bench.hot_wire import HotWire
from bayloft.spec.bench.shaping import Shaping
from bayloft.spec.bench.stringer import Stringer
from bayloft.spec.boards.channel import Channel
from bayloft.spec.boards.ends import TAILS, PlanCurve
from bayloft.spec.boards.plug import Plug
from bayloft.spec.boards.quantities import Size
from bayloft.spec.boards.templates import AS_LOFTED, Templates
from bayloft.spec.fins.fin import Fin
from bayloft.spec.text.given import Assumed, Given
from bayloft.spec.text.source import Source

TAIL_STRAIGHTNESS = 0.3
"""How straight an outline runs into the corners of a cut-off tail, unless the maker says another: little gathers the
bend at the corner, much draws the tail out straight. One for all boards: the outline would jump where another began to
be the fairest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Nose:
    """The nose: its kind, and the plan radius of its tip in mm, or None for the fairest one."""

    kind: str
    tip_radius_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tail:
    """The tail and its sizes in mm.

    Closed kinds have a `tip_radius_mm` (None: the fairest one). Cut-off kinds have `block_mm`, the full width where
    outline and wall meet (before any corner rounding); `depth_mm`, how far the wall's corners or its middle lie forward
    X
    """

    kind: str
    tip_radius_mm: float | None = None
    block_mm: float = 0.0
    depth_mm: float = 0.0
    corner_radius_mm: float = 0.0
    straightness: float = TAIL_STRAIGHTNESS

    @property
    def curve(self) -> PlanCurve | None:
        """The wall's plan before its corners are rounded, or None where the tail closes to a tip."""
        curve = TAILS[self.kind].curve
        return None if curve is None else curve(self.block_mm / 2, self.depth_mm)

    @property
    def cut_off(self) -> bool:
        """Whether the tail ends in a wall instead of closing to a tip."""
        return TAILS[self.kind].curve is not None

    @property
    def corner_x_mm(self) -> float:
        """Station of the wall's corners before they are rounded; 0 at a tip."""
        curve = self.curve
        return 0.0 if curve is None else float(curve(self.block_mm / 2))

    def notch_mm(self, off_stringer_mm: float) -> float:
        """Return how far a notch between two tips reaches forward at a distance off the stringer; 0 for other tails."""
        curve = self.curve
        if curve is None:
            return 0.0
        here, corner = curve([min(off_stringer_mm, self.block_mm / 2), self.block_mm / 2]).tolist()
        return float(max(here - corner, 0.0))

    @property
    def notched(self) -> bool:
        """Whether the tail ends in two tips with a notch between them."""
        return self.notch_mm(0.0) > 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """The slot for a fin's tab, mm: `length_mm` x `width_mm` with `clearance_mm` on every side of the tab, routed
    `depth_mm` deep with a bit of diameter `bit_mm` in a guide bush of outer diameter `bush_mm`.
    """

    length_mm: float
    width_mm: float
    depth_mm: float
    clearance_mm: float
    bit_mm: float
    bush_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where a fin stands: the rear end of its base `from_tail_mm` from the tail end and `off_stringer_mm` to each side
    (0: one fin on the stringer; more: a pair, port and starboard), measured to the middle of a double foil and to the
    inside face of a flat one. `toe_deg` turns the base from the stringer, its front inward; `cant_deg` leans the tip
    outward from square to the board's flat plane. `slot` is routed where the fin has a tab.
    """

    fin: Fin
    from_tail_mm: float
    off_stringer_mm: float
    toe_deg: float
    cant_deg: float
    path: KeyPath
    slot: Slot | None = None


Scaled = Literal["thickness", "width", "both"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A stretch in which a line may change its bend, mm from the tail end."""

    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """A volume to reach, in litres, and what is scaled for it; `factor`: by how much it was, once it is reached."""

    litres: float
    by: Scaled
    factor: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors:
    """By what the lengths of a board are multiplied for another; tail_rise, nose_rise: heights of the rocker."""

    along: float
    across: float
    up: float
    tail_rise: float
    nose_rise: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Blend:
    """Two boards brought to the length of a third, with nothing of its own; the share of the second in it, and its
    name.
    """

    first: Board
    second: Board
    share: float
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """The board that another is derived from: its name, its file as named, what its lengths were multiplied by; the
    size for which its rails are usual, where it does not give them; whether its maker measures in mm. blend: with what
    other board it is to be mixed.
    """

    name: str
    file: str
    factors: Factors
    size: Size
    metric: bool
    blend: Blend | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A board's numbers. Every tuple of `Given` is sorted by station and holds each station once.

    widths: full widths in mm, without the wide point and without the ends; wide_point: the greatest, outline square
    to the stringer there. hollow: the ends ("nose", "tail") where the outline may go hollow. heights: rocker in mm,
    tail end and nose tip included; lowest_x_mm: station of the lowest point, None to find it; lowest_assumed: the
    maker did not say; usual_heights: near which the rocker runs where no others are given. thicknesses: in mm,
    without the greatest; thickest: the greatest, foil level there; nose_tip_mm / tail_end_mm: at the very ends
    before tip rounding, None for the fairest. sections: the numbers of each quantity of `quantities.QUANTITIES`,
    one entry or more each. drops: further drops of the deck near the rail, mm, to hold the lofted one against.
    channels: from the stringer outwards; plugs: what is let into deck and bottom. hips: where the outline may turn;
    thin_ends, steps: where the foil may go hollow, and turn. aim: the volume to reach. metric: its maker measures in
    mm, and stations are scribed in mm. bands, shaping, hot_wire, glass, afloat: what is asked for, None for none.
    panels: how the fins are cut from panels. origin: the board that it is derived from, None for one of its own numbers
    alone.
    """

    name: str
    slug: str
    length_mm: float
    widths: tuple[Given, ...]
    wide_point: Given
    hollow: frozenset[str]
    nose: Nose
    tail: Tail
    heights: tuple[Given, ...]
    lowest_x_mm: float | None
    thicknesses: tuple[Given, ...]
    thickest: Given
    nose_tip_mm: float | None
    tail_end_mm: float | None
    sections: Mapping[str, tuple[Given, ...]]
    drops: tuple[Given, ...]
    assumed: tuple[Assumed, ...]
    source: Source
    fins: tuple[Placement, ...] = ()
    usual_heights: tuple[Given, ...] = ()
    lowest_assumed: bool = False
    hips: tuple[Turn, ...] = ()
    thin_ends: frozenset[str] = frozenset()
    steps: tuple[Turn, ...] = ()
    aim: Aim | None = None
    channels: tuple[Channel, ...] = ()
    plugs: tuple[Plug, ...] = ()
    templates: Templates = AS_LOFTED
    blank: BlankChoice | None = None
    stringer: Stringer | None = None
    shaping: Shaping | None = None
    bands: Bands | None = None
    hot_wire: HotWire | None = None
    glass: Glassing | None = None
    afloat: FloatAsked | None = None
    panels: FinPanels = USUAL_PANELS
    metric: bool = False
    origin: Origin | None = None

    @property
    def size(self) -> Size:
        """What of this board the usual numbers depend on."""
        return Size(length_mm=self.length_mm, width_mm=self.wide_point.value, thickness_mm=self.thickest.value)

    def fault(self, given: Given, value: str, problem: str, allowed: str = "", hint: str = "") -> Fault:
        """Return a fault of a number of this board, in the file that it is in."""
        return (given.source or self.source).fault(given.path, value, problem, allowed, hint)
