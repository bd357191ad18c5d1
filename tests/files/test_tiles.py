"""Full-size pages rendered by pdfium, put together by the marks found in the pictures, and measured."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from shapely import MultiLineString

from bayloft.drawing.pages.long_check import long_check
from bayloft.drawing.pages.page_grid import page_grid
from bayloft.drawing.pages.tiles import CROSS_MM, paper_pages
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.export import pdf
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Paper

Array = NDArray[np.float64]

DPI = 200
WITHIN_MM = 0.1
"""The greatest error that is asked for of tiles put together."""

PAPERS = {
    "A4": Paper(kind="A4", width_mm=210.0, height_mm=297.0, margin_mm=8.0, overlap_mm=10.0),
    "Letter": Paper(kind="Letter", width_mm=215.9, height_mm=279.4, margin_mm=6.35, overlap_mm=12.7),
}
TITLE = "Whimbrel, half outline"


@dataclass(frozen=True)
class Picture:
    """A page as pixels: its size in mm, how much ink of the marks' colour and of the contour's each pixel has."""

    name: str
    size_mm: tuple[float, float]
    marks: Array
    lines: Array

    def at(self, ink: Array, places_mm: Array) -> Array:
        """Return the ink at places (..., 2) in mm from the lower left corner, between pixels by their distances."""
        high, wide = ink.shape
        columns = places_mm[..., 0] / self.size_mm[0] * wide - 0.5
        rows = (1.0 - places_mm[..., 1] / self.size_mm[1]) * high - 0.5
        return np.asarray(map_coordinates(ink, [rows, columns], order=1))

    def middle(self, ink: Array, place: Array, across: Array, reach_mm: float) -> tuple[Array, Array]:
        """Return how far from places (n, 2) along unit vectors (n, 2) the middle of the ink is, and how much it is."""
        off = np.linspace(-reach_mm, reach_mm, 161)
        found = self.at(ink, place[:, None] + off[:, None] * across[:, None])
        amount = found.sum(axis=1) * (off[1] - off[0])
        with np.errstate(invalid="ignore", divide="ignore"):
            return (found * off).sum(axis=1) / found.sum(axis=1), amount

    def cross(self, near: Array, arms: tuple[Array, Array]) -> Array:
        """Return the middle of a cross, each arm seen on the side given by a unit vector: its middle across that."""
        place = near.copy()
        for arm in arms:
            across = np.abs(arm[::-1])
            along = near + arm * np.linspace(0.3, 0.8, 20)[:, None] * CROSS_MM
            off, amount = self.middle(self.marks, along, np.tile(across, (20, 1)), 1.5)
            assert amount.min() > 0.08
            place = place + across * off.mean()
        return place


@pytest.fixture(scope="session")
def part(template: Drawing) -> Drawing:
    return Drawing(name="half", contours=((CUT, template.contours[0][1]),))


@pytest.fixture(scope="session", params=sorted(PAPERS))
def paper(request: pytest.FixtureRequest) -> Paper:
    return PAPERS[request.param]


@pytest.fixture(scope="session")
def printed(part: Drawing, paper: Paper, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tiles") / "half.pdf"
    pdf.write(paper_pages(part, paper, title=TITLE), path, title=TITLE, margin_mm=paper.margin_mm)
    return path


@pytest.fixture(scope="session")
def pictures(printed: Path) -> dict[str, Picture]:
    found = {}
    with pypdfium2.PdfDocument(printed) as document:
        for page in [*document][1:]:
            words = page.get_textpage().get_text_range()
            (name,) = re.findall(rf"([A-Z]+\d+)\s+{TITLE}", words)
            colours = page.render(scale=DPI / 72, rev_byteorder=True).to_numpy()[:, :, :3].astype(np.float64)
            # The marks are #a0401c: red and little blue; the contour is #1c1f22, without a hue.
            marks = (colours[..., 0] - colours[..., 2]).clip(0.0) / (0xA0 - 0x1C)
            lines = (255.0 - colours[..., 0]) / (255 - 0x1C)
            size = tuple(side * 25.4 / 72 for side in page.get_size())
            found[name] = Picture(name=name, size_mm=size, marks=marks, lines=lines * (marks < 0.05))
    return found


@pytest.fixture(scope="session")
def corners(pictures: dict[str, Picture], paper: Paper) -> dict[str, Array]:
    """The crosses (2, 2, 2) of each page in mm from its lower left corner: by left or right, by below or above."""
    inset = paper.margin_mm + paper.overlap_mm / 2
    found = {}
    for name, picture in pictures.items():
        found[name] = np.empty((2, 2, 2))
        for i, j in np.ndindex(2, 2):
            side = np.array([i, j])
            near = inset + side * (np.array(picture.size_mm) - 2 * inset)
            outward = np.diag(2.0 * side - 1.0)
            found[name][i, j] = picture.cross(near, (outward[0], outward[1]))
    return found


@pytest.fixture(scope="session")
def origins(corners: dict[str, Array], part: Drawing, paper: Paper) -> dict[str, Array]:
    """Where in the drawing each page's lower left corner comes to lie when it is joined to its neighbours, cross on
    cross, the first page being where it belongs.
    """
    grid = page_grid(part, paper)
    first = grid.kept[0]
    placed = {first.name: np.array(grid.window(first)[:2]) - paper.margin_mm}
    cells = {cell.name: cell for cell in grid.kept}
    while len(placed) < len(cells):
        for name, cell in cells.items():
            for other, here, there in zip(cell.beside, "0110", "1001", strict=True):
                if other.name not in cells or other.name in placed or name not in placed:
                    continue
                mine, theirs = (
                    corners[page][int(end)] if other.row == cell.row else corners[page][:, int(end)]
                    for page, end in ((name, here), (other.name, there))
                )
                placed[other.name] = placed[name] + (mine - theirs).mean(axis=0)
    return placed


def along(contour: Contour) -> tuple[Array, Array]:
    """Return points (n, 2) every few mm on a contour and unit vectors (n, 2) across it."""
    points = contour.flattened(1e-4)
    points = np.vstack([points, points[:1]])
    lengths = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    places = np.arange(1.0, lengths[-1], 4.0)
    at = [np.column_stack([np.interp(places + d, lengths, points[:, axis]) for axis in (0, 1)]) for d in (-0.2, 0.2)]
    chords = at[1] - at[0]
    return (at[0] + at[1]) / 2, np.column_stack([-chords[:, 1], chords[:, 0]]) / np.hypot(*chords.T)[:, None]


def test_tiles_put_together_give_the_contour(
    pictures: dict[str, Picture], origins: dict[str, Array], part: Drawing, paper: Paper
) -> None:
    points, across = along(part.contours[0][1])
    seen = np.zeros(len(points), dtype=int)
    errors = np.full((len(points), 4), np.nan)
    for name, picture in pictures.items():
        places = points - origins[name]
        inside = ((places > paper.margin_mm + 1.0) & (places < np.array(picture.size_mm) - paper.margin_mm - 1.0)).all(
            axis=1
        )
        # Where a mark or letter lies near the line, or at the corners of the part, there is more ink than the line's.
        off, amount = picture.middle(picture.lines, places, across, 0.9)
        marked = np.array([picture.at(picture.marks, places + d * across) for d in np.linspace(-1.2, 1.2, 25)]).max(
            axis=0
        )
        good = inside & (np.abs(amount - CUT.weight_mm) < 0.06) & (marked < 0.02)
        errors[good, seen[good]] = off[good]
        seen[good] += 1
        assert (amount[inside & (marked < 0.02)] > 0.2).all(), "the line is missing somewhere"
    assert (seen > 0).mean() > 0.9
    assert np.nanmax(np.abs(errors)) < WITHIN_MM
    # Of the same line, two pages that overlap say the same.
    twice = seen > 1
    assert twice.sum() > 20
    assert np.abs(errors[twice, 0] - errors[twice, 1]).max() < WITHIN_MM / 2


def test_crosses_stand_half_an_overlap_inside_what_is_printed(
    corners: dict[str, Array], pictures: dict[str, Picture], paper: Paper
) -> None:
    inset = paper.margin_mm + paper.overlap_mm / 2
    for name, found in corners.items():
        wide, high = (side - inset for side in pictures[name].size_mm)
        meant = np.array([[[inset, inset], [inset, high]], [[wide, inset], [wide, high]]])
        assert np.abs(found - meant).max() < WITHIN_MM


def test_crosses_of_neighbours_fall_on_one_another(
    corners: dict[str, Array], origins: dict[str, Array], part: Drawing, paper: Paper
) -> None:
    grid = page_grid(part, paper)
    for cell in grid.kept:
        left, bottom, right, top = grid.box(cell)
        meant = np.array([[[left, bottom], [left, top]], [[right, bottom], [right, top]]])
        assert np.abs(corners[cell.name] + origins[cell.name] - meant).max() < WITHIN_MM


def test_the_long_check_is_as_long_as_the_map_says(
    pictures: dict[str, Picture], origins: dict[str, Array], printed: Path, part: Drawing, paper: Paper
) -> None:
    words = " ".join(pypdf.PdfReader(printed).pages[0].extract_text().split())
    ((stated, inches, near, far),) = re.findall(
        r"double rings: (\d+) mm \((\d+\.\d\d) in\), from ([A-Z]+\d+) to ([A-Z]+\d+)", words
    )
    assert float(inches) == pytest.approx(float(stated) / 25.4, abs=0.005)
    check = long_check(page_grid(part, paper), MultiLineString([part.contours[0][1].flattened(0.1)]))
    found = []
    for name, place in zip((near, far), check.places_mm, strict=True):
        picture, at = pictures[name], np.array(place) - origins[name]
        centre = at.copy()
        for axis in (0, 1):
            ways = np.eye(2)[axis], np.eye(2)[1 - axis]
            arm = at + np.concatenate([np.linspace(-4.6, -3.0, 10), np.linspace(3.0, 4.6, 10)])[:, None] * ways[0]
            off, amount = picture.middle(picture.marks, arm, np.tile(ways[1], (20, 1)), 1.2)
            assert amount.min() > 0.08
            centre = centre + ways[1] * off.mean()
        found.append(centre + origins[name])
    assert np.hypot(*(found[1] - found[0])) == pytest.approx(float(stated), abs=WITHIN_MM)
    # Over the greater part of the sheet.
    assert float(stated) > 0.8 * 2235.0


@pytest.mark.parametrize(("words", "size_mm"), [("100 × 50 mm", (100.0, 50.0)), ("4 × 2 in", (101.6, 50.8))])
def test_check_boxes_measure_as_they_say(words: str, size_mm: tuple[float, float], printed: Path) -> None:
    with pypdfium2.PdfDocument(printed) as document:
        page = document[0]
        text = page.get_textpage()
        index, count = text.search(words).get_next()
        boxes = np.array([text.get_charbox(i) for i in range(index, index + count) if text.get_text_range(i, 1) != " "])
        picture = page.render(scale=DPI / 72, grayscale=True)
        ink = 1.0 - picture.to_numpy().reshape(picture.height, picture.width) / 255
        size = [side * 25.4 / 72 for side in page.get_size()]
    middle = np.array([boxes[:, 0].min() + boxes[:, 2].max(), boxes[:, 1].min() + boxes[:, 3].max()]) / 2 * 25.4 / 72
    for axis, length in enumerate(size_mm):
        # Beside the words: across at a fifth of the height, upward at a fifth of the width.
        start = middle + np.array([[0.0, -0.3 * size_mm[1]], [-0.4 * size_mm[0], 0.0]])[axis]
        off = np.arange(-0.53 * length, 0.53 * length, 0.01)
        places = start + off[:, None] * np.eye(2)[axis]
        view = Picture(name="map", size_mm=(size[0], size[1]), marks=ink, lines=ink)
        found = view.at(ink, places)
        sides = [(off * found)[half].sum() / found[half].sum() for half in (off < 0, off > 0)]
        assert sides[1] - sides[0] == pytest.approx(length, abs=0.05)


def test_nothing_is_printed_where_the_printer_cannot_reach(pictures: dict[str, Picture], paper: Paper) -> None:
    for picture in pictures.values():
        # A pixel that the edge runs through has some ink.
        wide = int((paper.margin_mm - 25.4 / DPI) / 25.4 * DPI)
        edges = np.ones(picture.lines.shape, dtype=bool)
        edges[wide:-wide, wide:-wide] = False
        assert picture.lines[edges].max() == picture.marks[edges].max() == 0.0


def test_every_page_names_itself_its_place_and_its_neighbours(printed: Path, part: Drawing, paper: Paper) -> None:
    grid = page_grid(part, paper)
    reader = pypdf.PdfReader(printed)
    assert len(reader.pages) == len(grid.kept) + 1
    first = " ".join(reader.pages[0].extract_text().split())
    assert f"{len(grid.kept)} pages ({grid.kept[0].name} to {grid.kept[-1].name})" in first
    for number, (cell, page) in enumerate(zip(grid.kept, reader.pages[1:], strict=True), 1):
        words = page.extract_text()
        assert f"page {number} of {len(grid.kept)}, full size" in words
        beside = [other for other in cell.beside if other in grid.kept]
        assert beside
        for other in beside:
            near, far = sorted((cell, other))
            assert f"{near.name}-{far.name}" in words
        arrows = set(re.findall(r"^([A-Z]+\d+)$", words, re.MULTILINE)) - {cell.name}
        assert arrows == {other.name for other in beside}
        assert cell.name in first.split()
    assert all(first <= second for first, second in pairwise(grid.kept))
