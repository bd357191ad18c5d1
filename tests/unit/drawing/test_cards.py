"""Cards for the bay: figures, their size and place on paper, and what the shaping cards say."""

from __future__ import annotations

import functools
import operator
from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
import trimesh
from numpy.typing import NDArray
from shapely import STRtree, box

from bayloft.drawing.curves.bench_figures import bench_stations
from bayloft.drawing.labels import bounds
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BINDING_MM,
    FIGURE_MM,
    LIVE_MM,
    PAPER_MM,
    CardHeading,
    cards,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, most_rows, table, tables
from bayloft.drawing.sheets.shaping_card import shaping_cards
from bayloft.drawing.stacked import unstacked
from bayloft.export import pdf
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.bench.shaping import Shaping
from bayloft.spec.text.stations import usual_stations
from bayloft.tape import figure, station

from ...demo import SPECS, draft

BOARDS = sorted(path.stem for path in (SPECS / "boards").glob("*.toml"))
DIGIT = 0.703
"""Height of a figure of Helvetica in sizes of the font (a figure of 703 units: from memory)."""
HEADING = CardHeading(board="Heron", card="rails", said="", caution="Dust.", day=date(2026, 5, 1), digest="42cf39aa")


def crowded(page: Drawing) -> list[tuple[str, str]]:
    """Return the pairs of labels whose boxes, as wide as in the widest face, lie on one another."""
    boxes = [box(*bounds(label)).buffer(-0.02) for label in page.labels]
    pairs = STRtree(boxes).query(boxes, predicate="intersects").T.tolist()
    return [(page.labels[i].text, page.labels[j].text) for i, j in pairs if i < j]


def outside(page: Drawing) -> list[str]:
    """Return what of a page leaves its live area, but for the ticks of the punch."""
    wide, high = page.page_mm or (0.0, 0.0)
    lying = wide > high
    left = (wide - LIVE_MM[1]) / 2 if lying else BINDING_MM
    low = high - LIVE_MM[0] - BINDING_MM if lying else (high - LIVE_MM[1]) / 2
    area = box(left, low, left + LIVE_MM[lying], low + LIVE_MM[not lying]).buffer(0.4)
    found = [label.text for label in page.labels if not area.covers(box(*bounds(label)))]
    return found + [layer.name for layer, line in page.contours[:-2] if not area.covers(box(*line.bounds))]


def font_sizes(path: Path) -> list[tuple[str, float]]:
    """Return each text of a PDF with the height of its figures in mm."""
    found: list[tuple[str, float]] = []

    def visit(text: str, _cm: object, tm: Sequence[float], _font: object, size: float) -> None:
        if text.strip():
            found.append((text.strip(), size * tm[3] * DIGIT))

    for page in pypdf.PdfReader(path).pages:
        page.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize(
    ("mm", "inch", "metric"),
    [
        (411.1625, "16 3/16", "411.2"),
        (51.59375, "2+", "51.6"),
        (0.79375, "1/32", "0.8"),
        (2.38125, "1/16+", "2.4"),
        (0.3, "0", "0.3"),
        (-3.175, "-1/8", "-3.2"),
        (254.0, "10", "254.0"),
        (None, "–", "–"),
    ],
)
def test_figures_are_written_to_the_mark(mm: float | None, inch: str, metric: str) -> None:
    assert figure(mm, metric=False) == inch
    assert figure(mm, metric=True) == metric


def test_a_figure_is_never_off_by_more_than_half_a_mark() -> None:
    for mm in np.random.default_rng(7).uniform(0.5, 900.0, 2000).tolist():
        said = figure(mm, metric=False)
        value = sum(map(Fraction, said.rstrip("+").split())) + Fraction(said.count("+"), 32)
        assert abs(float(value) * 25.4 - mm) <= 25.4 / 64 + 1e-5


def test_whole_figures_end_on_the_axis_and_the_fraction_follows() -> None:
    assert [part.text for part in unstacked(stack("16 3/16+")).labels] == ["16", "3", "16", "+"]
    whole, over, *_ = unstacked(stack("16 3/16")).labels
    assert (whole.anchor, whole.x_mm) == ("end", 50.0)
    assert over.x_mm > 50.0
    assert over.height_mm >= 0.6 * whole.height_mm
    ((_, bar),) = unstacked(stack("7/16")).contours
    assert bar.bounds[0] == pytest.approx(50.0 + 0.22 * 6.5 - 0.04 * 6.5)
    with pytest.raises(ValueError, match="no figure"):
        unstacked(stack("about 3"))


def stack(text: str) -> Label:
    return Label(text=text, x_mm=50.0, y_mm=60.0, height_mm=6.5, anchor="axis", bold=True)


def test_a_stack_on_paper_reads_in_one_line(tmp_path: Path) -> None:
    page = Drawing(name="a", labels=(stack("16 3/16+"),), page_mm=PAPER_MM)
    pdf.write([page], tmp_path / "a.pdf", title="a")
    with pypdfium2.PdfDocument(tmp_path / "a.pdf") as document:
        assert document[0].get_textpage().get_text_range().strip() == "16 3/16+"


@pytest.mark.parametrize("lying", [False, True])
def test_the_page_lies_on_a4_and_on_letter(lying: bool) -> None:
    heading = CardHeading(board="x" * 60, card="rails", said="", caution="Dust.", lying=lying, digest="0123456789")
    (page,) = cards(heading, [[]])
    wide, high = sorted(page.page_mm or (0.0, 0.0))
    assert wide <= 210.0
    assert high <= 279.4
    assert outside(page) == []
    assert crowded(page) == []
    assert "file 012345" in [label.text for label in page.labels]


def test_a_table_has_room_for_the_widest_figures() -> None:
    columns = [CardColumn(head="from tail", kind="station"), *(CardColumn(head=head) for head in "ABCD")]
    row = CardRow(cells=("14' 9 15/16\"", *["39 13/16+"] * 4), ringed=frozenset({2}))
    rows = [row] * most_rows(columns, HEADING, top_mm(HEADING) - 13.0)
    assert len(rows) >= 15
    (page,) = cards(HEADING, [[table(columns, rows, HEADING).moved(0.0, top_mm(HEADING))]])
    assert crowded(page) == []
    assert outside(page) == []
    with pytest.raises(ValueError, match="too wide"):
        table([*columns, *columns], [CardRow(cells=row.cells * 2)], HEADING)


@pytest.mark.parametrize("name", BOARDS)
def test_shaping_cards_of_every_board(name: str, tmp_path: Path) -> None:
    shape = draft(name)
    stations = usual_stations(shape.board.length_mm, metric=shape.board.metric)
    pages = shaping_cards(shape, Shaping(stations_mm=stations), "42cf39aa", date(2026, 5, 1))
    for page in pages:
        assert crowded(page) == []
        assert outside(page) == []
        assert min(layer.weight_mm for layer in page.layers if layer.weight_mm and layer.fill is None) >= 0.18
    pdf.write(pages, tmp_path / "a.pdf", title="a")
    figures = [size for page in pages for size in page.labels if size.anchor == "axis"]
    assert all(label.height_mm * DIGIT / 0.718 >= 6.0 for label in figures)
    sizes = font_sizes(tmp_path / "a.pdf")
    assert min(size for _, size in sizes) >= 2.1
    working = [size for text, size in sizes if text.replace(".", "").isdigit() and size > 3.2]
    assert min(working) >= 3.7
    # Tail end first, each at its station.
    told = [label.text for label in pages[0].labels]
    at = [told.index(station(x, metric=shape.board.metric)) for x in stations]
    assert at == sorted(at)


def heights(cut: NDArray[np.float64], off_mm: float) -> tuple[float, float]:
    """Return the lowest and the highest place of a section's segments (n, 2, 2) at a distance off the stringer."""
    a, b = cut[:, 0], cut[:, 1]
    crossed = (a[:, 0] - off_mm) * (b[:, 0] - off_mm) < 0.0
    a, b = a[crossed], b[crossed]
    z = a[:, 1] + (off_mm - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    return float(z.min()), float(z.max())


@pytest.mark.parametrize("name", ["spoonbill", "turnstone", "dunlin"])
def test_what_is_measured_is_what_a_mesh_has(name: str) -> None:
    shape = draft(name)
    mesh = meshed(shape.body, grid_for(shape.body, 0.02))
    solid = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    for each in bench_stations(shape, usual_stations(shape.board.length_mm, metric=shape.board.metric), 50.0):
        assert each.across is not None
        cut = trimesh.intersections.mesh_plane(solid, [1.0, 0.0, 0.0], [each.x_mm, 0.0, 0.0])[:, :, 1:]
        assert np.ptp(cut[..., 0]) == pytest.approx(each.width_mm, abs=0.1)
        (low, high), (bottom, deck) = (heights(cut, off) for off in (1e-3, cut[..., 0].max() - 50.0))
        assert high - low == pytest.approx(each.thickness_mm, abs=0.05)
        assert low == pytest.approx(each.rocker_mm, abs=0.05)
        assert high - deck == pytest.approx(each.across.drop_mm, abs=0.06)
        assert bottom - low == pytest.approx(each.across.rise_mm, abs=0.06)
        # A straightedge tried on every pair of places.
        points = cut[:, 0]
        under = points[points[:, 1] < low + (high - low) / 3]
        under = under[np.argsort(under[:, 0])]
        across, up = under.T
        lies = []
        for i in range(0, len(under), 3):
            for j in range(i + 20, len(under), 3):
                edge = up[i] + (up[j] - up[i]) / (across[j] - across[i]) * (across - across[i])
                if (up - edge).min() > -0.06:
                    lies.append(up[i:j] - edge[i:j])
        most = max((float(lie.max()) for lie in lies), default=0.0)
        assert most == pytest.approx(each.across.hollow_mm, abs=0.25)


def test_a_table_too_wide_goes_on_with_its_first_column_and_no_smaller() -> None:
    heading = CardHeading(board="Wide", card="table", said="", caution="", basis="")
    columns = [CardColumn(head="from tail", kind="station"), *(CardColumn(head=f"n{i}") for i in range(9))]
    cells = ("9' 10 15/16\"", *("-32 15/16+" for _ in range(9)))
    rows = [CardRow(cells=cells, ringed=frozenset({9})) for _ in range(3)]
    parts = tables(columns, rows, heading, 60.0)
    assert len(parts) > 2
    heads = [[label.text for label in part.labels if label.text.startswith("n")] for part in parts]
    assert sorted(set(functools.reduce(operator.iadd, heads, []))) == [f"n{i}" for i in range(9)]
    for part in parts:
        assert max(bounds(label)[2] for label in part.labels) <= width_mm(heading) + 1e-6
        assert {label.height_mm for label in part.labels if label.text == "-32 15/16+"} == {FIGURE_MM}
        assert [label.text for label in part.labels].count(cells[0]) == len(rows)
    # What has room is one table, as it was.
    (whole,) = tables(columns[:3], [CardRow(cells=cells[:3])], heading, 60.0)
    plain = table(columns[:3], [CardRow(cells=cells[:3])], heading)
    assert (whole.labels, whole.bounds) == (plain.labels, plain.bounds)
