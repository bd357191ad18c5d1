"""Integrals of what lies of a body below a plane, tilted along the body: exact along v, adaptive along u."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.cubics import from_splines, parted, powers, value
from bayloft.solid.surface import DEGREE

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

V_NODES = 6
"""Nodes along v: the highest integrand, x z times a bicubic's n_z, has degree 11."""

KRONROD_NODES = (0.0, 0.434243749346802558, 0.774596669241483377, 0.960491268708020283)
KRONROD_WEIGHTS = (0.450916538658474142, 0.401397414775962223, 0.268488089868333441, 0.104656226026467265)
GAUSS_WEIGHTS = (8.0 / 9.0, 0.0, 5.0 / 9.0, 0.0)
"""Along u: Kronrod's seven nodes over the three of Gauss, the half at and above the middle (from memory; a test holds
them against polynomials)."""

VOLUME_RELATIVE, AREA_RELATIVE = 1e-9, 1e-8
"""By how much the two rules may differ on one strip in u, of the whole of what is integrated; where they differ by
more it is halved."""
MOST_HALVINGS = 24

ROWS_AT_ONCE = 64
"""Rows of a body whose spans are integrated together: as many as stay in the processor's own memory."""

WALL_NODES, WALL_PARTS = 6, 16
"""Nodes on each part of the wall's edge, and parts of each knot span."""

KINDS = 8
"""What is integrated along a row: n_z times 1, x, x^2, z, x z and z^2; n_z of the deck alone; the area."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """A plane z = `height_mm` + `slope` x: the water about a board that heels to neither side, in the board's axes."""

    height_mm: float
    slope: float

    @property
    def steepness(self) -> float:
        """The length in the plane of 1 mm along x."""
        return float(np.sqrt(1.0 + self.slope * self.slope))


@dataclass(frozen=True, slots=True, kw_only=True)
class Below:
    """What lies of a body below a plane, both halves: its volume in mm3 and the centre of that, (x, z) in mm; of the
    face that the plane cuts, as seen from square above z = 0, area in mm2, x of its centre, and second moment about
    that, mm4 (all 0 where it cuts none); area in mm2 of the skin below it, and of that part of it, seen from above,
    that is deck: above the rails' widest point.
    """

    volume_mm3: float
    centre_mm: tuple[float, float]
    face_mm2: float
    face_x_mm: float
    face_second_mm4: float
    skin_mm2: float
    deck_mm2: float


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Lines of constant u (n): coefficients in v of the points and of their derivative in u, (n, nv, 3), and what
    is integrated over each whole span in v, (KINDS, n, spans).
    """

    points: Array
    along: Array
    spans: Array


class CutBody:
    """Asks a board's body, symmetric in y = 0, for what lies of it below planes.

    For each u the surface is a cubic of v on every span, and so is its height over a plane: the roots of that part the
    span, and Gauss's rule on each part is exact. Along u the rows of all knot spans are kept; where the water's edge
    runs off the surface, spans are halved until two rules agree.
    """

    def __init__(self, body: Body) -> None:
        self.body = body
        surface = body.port
        self._x_mm = float(surface.net[..., 0].min() + surface.net[..., 0].max()) / 2.0
        net = surface.net - np.array([self._x_mm, 0.0, 0.0])
        self._lines = BSpline(surface.knots_u, net.reshape(len(net), -1), DEGREE)
        breaks_u, breaks_v = surface.breaks
        self._first, self._matrices = from_splines(surface.knots_v)
        self._is_deck = (breaks_v[1:] + breaks_v[:-1]) / 2.0 > APEX
        self._starts, self._ends = breaks_u[:-1], breaks_u[1:]
        nodes, weights = (np.array(each) for each in (KRONROD_NODES, KRONROD_WEIGHTS))
        self._nodes = np.concatenate([-nodes[:0:-1], nodes])
        self._rules = np.stack([np.concatenate([rule[:0:-1], rule]) for rule in (weights, np.array(GAUSS_WEIGHTS))])
        self._kept = self._rows(self._starts, self._ends)
        # Of the control points, between which all of the surface lies.
        self.lowest_mm, self.highest_mm = float(surface.net[..., 2].min()), float(surface.net[..., 2].max())
        self.ends_mm = float(surface.net[..., 0].min()), float(surface.net[..., 0].max())
        high = Plane(height_mm=self.highest_mm + 1.0, slope=0.0)
        self.whole = self.below(high)
        """The whole body."""

    def _rows(self, starts: Array, ends: Array) -> _Rows:
        """Return the rows at the nodes of strips in u."""
        u = ((starts + ends)[:, None] / 2.0 + (ends - starts)[:, None] / 2.0 * self._nodes).ravel()
        shape = (len(u), -1, 3)
        points, along = self._lines(u).reshape(shape), self._lines(u, 1).reshape(shape)
        spans = np.empty((KINDS, len(u), len(self._first)))
        everywhere = np.arange(len(self._first))
        for first in range(0, len(u), ROWS_AT_ONCE):
            rows = np.arange(first, min(first + ROWS_AT_ONCE, len(u)))
            row, span = (each.ravel() for each in np.meshgrid(rows, everywhere, indexing="ij"))
            p, d = self._cubics(points, row, span), self._cubics(along, row, span)
            found = _integrated(p, d, np.zeros((1, len(row))), np.ones((1, len(row))), self._is_deck[span])
            spans[:, rows] = found.reshape(KINDS, len(rows), -1)
        return _Rows(points, along, spans)

    def _cubics(self, coefficients: Array, row: Indices, span: Indices) -> Array:
        """Return Bernstein's coefficients (4, k, n), at rows and spans (n,), of splines with k components."""
        own = [coefficients[row, self._first[span] + k].T for k in range(DEGREE + 1)]
        matrices = self._matrices[span]
        return np.stack([sum(matrices[:, i, k] * own[k] for k in range(DEGREE + 1)) for i in range(DEGREE + 1)])

    def _below(self, rows: _Rows, height: float, slope: float) -> Array:
        """Return what is integrated along each row below a plane: (KINDS, n)."""
        over = rows.points[..., 2] - height - slope * rows.points[..., 0]
        least = most = over[:, self._first]
        for k in range(1, DEGREE + 1):
            least = np.minimum(least, over[:, self._first + k])
            most = np.maximum(most, over[:, self._first + k])
        total = np.where(most < 0.0, rows.spans, 0.0).sum(axis=2)
        row, span = np.nonzero((most >= 0.0) & (least < 0.0))
        # Bernstein's coefficients bound a span more closely than the spline's.
        near = self._cubics(over[..., None], row, span)[:, 0]
        wet, cut = near.max(axis=0, initial=-np.inf) < 0.0, near.min(axis=0, initial=np.inf) < 0.0
        for kind in range(KINDS):
            whole = rows.spans[kind, row[wet], span[wet]]
            total[kind] += np.bincount(row[wet], whole, minlength=total.shape[1])
        row, span = row[cut & ~wet], span[cut & ~wet]
        if len(row):
            p, d = self._cubics(rows.points, row, span), self._cubics(rows.along, row, span)
            starts, ends = parted(p[:, 2] - height - slope * p[:, 0])
            found = _integrated(p, d, starts, ends, self._is_deck[span])
            for kind in range(KINDS):
                total[kind] += np.bincount(row, found[kind], minlength=total.shape[1])
        return np.asarray(total, dtype=np.float64)

    def below(self, plane: Plane, *, skin: bool = True) -> Below:
        """Return what lies below a plane; without `skin` only volume and centre are exact, the areas are rough
        and those of skin and deck left at 0.
        """
        height = plane.height_mm + plane.slope * self._x_mm
        sums, scales = np.zeros(KINDS), np.zeros(KINDS)
        starts, ends, rows = self._starts, self._ends, self._kept
        half_length = float(np.ptp(self.body.port.net[..., 0])) / 2.0
        for halving in range(MOST_HALVINGS):
            along = _combined(self._below(rows, height, plane.slope), height, plane.slope)
            strips = along.reshape(len(along), len(starts), -1) * ((ends - starts) / 2.0)[None, :, None]
            fine, coarse = ((strips * rule).sum(axis=2) for rule in self._rules)
            if halving == 0:
                totals = np.abs(fine.sum(axis=1))
                high = self.highest_mm - self.lowest_mm
                scales = np.array(
                    [
                        *(VOLUME_RELATIVE * totals[0] * size for size in (1.0, half_length, high)),
                        *(AREA_RELATIVE * totals[7] * size for size in (1.0, half_length, half_length**2, 1.0, 1.0)),
                    ]
                )
            apart = np.abs(fine - coarse) > scales[:, None]
            if not skin:
                apart = apart[:3]
            open_ = apart.any(axis=0) if halving < MOST_HALVINGS - 1 else np.zeros(len(starts), dtype=bool)
            sums += fine[:, ~open_].sum(axis=1)
            if not open_.any():
                break
            middles = (starts[open_] + ends[open_]) / 2.0
            starts, ends = np.concatenate([starts[open_], middles]), np.concatenate([middles, ends[open_]])
            rows = self._rows(starts, ends)
        return self._told(sums, plane, skin=skin)

    def _told(self, sums: Array, plane: Plane, *, skin: bool) -> Below:
        """Return what the sums of one half are of a body."""
        volume, by_x, by_z, face, face_x, face_xx, deck, area = (2.0 * sums).tolist()
        centre = (by_x / volume + self._x_mm, by_z / volume) if volume > 0.0 else (self._x_mm, self.lowest_mm)
        # What rounding leaves of a body all below is no face.
        if face <= 1e-12 * area:
            face = face_x = face_xx = 0.0
        middle = face_x / face if face else 0.0
        return Below(
            volume_mm3=volume,
            centre_mm=centre,
            face_mm2=face,
            face_x_mm=middle + self._x_mm,
            face_second_mm4=face_xx - face * middle * middle,
            skin_mm2=area + self._wall_area(plane) if skin else 0.0,
            deck_mm2=deck if skin else 0.0,
        )

    def _wall_area(self, plane: Plane) -> float:
        """Return the area in mm2 of what lies of an upright wall below a plane, both halves."""
        if self.body.end != "wall":
            return 0.0
        corner = self.body.wall_corner
        return 2.0 * (self._under_edge(plane, corner, 1.0) - self._under_edge(plane, 0.0, corner))

    def _under_edge(self, plane: Plane, low: float, high: float) -> float:
        """Integrate along the wall's edge from v = low to high, over its length in plan, its height or the plane's,
        whichever is less.
        """
        breaks = self.body.port.breaks[1]
        ends = np.concatenate([[low], breaks[(breaks > low) & (breaks < high)], [high]])
        nodes, weights = leggauss(WALL_NODES)
        # The lesser of two heights has corners: so many parts that what they cost is far below the area's own error.
        ends = np.unique(np.concatenate([np.linspace(a, b, WALL_PARTS + 1) for a, b in pairwise(ends)]))
        half = np.diff(ends) / 2.0
        v = ((ends[1:] + ends[:-1]) / 2.0)[:, None] + half[:, None] * nodes
        point, along = (self.body.port.grid([0.0], v.ravel(), dv=order)[0] for order in (0, 1))
        lesser = np.minimum(point[:, 2], plane.height_mm + plane.slope * point[:, 0])
        return float((lesser * np.hypot(along[:, 0], along[:, 1]) * (half[:, None] * weights).ravel()).sum())


def _integrated(points: Array, along: Array, starts: Array, ends: Array, is_deck: NDArray[np.bool_]) -> Array:
    """Return what is integrated (KINDS, n) over parts (k, n) in t of cubics, by their coefficients (4, 3, n) and those
    of their derivative in u.
    """
    nodes, weights = leggauss(V_NODES)
    own, own_u = powers(points), powers(along)
    slopes = np.stack([own[1], 2.0 * own[2], 3.0 * own[3], np.zeros_like(own[3])])
    total = np.zeros((KINDS, starts.shape[1]))
    for start, end in zip(starts, ends, strict=True):
        for node, weight in zip(((1.0 + nodes) / 2.0).tolist(), (weights / 2.0).tolist(), strict=True):
            t = start + (end - start) * node
            x, _, z = value(own, t)
            xu, yu, zu = value(own_u, t)
            xt, yt, zt = value(slopes, t)
            share = (end - start) * weight
            up = xt * yu - yt * xu
            size = np.sqrt(up * up + (yt * zu - zt * yu) ** 2 + (zt * xu - xt * zu) ** 2)
            lifted = up * share
            terms = (lifted, lifted * x, lifted * x * x, lifted * z, lifted * x * z, lifted * z * z)
            for kind, term in enumerate((*terms, np.where(is_deck, lifted, 0.0), size * share)):
                total[kind] += term
    return total


def _combined(sums: Array, height: float, slope: float) -> Array:
    """Return of rows (KINDS, n): volume under the plane, its moments in x and z; the face's area, first and second
    moment; the deck, the skin.

    By the divergence theorem with vectors along z that vanish on the plane: neither it nor an upright wall adds to it.
    """
    one, x, xx, z, xz, zz, deck, area = sums
    volume = z - height * one - slope * x
    by_x = xz - height * x - slope * xx
    by_z = (zz - height * height * one - 2.0 * height * slope * x - slope * slope * xx) / 2.0
    return np.stack([volume, by_x, by_z, -one, -x, -xx, deck, area])
