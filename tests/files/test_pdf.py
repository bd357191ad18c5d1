"""PDF files read by pypdf and rendered to pixels by pdfium."""

import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from numpy.typing import NDArray
from pypdf.generic import ContentStream

from bayloft.drawing.sheet import CUT, MARK, Drawing, Label, Layer
from bayloft.export import pdf
from bayloft.export.preflight import ExportError
from bayloft.plane.contour import Contour
from bayloft.tolerances import BEZIER_MM, PDF_DECIMALS

Array = NDArray[np.float64]

SOLID = Layer(name="SOLID", weight_mm=0.0, fill="#000000")
A4, LETTER = (210.0, 297.0), (215.9, 279.4)
ROUNDING_MM = 10.0**-PDF_DECIMALS / 2


def page(*contours: Contour, layer: Layer = MARK, size: tuple[float, float] = A4, text: str = "") -> Drawing:
    labels = (Label(text=text, x_mm=20, y_mm=30),) if text else ()
    return Drawing(name="page", contours=tuple((layer, contour) for contour in contours), labels=labels, page_mm=size)


def square(left: float, bottom: float, side: float) -> Contour:
    right, top = left + side, bottom + side
    return Contour.straight([[left, bottom], [right, bottom], [right, top], [left, top]], closed=True)


def coverage(path: Path, number: int, pixels_per_mm: float) -> Array:
    """Return how dark each pixel of a page is (rows, columns) in 0 to 1, rows from the top."""
    with pypdfium2.PdfDocument(path) as document:
        picture = document[number].render(scale=25.4 * pixels_per_mm / 72, grayscale=True)
        return 1.0 - picture.to_numpy().reshape(picture.height, picture.width) / 255


def text_of(path: Path) -> str:
    with pypdfium2.PdfDocument(path) as document:
        return document[0].get_textpage().get_text_range()


def drawn(path: Path) -> Iterator[list[Array]]:
    """Return the control points of each path of the first page in its own unit, mm: lines have two, curves four."""
    reader = pypdf.PdfReader(path)
    parts: list[Array] = []
    for operands, operator in ContentStream(reader.pages[0].get_contents(), reader).operations:
        numbers = (
            np.array([float(number) for number in operands]).reshape(-1, 2) if operator in {b"m", b"l", b"c"} else None
        )
        if operator == b"m":
            parts, at = [], numbers[0]
        elif operator in {b"l", b"c"}:
            parts.append(np.vstack([at, numbers]))
            at = numbers[-1]
        elif operator in {b"S", b"B", b"b", b"f"}:
            yield parts


def test_another_reader_finds_pages_and_how_to_print_them(tmp_path: Path) -> None:
    sizes = [A4, LETTER, (420.0, 297.0), (610.0, 5080.0)]
    pages = [page(Contour.circle((50, 50), 20.0), size=size) for size in sizes]
    pdf.write(pages, tmp_path / "a.pdf", title="Whimbrel 7'4\": half outline", subject="Écluse")
    reader = pypdf.PdfReader(tmp_path / "a.pdf", strict=True)
    assert len(reader.pages) == len(sizes)
    for found, size in zip(reader.pages, sizes, strict=True):
        for box in (found.mediabox, found.cropbox, found.trimbox):
            assert [float(side) * 25.4 / 72 for side in box] == pytest.approx([0, 0, *size], abs=1e-3)
        assert (found.rotation, found.user_unit) == (0, 1)
    preferences = reader.viewer_preferences
    assert (preferences.print_scaling, preferences.duplex) == ("/None", "/Simplex")
    assert (reader.metadata.title, reader.metadata.subject) == ("Whimbrel 7'4\": half outline", "Écluse")
    assert (reader.metadata.creator, reader.metadata.author or "") == ("bayloft", "")
    assert reader.pdf_header == "%PDF-1.7"


def test_pixels_lie_where_the_drawing_has_them(tmp_path: Path) -> None:
    # Bulging out on the right and in on top, an arc beyond a half turn below: a wrong handle moves area and centre.
    points = [[10, 20], [20, 16], [32, 17], [50, 14], [52, 40], [12, 36]]
    shape = Contour(points=points, bulges=[0, 1.4, 0, 0.3, -0.25, 0], closed=True)
    pdf.write([page(shape, layer=SOLID, size=(70.0, 60.0))], tmp_path / "a.pdf", title="a")
    ink = coverage(tmp_path / "a.pdf", 0, 10.0)
    # The renderer stretches a page to whole pixels.
    high, wide = ink.shape[0] / 60.0, ink.shape[1] / 70.0
    # It has 256 steps of place and of cover: well within a fiftieth of a pixel along the edge.
    assert ink.sum() / (high * wide) == pytest.approx(shape.area_mm2, abs=0.02 / 10 * shape.length_mm)
    corners = shape.flattened(1e-4)
    following = np.roll(corners, -1, axis=0)
    cross = corners[:, 0] * following[:, 1] - corners[:, 1] * following[:, 0]
    centre = ((corners + following) * cross[:, None]).sum(axis=0) / (3 * cross.sum())
    rows, columns = np.indices(ink.shape) + 0.5
    assert (columns * ink).sum() / ink.sum() / wide == pytest.approx(centre[0], abs=0.01)
    assert 60.0 - (rows * ink).sum() / ink.sum() / high == pytest.approx(centre[1], abs=0.01)


def test_lines_have_their_weight_and_dashes(tmp_path: Path) -> None:
    line = Contour.straight([[5, 10], [65, 10]], closed=False)
    dashed = Layer(name="DASHED", weight_mm=0.5, dashes_mm=(2.0, 1.0), colour="#000000")
    for layer, ink_mm2 in (
        (dashed, 60 * 0.5 * 2 / 3),
        (Layer(name="FULL", weight_mm=0.35, colour="#000000"), 60 * 0.35),
    ):
        pdf.write([page(line, layer=layer, size=(70.0, 20.0))], tmp_path / "a.pdf", title="a")
        assert coverage(tmp_path / "a.pdf", 0, 20.0).sum() / 400 == pytest.approx(ink_mm2, rel=0.01)


@pytest.mark.parametrize("radius_mm", [0.5, 3.0, 60.0, 900.0, 40_000.0])
@pytest.mark.parametrize("sweep_deg", [0.5, 35.0, 90.0, 200.0, 359.0])
def test_curves_stay_within_their_bound_of_the_arc(radius_mm: float, sweep_deg: float, tmp_path: Path) -> None:
    sweep = math.radians(sweep_deg)
    ends = radius_mm * np.array([[1.0, 0.0], [math.cos(sweep), math.sin(sweep)]])
    arc = Contour(points=ends, bulges=[math.tan(sweep / 4), 0.0], closed=False)
    pdf.write([page(arc)], tmp_path / "a.pdf", title="a")
    (parts,) = drawn(tmp_path / "a.pdf")
    t = np.linspace(0.0, 1.0, 201)[:, None]
    # reportlab keeps seven figures of a number.
    slack = max(ROUNDING_MM, 1e-6 * radius_mm)
    swept = 0.0
    for part in parts:
        if len(part) == 2:
            points = part[0] * (1 - t) + part[1] * t
        else:
            points = (
                part[0] * (1 - t) ** 3 + 3 * part[1] * t * (1 - t) ** 2 + 3 * part[2] * t**2 * (1 - t) + part[3] * t**3
            )
        off = np.hypot(*points.T) - radius_mm
        assert np.abs(off).max() <= BEZIER_MM + 2 * slack
        swept += math.degrees(np.diff(np.unwrap(np.arctan2(points[:, 1], points[:, 0]))).sum())
    assert swept == pytest.approx(sweep_deg, abs=math.degrees(3 * slack / radius_mm))


def test_a_template_keeps_its_length(template: Drawing, tmp_path: Path) -> None:
    on_a_page = Drawing(name="a", contours=template.contours, labels=template.labels, page_mm=(2300.0, 400.0))
    pdf.write([on_a_page], tmp_path / "a.pdf", title="a")
    t = np.linspace(0.0, 1.0, 65)[:, None]
    for parts, (_, contour) in zip(drawn(tmp_path / "a.pdf"), template.contours, strict=True):
        length = 0.0
        for part in parts:
            last = len(part) - 1
            weights = np.hstack([math.comb(last, i) * t**i * (1 - t) ** (last - i) for i in range(last + 1)])
            length += np.hypot(*np.diff(weights @ part, axis=0).T).sum()
        length += np.hypot(*(parts[-1][-1] - parts[0][0])) if contour.closed else 0.0
        # Rounded ends, and chords of a 64th of each curve.
        assert length == pytest.approx(contour.length_mm, abs=2e-3 * len(parts) + 1e-3)


def test_nothing_is_drawn_on_the_margin(tmp_path: Path) -> None:
    beyond = page(square(-50, -50, 400), Contour.circle((0, 0), 150.0), layer=SOLID, text="x" * 200)
    pdf.write([beyond, beyond], tmp_path / "a.pdf", title="a", margin_mm=12.0)
    for number in (0, 1):
        ink = coverage(tmp_path / "a.pdf", number, 4.0)
        rows, columns = np.flatnonzero(ink.any(axis=1)) / 4, np.flatnonzero(ink.any(axis=0)) / 4
        # Less than one pixel outward.
        assert (columns[0], columns[-1] + 0.25) == pytest.approx((12.0, 198.0), abs=0.25)
        assert (rows[0], rows[-1] + 0.25) == pytest.approx((12.0, 285.0), abs=0.25)


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_labels_keep_place_height_turn_and_anchor(anchor: str, tmp_path: Path) -> None:
    label = Label(text="HHHH", x_mm=60, y_mm=50, height_mm=10, anchor=anchor, layer=Layer(name="A", colour="#000000"))
    turned = Label(text="HHHH", x_mm=60, y_mm=50, height_mm=10, anchor=anchor, turn_deg=90, layer=label.layer)
    pages = [Drawing(name="a", labels=(one,), page_mm=(120.0, 120.0)) for one in (label, turned)]
    pdf.write(pages, tmp_path / "a.pdf", title="a")
    level, upright = (coverage(tmp_path / "a.pdf", number, 10.0) for number in (0, 1))
    rows, columns = np.flatnonzero(level.any(axis=1)) / 10, np.flatnonzero(level.any(axis=0)) / 10
    # Capitals of a substitute for Helvetica may be a little higher or lower than its own.
    assert (120 - rows[-1] - 0.1, rows[-1] + 0.1 - rows[0]) == pytest.approx((50.0, 10.0), abs=0.5)
    wide = columns[-1] + 0.1 - columns[0]
    left = {"start": 60.0, "middle": 60.0 - wide / 2, "end": 60.0 - wide}[anchor]
    # Beside its stems a letter has some room.
    assert columns[0] == pytest.approx(left, abs=1.6)
    # Read upward, what was to the right is above and what was above is to the left.
    assert np.abs(np.rot90(level[:, :], k=1).sum() - upright.sum()) < 0.02 * level.sum()
    places = np.flatnonzero(upright.any(axis=0)) / 10
    assert (places[0], places[-1] + 0.1) == pytest.approx((50.0, 60.0), abs=0.5)


HOSTILE = {
    "<script>alert('x')</script> & (both) \\ ) ET Q": None,
    "a\r\n\tb\x00\x1b[31m\x7f\x85": "a b[31m",
    "Écluse No. 2, Größe, €": None,
    "21½ × 5⅜ 7′4″ −3 °": "21½ × 5 3/8 7'4\" -3 °",
    "Łódź, Dvořák": "Lódz, Dvorák",
    "Чайка heron 鷺": "????? heron ?",
    "x" * 3000: "x" * 247 + "...",
    "\ud800lone\ufffe\U0001ffff": "lone",
}


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:20]))
def test_no_text_becomes_anything_but_text(text: str, tmp_path: Path) -> None:
    pdf.write([page(text=text, size=(3000.0, 100.0))], tmp_path / "a.pdf", title=text, subject=text)
    want = text if HOSTILE[text] is None else HOSTILE[text]
    assert text_of(tmp_path / "a.pdf") == want
    reader = pypdf.PdfReader(tmp_path / "a.pdf", strict=True)
    assert len(reader.pages) == 1
    assert len(reader.metadata.title) <= 250
    assert reader.metadata.title == reader.metadata.subject


def test_same_drawings_same_bytes(
    template: Drawing, tmp_path: Path, write_elsewhere: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = [Drawing(name="a", contours=template.contours, labels=template.labels, page_mm=(2300.0, 400.0))] * 2
    first, second, third = (tmp_path / f"{i}.pdf" for i in range(3))
    pdf.write(pages, first, title="Whimbrel")
    pdf.write(pages, second, title="Whimbrel")
    # The library reads these as it is loaded.
    for name, value in {"RL_invariant": "0", "RL_pageCompression": "1", "RL_defaultPageSize": "LETTER"}.items():
        monkeypatch.setenv(name, value)
    write_elsewhere("pdf", pages, third, title="Whimbrel")
    assert first.read_bytes() == second.read_bytes() == third.read_bytes()
    assert not re.search(rb"D:20(?!000101)", first.read_bytes())


@pytest.mark.parametrize(
    ("pages", "margin_mm", "problem"),
    [
        ([], 0.0, "there are no pages"),
        ([Drawing(name="part", contours=((CUT, square(0, 0, 10)),))], 0.0, "part: it has no page"),
        ([page(square(0, 0, 9), size=(610.0, 5081.0))], 0.0, "readers take 5080 mm at most"),
        ([page(square(0, 0, 9), size=(math.inf, 10.0))], 0.0, "the page is"),
        ([page(square(0, 0, 9))], 105.0, "a margin of 105 mm leaves nothing"),
        ([page(square(0, 0, 9))], -1.0, "a margin of -1 mm leaves nothing"),
        ([page(square(0, 0, 9)), page()], 0.0, "page: nothing is drawn"),
    ],
)
def test_what_cannot_be_printed_is_refused(
    pages: list[Drawing], margin_mm: float, problem: str, tmp_path: Path
) -> None:
    with pytest.raises(ExportError, match=problem):
        pdf.write(pages, tmp_path / "a.pdf", title="a", margin_mm=margin_mm)
    assert not [*tmp_path.iterdir()]


def test_a_size_beyond_all_numbers_is_refused(tmp_path: Path) -> None:
    line = Contour.straight([[-1e308, 0], [1e308, 0]], closed=False)
    with pytest.raises(ValueError, match="finite"), np.errstate(over="ignore", invalid="ignore"):
        pdf.write([page(line)], tmp_path / "a.pdf", title="a")
