"""Jigs against the fins they hold: their ends and edges are laid on meshes of the standing fins, cut by trimesh."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from shapely import LineString, MultiPoint, Point

from bayloft.drawing.scribing import Head
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.drawing.templates.fin_gauges import _cant_gauge
from bayloft.drawing.templates.fin_jigs import fin_jigs
from bayloft.lines.fin import FinLines, fin_lines
from bayloft.solid.faces import bottom_height
from bayloft.solid.fin import fin_body
from bayloft.solid.meshing import grid_for, meshed
from bayloft.solid.standing import Stand, base_foil, standing, upright_axes
from bayloft.spec.fins.fin import Fin, FoilSection
from bayloft.spec.loading import load_board, load_fin

from ..demo import draft

Array = NDArray[np.float64]
SPECS = Path(__file__).parents[2] / "specs"
HEAD = Head(kind="Side", board="Dunlin")

MESH_MM = 0.004
"""Chord tolerance of the fins here."""

TOUCH_MM = 0.05
"""What a jig's end may leave or take, and by how much the front end of a base may stray: 0.026 degrees on 112 mm."""

CANT_DEG, PRESSED_DEG, SWEPT_PRESSED_DEG = 0.02, 0.25, 1.3
"""What the cant gauge may change of the cant: of a fin on its mark; and of one pressed along the edge, its base free to
slide, which is more where a hollow has no one land from base to top (measured: 0.20, and 0.08 on all other foils). A
fin swept far back (54 degrees) has little chord in the plate and 1.2 there: on it the gauge holds on the mark only,
and says so."""


def side() -> Fin:
    return load_fin(SPECS / "fins" / "dunlin-side.toml")


def plate_foil(under: Callable[[Array], Array]) -> FoilSection:
    """A foil from coordinates: a quarter-sine of an outer face 6 % thick, and an inner face of one's own, in chords."""
    x = np.concatenate([[0.0], np.geomspace(1e-3, 1.0, 60)])
    outer = 0.06 * np.sqrt(x) * (1.0 - x) * 2.6 + 0.002 * x
    return FoilSection(
        name="plate", outer=tuple(zip(x, outer, strict=True)), inner=tuple(zip(x, under(x), strict=True))
    )


FINS = {
    "hollow": side,
    # What a maker gets who only says "hollow": a fifth of the thickness.
    "hollow by default": lambda: replace(side(), hollow_mm=1.3),
    "flat": lambda: replace(side(), foil="flat", hollow_mm=0.0),
    "double": lambda: replace(side(), foil="double", hollow_mm=0.0),
    "thick double": lambda: replace(side(), foil="double", hollow_mm=0.0, thickness_mm=9.0),
    "file, round under": lambda: replace(side(), section=plate_foil(lambda x: -0.02 * np.sqrt(x) * (1.0 - x))),
    "file, hollow under": lambda: replace(
        side(), section=plate_foil(lambda x: -0.03 * np.sqrt(x) * (1.0 - x) ** 6 + 0.012 * x * (1.0 - x) ** 2)
    ),
    "upright hollow": lambda: replace(side(), rake_mm=10.0),
    "swept": lambda: replace(side(), base_mm=50.0, depth_mm=60.0, rake_mm=80.0, tab=None),
    "swept double": lambda: replace(side(), foil="double", hollow_mm=0.0, depth_mm=114.0, rake_mm=160.0, tab=None),
    "long hollow": lambda: replace(load_fin(SPECS / "fins" / "turnstone-keel.toml"), foil="hollow", hollow_mm=1.6),
}
PLACES = [(3.0, 6.0), (0.0, 0.0), (-2.0, 4.0), (4.0, -5.0)]
"""Toe and cant."""


@cache
def stood(kind: str, toe: float, cant: float) -> tuple[Stand, FinLines, trimesh.Trimesh]:
    """A port fin on the Dunlin's bottom: its frame, its lines, and its mesh in the board's axes."""
    fin = FINS[kind]()
    placement = replace(load_board(SPECS / "boards" / "dunlin.toml").fins[0], fin=fin, toe_deg=toe, cant_deg=cant)
    lines = fin_lines(fin)
    body = fin_body(lines)
    (stand,) = standing([placement], {fin.slug: base_foil(body)}, draft("dunlin").body)
    mesh = meshed(body, grid_for(body, MESH_MM))
    return stand, lines, trimesh.Trimesh(stand.rear_mm + mesh.vertices @ stand.axes, mesh.triangles, process=False)


def said_mm(plate: Drawing, pattern: str) -> float:
    """The length that a text of the plate says, in mm."""
    (found,) = re.findall(pattern, " ".join(label.text for label in plate.labels))
    return float(found)


def steepest(plate: Drawing) -> tuple[Array, Array]:
    """The lower and the upper end of the plate's bearing edge: the long straight steep line farthest to the right."""
    (contour,) = [contour for layer, contour in plate.contours if layer is CUT]
    lines = zip(contour.points, np.roll(contour.points, -1, axis=0), contour.bulges, strict=True)
    steep = [(a, b) for a, b, bulge in lines if bulge == 0.0 and abs(b[1] - a[1]) > max(14.0, 2.0 * abs(b[0] - a[0]))]
    low, high = sorted(max(steep, key=lambda line: line[0][0]), key=lambda point: point[1])
    return low, high


def ends(plate: Drawing) -> tuple[float, Array, Array]:
    """A spreader as a maker sets it up: the station that it says, and the lower and the upper end of its port edge, in
    the board's axes. It stands on the bottom at the stringer's mark.
    """
    station = said_mm(plate, r"([\d.]+) mm\)? from tail")
    low, high = steepest(plate)
    (contour,) = [contour for layer, contour in plate.contours if layer is CUT]
    outline = contour.flattened(1e-3)
    at_stringer = outline[(np.abs(outline[:, 0]) < 5.0) & (outline[:, 1] < low[1])]
    sole = float(at_stringer[np.argmin(np.abs(at_stringer[:, 0])), 1])
    ground = float(bottom_height(draft("dunlin").body, [station], [0.0])[0])
    return station, *(np.array([station, y, ground - (z - sole)]) for y, z in (low, high))


def gaps(mesh: trimesh.Trimesh, normal: Array, low: Array, high: Array, outward: Array) -> tuple[Array, Array]:
    """What is between an edge and the fin, in the plane of the plate: signed distances (n,), above nought where there
    is room, and the places (n, 3).
    """
    segments = trimesh.intersections.mesh_plane(mesh, normal, low)
    shares = np.linspace(0.0, 1.0, 9)[:, None, None]
    places = (segments[:, 0] + shares * (segments[:, 1] - segments[:, 0])).reshape(-1, 3)
    along = (high - low) / np.linalg.norm(high - low)
    square = outward - (outward @ along) * along
    square /= np.linalg.norm(square)
    beside = (places - low) @ along
    kept = places[(beside >= 0.0) & (beside <= np.linalg.norm(high - low))]
    return (kept - low) @ square, kept


def between(mesh: trimesh.Trimesh, edge: tuple[float, Array, Array]) -> tuple[float, Array]:
    """The least gap at the port end of a spreader, and where it is."""
    found, places = gaps(mesh, np.array([1.0, 0.0, 0.0]), *edge[1:], np.array([0.0, 1.0, 0.0]))
    return float(found.min()), places[np.argmin(found)]


def moved(mesh: trimesh.Trimesh, stand: Stand, turn_deg: float, off_mm: float) -> trimesh.Trimesh:
    """The fin turned on the bottom about the rear end of its base, toe inward above nought, and moved outward."""
    turn = trimesh.transformations.rotation_matrix(-np.radians(turn_deg), [0.0, 0.0, 1.0], stand.rear_mm)
    turned = mesh.copy()
    turned.apply_transform(turn)
    turned.apply_translation([0.0, off_mm, 0.0])
    return turned


def on_land(stand: Stand, mesh: trimesh.Trimesh, place: Array) -> float:
    """How far a place is from a straight edge laid along the chord on the face there: the hull of the fin's section."""
    section = trimesh.intersections.mesh_plane(mesh, stand.axes[2], place).reshape(-1, 3)
    flat = (section - stand.rear_mm) @ stand.axes[:2].T
    hull = MultiPoint(flat).convex_hull
    return float(hull.exterior.distance(Point((place - stand.rear_mm) @ stand.axes[:2].T)))


@pytest.mark.parametrize("kind", FINS)
@pytest.mark.parametrize(("toe", "cant"), PLACES)
def test_spreaders_bear_on_the_land_and_give_the_toe(kind: str, toe: float, cant: float) -> None:
    stand, lines, mesh = stood(kind, toe, cant)
    plates = fin_jigs("Dunlin", stand, lines, draft("dunlin").body, HEAD)
    assert [plate.name for plate in plates] == ["spreader", "spreader"]
    set_up = [ends(plate) for plate in plates]
    touched = [between(mesh, edge) for edge in set_up]
    for gap, place in touched:
        # The station is printed to a tenth of a millimetre.
        assert abs(gap) < TOUCH_MM
        assert on_land(stand, mesh, place) < TOUCH_MM
    assert touched[1][1][0] - touched[0][1][0] > 0.4 * stand.placement.fin.base_mm, "far enough apart to hold the toe"

    # The fin as the spreaders hold it: turned and moved until it touches both.
    held = np.zeros(2)
    for _ in range(4):
        here = np.array([between(moved(mesh, stand, *held), edge)[0] for edge in set_up])
        steps = [held + step for step in ([0.05, 0.0], [0.0, 0.05])]
        there = np.array([[between(moved(mesh, stand, *step), edge)[0] for edge in set_up] for step in steps])
        held = held - np.linalg.solve((there - here).T / 0.05, here)
    assert abs(np.radians(held[0])) * stand.placement.fin.base_mm < TOUCH_MM, "toe lost or won over the base"
    assert abs(held[1]) < TOUCH_MM


@pytest.mark.parametrize("kind", FINS)
@pytest.mark.parametrize(("toe", "cant"), PLACES)
def test_the_face_of_a_spreader_that_bears(kind: str, toe: float, cant: float) -> None:
    """A plate of 6 mm whose said face stands at the station goes between the fins on its other face too."""
    stand, lines, mesh = stood(kind, toe, cant)
    for plate in fin_jigs("Dunlin", stand, lines, draft("dunlin").body, HEAD):
        text = " ".join(label.text for label in plate.labels)
        station, low, high = ends(plate)
        sides = [6.0] if "after face" in text else [-6.0] if "forward face" in text else [6.0, -6.0]
        for stuff in sides:
            shifted = [place + np.array([stuff, 0.0, 0.0]) for place in (low, high)]
            found, _ = gaps(mesh, np.array([1.0, 0.0, 0.0]), *shifted, np.array([0.0, 1.0, 0.0]))
            assert found.min(initial=0.0) > -TOUCH_MM
        if "forward face" not in text and "after face" not in text:
            assert abs(toe) < 0.5, station


@pytest.mark.parametrize("kind", FINS)
@pytest.mark.parametrize(("toe", "cant"), PLACES)
def test_the_cant_gauge_bears_on_the_land_and_gives_the_cant(kind: str, toe: float, cant: float) -> None:
    stand, lines, mesh = stood(kind, toe, cant)
    (plate,) = _cant_gauge("Dunlin", stand, lines, draft("dunlin"))
    at = said_mm(plate, r"([\d.]+) mm\)? ahead of the rear end")
    place, upright = stand.rear_mm + at * stand.axes[0], upright_axes(stand.axes)
    # On paper the stringer is to the right and away from the board is up; the other end of the foot is a short one.
    low, high = (place - x * upright[1] + y * upright[2] for x, y in steepest(plate))
    found, places = gaps(mesh, stand.axes[0], low, high, upright[1])
    assert abs(found.min()) < TOUCH_MM
    assert on_land(stand, mesh, places[np.argmin(found)]) < TOUCH_MM

    # The fin with its base on its mark, leaned until it touches the gauge.
    heights = (places - stand.rear_mm) @ stand.axes[2]
    assert abs(np.degrees((found / heights).min())) < CANT_DEG

    # And pressed along the middle half of the edge.
    beside = (places - low) @ (high - low) / np.linalg.norm(high - low)
    hull = MultiPoint(np.column_stack([beside, found])).convex_hull
    quarters = np.array([0.25, 0.75]) * beside.max()
    near = [hull.intersection(LineString([(at, -100.0), (at, 100.0)])).bounds[1] for at in quarters]
    allowed = SWEPT_PRESSED_DEG if kind.startswith("swept") else PRESSED_DEG
    assert np.degrees(np.ptp(near) / np.ptp(quarters)) < allowed
