"""A block that is ripped and glued to a stringer of another rocker: how its halves bend, and the shape that they take.

Each half bends as a beam: its sections stay plane and square to the line through their centroids, which keeps its
length, for the halves are free to slide along the stringer until the glue sets.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.errors import BayloftError
from bayloft.foam.profile_line import ProfileLine
from bayloft.lines.board import BoardLines
from bayloft.lines.interpolation import held, interpolating
from bayloft.lines.profile import Profile
from bayloft.solid.body import Body
from bayloft.solid.measure import section, stringer_from_mm

Array = NDArray[np.float64]

BEYOND_MM = 80.0
"""How far past a block's ends its lines are carried on: a foot of the tip's foam may lie there."""
STEP_MM = 5.0
"""Between the places along a block at which its bend is worked out."""
CENTROIDS, INSIDE_MM = 13, 60.0
"""Sections whose centroids are worked out, and how far inside the ends the outermost are: nearer to them a section's
centroid says nothing of how a half bends."""
SAME_RAD, MOST_ROUNDS = 1e-11, 40
"""The change of slope in which a bend is found, and the rounds that it may take."""
PAST_WALL_MM = 30.0
"""The end of a half is free and has no moment in it: past the wall of a cut-off end it stays as it was for so much."""
LEAST_BLUR_MM = 5.0
"""mm off the stringer, at least, within which a half's way outward fades: there is stringer there, and no foam."""


class UnbendableError(BayloftError):
    """No bend of the halves gives the rocker: it turns more sharply than their depth allows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BeamSection:
    """What a section resists bending with: station, area in mm2, height of its centroid in mm, and second moment about
    it in mm4, both halves.
    """

    x_mm: float
    area_mm2: float
    centroid_mm: float
    moment_mm4: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A mark on the bottom at the stringer: its station on the block as it lies on the rack, its height in mm over the
    plane that the bottom stands on, before and after, and there the change of curvature in 1/mm (more rocker:
    positive), and how much of its length bottom and deck gain by it, a share (squeezed: negative).
    """

    x_mm: float
    was_mm: float
    becomes_mm: float
    change_1_mm: float
    bottom_strain: float
    deck_strain: float

    @property
    def most_strain(self) -> float:
        """The greater strain of both faces, as a share."""
        return max(abs(self.bottom_strain), abs(self.deck_strain))

    @property
    def radius_mm(self) -> float:
        """The radius to which a straight half would have to bend to bend so much."""
        return 1.0 / max(abs(self.change_1_mm), 1e-12)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Regluing:
    """How a block's halves bend. was, becomes: the centroid line, as it was and as the block comes to lie in its own
    axes, in which its tail end has not turned; level_rad: the slope in those axes of the plane that the bottom then
    stands on. out_mm: how far each half moves from the stringer's middle; blur_mm: see `shape`.
    """

    lines: BoardLines
    was: ProfileLine
    becomes: ProfileLine
    level_rad: float
    out_mm: float
    blur_mm: float

    def shape(self, points: ArrayLike) -> Array:
        """Return points (..., 3) of the block's port side, in mm, where they come to lie.

        Off the stringer they move by `out_mm`, all but `blur_mm` squared by two distances squared of it, for at the
        stringer both sides of the surface have to meet.
        """
        asked = np.asarray(points, dtype=np.float64)
        s, off = self.was.foot(asked[..., 0], asked[..., 2])
        x, z = self.becomes.beside(s, off)
        y = asked[..., 1]
        return np.stack([x, y + self.out_mm * y / np.sqrt(y * y + self.blur_mm**2), z], axis=-1)

    def marks(self, stations_mm: ArrayLike) -> tuple[Moved, ...]:
        """Return what becomes of marks at stations of the block as it lay on the rack."""
        x = np.asarray(stations_mm, dtype=np.float64)
        along, z, becomes = self._bottom(x)
        _, low, new_low = self._bottom(self._every)
        change = self.becomes.bend(along) - self.was.bend(along)
        to_bottom, to_deck = self.was.foot(x, z)[1], self.was.foot(x, z + self.lines.foil.at(x))[1]
        rows = np.column_stack(
            [x, z - low.min(), becomes - new_low.min(), change, -to_bottom * change, -to_deck * change]
        )
        return tuple(
            Moved(x_mm=a, was_mm=b, becomes_mm=c, change_1_mm=d, bottom_strain=e, deck_strain=f)
            for a, b, c, d, e, f in rows.tolist()
        )

    def _bottom(self, x: Array) -> tuple[Array, Array, Array]:
        """Return places along the centroid line that the bottom at stations belongs to, its heights, and its heights
        over the plane that it then stands on, but for one number.
        """
        z = self.lines.rocker.at(x)
        along, off = self.was.foot(x, z)
        new_x, new_z = self.becomes.beside(along, off)
        return along, z, np.cos(self.level_rad) * new_z - np.sin(self.level_rad) * new_x

    @property
    def _every(self) -> Array:
        length = self.lines.length_mm
        return np.linspace(0.0, length, int(length / STEP_MM) + 1)

    @property
    def everywhere(self) -> tuple[Moved, ...]:
        """Marks all along the block, STEP_MM apart."""
        return self.marks(self._every)

    @property
    def hardest(self) -> Moved:
        """The mark where a face is strained most."""
        return max(self.everywhere, key=lambda mark: mark.most_strain)


def _carried_on(profile: Profile, x: Array) -> Array:
    """Return a line's values at stations, carried on with the bend of its ends beyond them."""
    inside = np.clip(x, 0.0, profile.length_mm)
    over = x - inside
    return profile.at(inside) + over * (profile.at(inside, 1) + over * profile.at(inside, 2) / 2.0)


def beam_sections(body: Body, length_mm: float) -> tuple[BeamSection, ...]:
    """Return what a block's sections resist bending with, from tail to nose."""
    first = max(stringer_from_mm(body), 0.0) + INSIDE_MM
    return tuple(_section(body, float(x)) for x in np.linspace(first, length_mm - INSIDE_MM, CENTROIDS))


def _section(body: Body, x_mm: float) -> BeamSection:
    """Return a section's sums, those of the polygon through many of its points."""
    points = section(body, x_mm, per_span=4).points
    y, z = points[:, 0], points[:, 1] - points[0, 1]
    y2, z2 = np.roll(y, -1), np.roll(z, -1)
    cross = y * z2 - y2 * z
    area = float(cross.sum()) / 2.0
    middle = float(((z + z2) * cross).sum()) / 6.0 / area
    moment = float(((z * z + z * z2 + z2 * z2) * cross).sum()) / 12.0 - area * middle * middle
    return BeamSection(
        x_mm=x_mm, area_mm2=2.0 * area, centroid_mm=middle + float(points[0, 1]), moment_mm4=2.0 * moment
    )


def centroid_line(lines: BoardLines, resisting: tuple[BeamSection, ...]) -> Callable[[Array], Array]:
    """Return the height in mm of the centroid line at stations, beyond the ends too.

    It runs at a share of the depth, which levels off towards the tips: there the bottom runs up to the rail line, and
    a centroid's slope has no bound.
    """
    x = np.array([each.x_mm for each in resisting])
    depth = lines.foil.at(x)
    shares = (np.array([each.centroid_mm for each in resisting]) - lines.rocker.at(x)) / depth
    share = held(x, shares, ((1, 0.0), (1, 0.0)))

    def height(at: Array) -> Array:
        held_at = np.clip(at, x[0], x[-1])
        return _carried_on(lines.rocker, at) + share(held_at) * _carried_on(lines.foil, at)

    return height


def regluing(
    lines: BoardLines,
    resisting: tuple[BeamSection, ...],
    wanted: Profile,
    *,
    out_mm: float = 0.0,
    ripped_mm: float = 0.0,
) -> Regluing:
    """Return how a block bends so that its bottom at the stringer follows a rocker, middle on middle.

    Past the ends of that rocker, and at the wall of a cut-off tail, the halves keep their own curve. out_mm: how far
    each half moves from the stringer's middle; ripped_mm: how far off it the wood and the saw took the foam away.

    The slope of the centroid line is that of the wanted line less what both differ by where the depth changes; the
    lengths along the wanted line follow from the bend, so it is found in rounds.

    Raises
    ------
    UnbendableError
        If the rounds find no bend.
    """
    end = lines.length_mm
    x = np.linspace(-BEYOND_MM, end + BEYOND_MM, int(np.ceil((end + 2.0 * BEYOND_MM) / STEP_MM)) + 1)
    was = ProfileLine.through(x, centroid_line(lines, resisting)(x))
    s = was.places_mm
    own, glued = was.foot(x, _carried_on(lines.rocker, x))
    eta_line = interpolating(own, glued)
    eta, eta_slope = eta_line(np.clip(s, own[0], own[-1])), eta_line(np.clip(s, own[0], own[-1]), 1)
    slope0 = was.slope(s) + np.arctan2(eta_slope, 1.0 - eta * was.bend(s))
    tail_s = float(was.foot(np.zeros(1), lines.rocker.at([0.0]))[0][0])
    beta, long_mm = _slopes_by_length(wanted)
    nose_s = float(was.foot(np.array([end]), lines.rocker.at([end]))[0][0])

    def lengths_along(bend: Array) -> Array:
        along = interpolating(s, np.hypot(1.0 - eta * bend, eta_slope)).antiderivative()
        return np.asarray(along(s) - along(tail_s), dtype=np.float64)

    at_wall = -np.inf if lines.wall is None else lines.wall.reach_mm + PAST_WALL_MM
    bend, slope = was.bend(s), was.slope(s)
    for _ in range(MOST_ROUNDS):
        along = lengths_along(bend)
        ahead = (float(interpolating(s, along)(nose_s)) - long_mm) / 2.0
        inside = np.clip(along, max(ahead, at_wall), ahead + long_mm)
        kept = np.where(inside == along, 0.0, slope0 - np.interp(np.interp(inside, along, s), s, slope0))
        before, slope = slope, beta(inside - ahead) + kept - np.arctan2(eta_slope, 1.0 - eta * bend)
        bend = np.asarray(interpolating(s, slope)(s, 1), dtype=np.float64)
        if not np.all(np.isfinite(bend)):
            break
        if float(np.abs(slope - before).max()) < SAME_RAD:
            turned = float(interpolating(s, slope)(0.0)) - float(was.slope(0.0))
            return Regluing(
                lines=lines,
                was=was,
                becomes=ProfileLine.of_slopes(s, slope - turned, was.at(0.0)),
                level_rad=-turned,
                out_mm=out_mm,
                blur_mm=max(ripped_mm, LEAST_BLUR_MM),
            )
    raise UnbendableError("the wanted rocker turns more sharply than the block's depth lets it bend")


def _slopes_by_length(wanted: Profile) -> tuple[Callable[[Array], Array], float]:
    """Return the slope in radians of a rocker by the length along it from its tail end, and its whole length in mm."""
    x = np.linspace(0.0, wanted.length_mm, int(np.ceil(wanted.length_mm / STEP_MM)) + 1)
    along = interpolating(x, np.hypot(1.0, wanted.at(x, 1))).antiderivative()(x)
    along = along - along[0]
    slope = interpolating(along, np.arctan(wanted.at(x, 1)))
    return lambda at: np.asarray(slope(np.clip(at, 0.0, along[-1])), dtype=np.float64), float(along[-1])
