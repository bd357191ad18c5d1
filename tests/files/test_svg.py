"""SVG files parsed by the standard library, measured by svgpathtools, and rendered to pixels by resvg."""

import math
import re
import struct
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import resvg_py
from numpy.typing import NDArray
from svgpathtools import Arc, parse_path
from svgpathtools import Path as SvgPath

from bayloft.drawing.sheet import CUT, DRILL, MARK, SCRIBE, Drawing, Label, Layer
from bayloft.export import svg
from bayloft.export.preflight import ExportError
from bayloft.plane.contour import Contour

STYLES = ["cut", "print", "sheet"]
SVG = "{http://www.w3.org/2000/svg}"
SOLID = Layer(name="SOLID", weight_mm=0.0, fill="#000000")
ROUNDING_MM = 5e-4
"""Half of the last decimal written."""


def parsed(path: Path) -> ElementTree.Element:
    return ElementTree.fromstring(path.read_bytes())


def enclosed(path: SvgPath) -> float:
    """Return the signed area of lines and circular arcs: the polygon's and the segments'."""
    polygon = sum((part.start.conjugate() * part.end).imag for part in path) / 2
    sweeps = [(part.radius.real, math.radians(part.delta)) for part in path if isinstance(part, Arc)]
    return polygon + sum(radius**2 * (sweep - math.sin(sweep)) / 2 for radius, sweep in sweeps)


def coverage(path: Path, pixels_per_mm: float) -> NDArray[np.float64]:
    """Return how much of each pixel is covered (rows, columns) in 0 to 1, rows from the top."""
    data = bytes(resvg_py.svg_to_bytes(svg_path=str(path), dpi=25.4 * pixels_per_mm))
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    place, packed, width, height = 8, b"", 0, 0
    while place < len(data):
        (size,), kind = struct.unpack_from(">I", data, place), data[place + 4 : place + 8]
        body = data[place + 8 : place + 8 + size]
        if kind == b"IHDR":
            width, height, depth, colour_type = struct.unpack_from(">IIBB", body)
            assert (depth, colour_type) == (8, 6), "eight bits of red, green, blue and alpha"
        packed += body if kind == b"IDAT" else b""
        place += 12 + size
    rows = np.frombuffer(zlib.decompress(packed), dtype=np.uint8).reshape(height, 1 + 4 * width)
    return unfiltered(rows)[:, 3::4] / 255


def unfiltered(rows: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return PNG rows without their filters (W3C PNG specification, 9.2 Filter types for filter method 0)."""
    above, plain = [0] * (rows.shape[1] - 1), []
    for kind, *row in rows.tolist():
        for i, value in enumerate(row):
            left, up, corner = (row[i - 4], above[i], above[i - 4]) if i >= 4 else (0, above[i], 0)
            paeth = min((left, up, corner), key=lambda old: abs(left + up - corner - old))
            row[i] = (value + (0, left, up, (left + up) // 2, paeth)[kind]) & 255
        plain.append(row)
        above = row
    return np.array(plain, dtype=np.uint8)


@pytest.mark.parametrize("style", STYLES)
def test_the_root_is_in_millimetres(template: Drawing, style: svg.Style, tmp_path: Path) -> None:
    svg.write(template, tmp_path / "part.svg", style=style)
    root = parsed(tmp_path / "part.svg")
    left, bottom, right, top = template.bounds
    width, height = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    assert root.attrib["viewBox"] == f"0 0 {width:.3f} {height:.3f}"
    assert width == pytest.approx(right - left + 2 * svg.MARGIN_MM, abs=ROUNDING_MM)
    assert height == pytest.approx(top - bottom + 2 * svg.MARGIN_MM, abs=ROUNDING_MM)


def test_another_reader_measures_what_was_drawn(template: Drawing, tmp_path: Path) -> None:
    svg.write(template, tmp_path / "part.svg", style="cut")
    paths = [parse_path(path.attrib["d"]) for path in parsed(tmp_path / "part.svg").iter(f"{SVG}path")]
    lengths = sorted((contour for _, contour in template.contours), key=lambda contour: contour.length_mm)
    for path, contour in zip(sorted(paths, key=SvgPath.length), lengths, strict=True):
        # Each segment may gain or lose half a decimal at both ends.
        assert path.length() == pytest.approx(contour.length_mm, abs=2 * ROUNDING_MM * len(path))
        assert path.isclosed() == contour.closed
        if contour.closed:
            # With y downward the same contour runs the other way round.
            assert enclosed(path) == pytest.approx(-contour.area_mm2, abs=2 * ROUNDING_MM * contour.length_mm)


def test_pixels_lie_where_the_drawing_has_them(tmp_path: Path) -> None:
    # Bulging out on the right and in on top, an arc beyond a half turn below: a wrong flag moves area and centre.
    points = [[10, 20], [20, 16], [32, 17], [50, 14], [52, 40], [12, 36]]
    shape = Contour(points=points, bulges=[0, 1.4, 0, 0.3, -0.25, 0], closed=True)
    drawing = Drawing(name="blob", contours=((SOLID, shape),), page_mm=(70.0, 60.0))
    svg.write(drawing, tmp_path / "blob.svg", style="sheet")
    ink = coverage(tmp_path / "blob.svg", 4.0)
    assert ink.shape == (240, 280)
    # The renderer samples a pixel in quarters: a hundredth of a pixel along the edge, a tenth for the centre.
    assert ink.sum() / 16 == pytest.approx(shape.area_mm2, abs=0.01 / 4 * shape.length_mm)
    corners = shape.flattened(1e-4)
    following = np.roll(corners, -1, axis=0)
    cross = corners[:, 0] * following[:, 1] - corners[:, 1] * following[:, 0]
    centre = ((corners + following) * cross[:, None]).sum(axis=0) / (3 * cross.sum())
    rows, columns = np.mgrid[:240, :280] / 4 + 0.125
    assert (columns * ink).sum() / ink.sum() == pytest.approx(centre[0], abs=0.025)
    assert 60.0 - (rows * ink).sum() / ink.sum() == pytest.approx(centre[1], abs=0.025)
    left, bottom, right, top = shape.bounds
    inked_rows, inked_columns = np.flatnonzero(ink.any(axis=1)) / 4, np.flatnonzero(ink.any(axis=0)) / 4
    # Less than one pixel outward, never inward by more than one.
    assert (inked_columns[0], inked_columns[-1] + 0.25) == pytest.approx((left, right), abs=0.25)
    assert (60.0 - inked_rows[-1] - 0.25, 60.0 - inked_rows[0]) == pytest.approx((bottom, top), abs=0.25)


def test_a_line_of_a_style_has_its_weight_in_pixels(tmp_path: Path) -> None:
    line = Contour.straight([[1, 1], [3, 1]], closed=False)
    drawing = Drawing(name="line", contours=((MARK, line),), page_mm=(4.0, 2.0))
    for style, weight_mm in {"cut": 0.02, "print": 0.25, "sheet": MARK.weight_mm}.items():
        svg.write(drawing, tmp_path / f"{style}.svg", style=style)
        # The renderer takes a quarter of a pixel for its unit: 0.005 mm of 50 pixels each.
        ink_mm2 = coverage(tmp_path / f"{style}.svg", 50.0).sum() / 2500
        assert ink_mm2 == pytest.approx(2 * weight_mm, abs=2 * 0.005)


def test_a_page_has_its_origin_in_its_lower_left_corner(tmp_path: Path) -> None:
    drawing = Drawing(
        name="page", contours=((MARK, Contour.straight([[0, 0], [10, 20]], closed=False)),), page_mm=(297, 210)
    )
    svg.write(drawing, tmp_path / "page.svg", style="sheet")
    root = parsed(tmp_path / "page.svg")
    assert (root.attrib["width"], root.attrib["height"]) == ("297.000mm", "210.000mm")
    assert next(root.iter(f"{SVG}path")).attrib["d"] == "M0.000 210.000 L10.000 190.000"


def test_each_layer_is_one_group_of_its_own(template: Drawing, tmp_path: Path) -> None:
    svg.write(template, tmp_path / "part.svg", style="sheet")
    groups = parsed(tmp_path / "part.svg").findall(f"{SVG}g")
    assert [(group.attrib["id"], group.attrib["class"], len(group)) for group in groups] == [
        ("CUT", "cuts", 3),
        ("MARK", "marks", 1),
        ("CENTRE", "marks", 1),
        ("TEXT", "marks", 3),
    ]


def test_styles_differ_in_weight_dashes_fill_and_colour(template: Drawing, tmp_path: Path) -> None:
    filled = replace(
        template,
        contours=((replace(CUT, name="BODY", fill="#dddddd"), template.contours[0][1]), *template.contours[3:]),
    )
    seen = {}
    for style in STYLES:
        svg.write(filled, tmp_path / "part.svg", style=style)
        seen[style] = {group.attrib["id"]: group.attrib for group in parsed(tmp_path / "part.svg").findall(f"{SVG}g")}
    assert [seen[style]["BODY"]["stroke-width"] for style in STYLES] == ["0.020", "0.250", "0.350"]
    assert [seen[style]["BODY"]["fill"] for style in STYLES] == ["none", "none", "#dddddd"]
    assert [seen[style]["CENTRE"].get("stroke-dasharray") for style in STYLES] == [
        None,
        *["6.000 1.200 1.200 1.200"] * 2,
    ]
    assert [seen[style]["BODY"]["stroke"] for style in STYLES] == ["#ff0000", "#1c1f22", "#1c1f22"]


def test_the_cut_style_is_what_a_tool_follows(template: Drawing, tmp_path: Path) -> None:
    """Marks first and the outline last, so that a part lies still until it is done; no letter that needs a font."""
    scribed = (SCRIBE, Contour.straight([[900.0, 60.0], [950.0, 60.0], [950.0, 90.0]], closed=False))
    hole = (DRILL, Contour.circle((1500.0, 80.0), 4.0))
    drawing = replace(template, contours=(*template.contours, scribed, hole))
    svg.write(drawing, tmp_path / "part.svg", style="cut")
    root = parsed(tmp_path / "part.svg")
    groups = root.findall(f"{SVG}g")
    assert [(group.attrib["id"], group.attrib["stroke"]) for group in groups] == [
        ("MARK", "#000000"),
        ("CENTRE", "#000000"),
        ("SCRIBE", "#008000"),
        ("DRILL", "#0000ff"),
        ("CUT", "#ff0000"),
    ]
    assert {(group.attrib["fill"], group.attrib["stroke-width"]) for group in groups} == {("none", "0.020")}
    assert not any("stroke-dasharray" in group.attrib for group in groups)
    assert not [*root.iter(f"{SVG}text")]
    areas = [abs(enclosed(parse_path(path.attrib["d"]))) for path in groups[-1]]
    assert areas == sorted(areas)
    left, bottom, right, top = drawing.bounds
    assert root.attrib["width"] == f"{right - left + 10:.3f}mm"
    assert root.attrib["height"] == f"{top - bottom + 10:.3f}mm"


def test_text_alone_is_nothing_to_cut(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="nothing to cut or mark"):
        svg.write(Drawing(name="a", labels=(Label(text="a", x_mm=0, y_mm=0),)), tmp_path / "a.svg", style="cut")


@pytest.mark.parametrize(("style", "weight_mm"), [("cut", 0.02), ("print", 0.25)])
def test_a_template_is_as_large_as_it_says(style: svg.Style, weight_mm: float, tmp_path: Path) -> None:
    """Two corner marks 100 mm and 4 in apart, found in the picture; and the ink of a circle tells its weight."""
    square = Contour.straight([[0, 0], [100, 0], [100, 101.6], [0, 101.6]], closed=True)
    contours = ((CUT, square), (DRILL, Contour.circle((50.0, 50.0), 20.0)))
    svg.write(Drawing(name="a", contours=contours), tmp_path / "a.svg", style=style)
    pixels_per_mm = 10.0
    ink = coverage(tmp_path / "a.svg", pixels_per_mm)
    size_mm = ink.shape[1] / pixels_per_mm, ink.shape[0] / pixels_per_mm
    assert size_mm == pytest.approx((110.0, 111.6), abs=1 / pixels_per_mm)
    for axis, length_mm in ((0, 100.0), (1, 101.6)):
        # Along a line through no corner, half the ink is at one side, half at the other.
        strip = ink.take(range(80, 200), axis=axis).sum(axis=axis)
        places = (np.arange(len(strip)) + 0.5) / pixels_per_mm
        low, high = places < size_mm[axis] / 2, places >= size_mm[axis] / 2
        first, last = ((places * strip)[side].sum() / strip[side].sum() for side in (low, high))
        assert last - first == pytest.approx(length_mm, abs=0.02)
        # The renderer takes a quarter of a pixel for its unit of cover.
        assert strip.sum() / 120 / pixels_per_mm / 2 == pytest.approx(weight_mm, abs=0.01)


def test_labels_keep_place_size_turn_and_anchor(template: Drawing, tmp_path: Path) -> None:
    svg.write(template, tmp_path / "part.svg", style="print")
    root = parsed(tmp_path / "part.svg")
    middle, start, end = root.iter(f"{SVG}text")
    left, _, _, top = template.bounds
    assert [label.text for label in (middle, start, end)] == ["100 mm", "Whimbrel 7'4\"", "nose"]
    assert (middle.attrib["text-anchor"], start.get("text-anchor"), end.attrib["text-anchor"]) == (
        "middle",
        None,
        "end",
    )
    x, y = float(start.attrib["x"]), float(start.attrib["y"])
    assert (x, y) == pytest.approx((900 - left + 5, top + 5 - 100), abs=ROUNDING_MM)
    assert start.attrib["transform"] == f"rotate(-15.000 {x:.3f} {y:.3f})"
    assert start.attrib["font-weight"] == "bold"
    assert (start.attrib["fill"], start.attrib["stroke"]) == (template.labels[1].layer.colour, "none")
    assert middle.get("transform") is None
    # Cap height over size: 0.72 of the em, common practice for these faces.
    assert float(start.attrib["font-size"]) * 0.72 == pytest.approx(12.0, abs=ROUNDING_MM)
    assert "sans-serif" in root.attrib["font-family"]


def test_a_label_makes_room_for_itself(tmp_path: Path) -> None:
    sizes = {}
    for turn_deg, anchor in ((0.0, "start"), (90.0, "start"), (0.0, "end"), (0.0, "middle")):
        label = Label(text="Spoonbill 9'4\"", x_mm=0, y_mm=0, height_mm=7.2, turn_deg=turn_deg, anchor=anchor)
        svg.write(Drawing(name="label", labels=(label,)), tmp_path / "label.svg", style="sheet")
        root = parsed(tmp_path / "label.svg")
        sizes[turn_deg, anchor] = tuple(map(float, root.attrib["viewBox"].split()[2:]))
        width = sizes[turn_deg, anchor][0]
        place = {"start": {0: 5, 90: 12.2}[turn_deg], "middle": width / 2, "end": width - 5}[anchor]
        assert float(next(root.iter(f"{SVG}text")).attrib["x"]) == pytest.approx(place)
    assert sizes[0.0, "start"] == sizes[0.0, "middle"] == sizes[0.0, "end"] == sizes[90.0, "start"][::-1]
    assert sizes[0.0, "start"] == pytest.approx((10 * 0.6 * 14 + 10, 10 + 10))


HOSTILE = {
    "<script>alert('x')</script> & \"both\" <!-- ]]>": None,
    "&amp; &#0; &lt;g&gt; %%c ^J": None,
    "a\r\n\tb\x00\x1b[31m\x7f\x85": "a b[31m",
    "לוח \u202egnp.exe\u202c": "לוח gnp.exe",
    "🏄 21½ × 5⅜ 7′4″": None,
    "می\u200cخواهم 👩\u200d🔧": None,
    "x" * 3000: "x" * 247 + "...",
    "\ud800lone\ufffe\U0001ffff": "lone",
    "": "",
}


@pytest.mark.parametrize("style", ["print", "sheet"])
@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:20]))
def test_no_text_becomes_anything_but_text(text: str, style: svg.Style, tmp_path: Path) -> None:
    want = text if HOSTILE[text] is None else HOSTILE[text]
    svg.write(Drawing(name=text, labels=(Label(text=text, x_mm=0, y_mm=0),)), tmp_path / "a.svg", style=style)
    root = parsed(tmp_path / "a.svg")
    assert [element.tag.removeprefix(SVG) for element in root.iter()] == ["svg", "title", "defs", "g", "text"]
    assert (root[0].text or "") == (root[2][0].text or "") == want
    assert len(bytes(resvg_py.svg_to_bytes(svg_path=str(tmp_path / "a.svg"), dpi=96, skip_system_fonts=True))) > 0


def test_names_become_identifiers(tmp_path: Path) -> None:
    layer = Layer(name="rail bands <\"'&>" + "é" * 40)
    drawing = Drawing(name="a", contours=((layer, Contour.circle((0, 0), 5.0)),))
    svg.write(drawing, tmp_path / "a.svg", style="sheet")
    assert parsed(tmp_path / "a.svg")[2].attrib["id"] == "RAIL_BANDS_______" + "_" * 14


@pytest.mark.parametrize("style", STYLES)
def test_every_number_is_plain(template: Drawing, style: svg.Style, tmp_path: Path) -> None:
    svg.write(template, tmp_path / "part.svg", style=style)
    text = (tmp_path / "part.svg").read_text(encoding="utf-8")
    assert not re.search(r"nan|inf|np\.|\de[+-]?\d|\.\d{4}|-0\.000", text.replace("xmlns:ev", ""), re.IGNORECASE)


def test_shallow_arcs_become_lines_and_long_ones_quarters(tmp_path: Path) -> None:
    shallow = Contour(points=[[0, 0], [10, 0]], bulges=[1e-5, 0], closed=False)
    drawing = Drawing(name="a", contours=((MARK, shallow), (MARK, Contour.circle((5, 0), 5.0))))
    svg.write(drawing, tmp_path / "a.svg", style="cut")
    line, circle = (path.attrib["d"] for path in parsed(tmp_path / "a.svg").iter(f"{SVG}path"))
    assert line == "M5.000 10.000 L15.000 10.000"
    assert circle.count("A5.000 5.000 0 0 0") == 4


@pytest.mark.parametrize("style", STYLES)
def test_same_drawing_same_bytes(
    template: Drawing, style: svg.Style, tmp_path: Path, write_elsewhere: Callable[..., None]
) -> None:
    first, second, third = (tmp_path / f"{i}.svg" for i in range(3))
    svg.write(template, first, style=style)
    svg.write(template, second, style=style)
    write_elsewhere("svg", template, third, style=style)
    assert first.read_bytes() == second.read_bytes() == third.read_bytes()


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("bad", ["x_mm", "y_mm", "height_mm", "turn_deg"])
def test_numbers_that_are_not_finite_are_refused(bad: str, style: svg.Style, tmp_path: Path) -> None:
    label = Label(**{"text": "a", "x_mm": 0.0, "y_mm": 0.0, bad: math.inf})
    with pytest.raises(ExportError, match="no finite place"):
        svg.write(Drawing(name="a", labels=(label,)), tmp_path / "a.svg", style=style)
    assert not [*tmp_path.iterdir()]


def test_a_size_beyond_all_numbers_is_refused(tmp_path: Path) -> None:
    line = Contour.straight([[-1e308, 0], [1e308, 0]], closed=False)
    with pytest.raises(ValueError, match="inf cannot be drawn"), np.errstate(over="ignore"):
        svg.write(Drawing(name="a", contours=((MARK, line),)), tmp_path / "a.svg", style="sheet")


def test_only_the_cut_style_is_held_to_what_can_be_cut(tmp_path: Path) -> None:
    drawing = Drawing(name="a", contours=((CUT, Contour.straight([[0, 0], [50, 0]], closed=False)),))
    svg.write(drawing, tmp_path / "a.svg", style="print")
    with pytest.raises(ExportError, match="is open"):
        svg.write(drawing, tmp_path / "b.svg", style="cut")
