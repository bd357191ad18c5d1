"""DXF files read back by GDAL, and by their bare tags."""

import math
import pickle
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely

from bayloft.drawing.sheet import CENTRE, CUT, MARK, Drawing, Label, Layer
from bayloft.export import dxf
from bayloft.export.preflight import ExportError
from bayloft.plane.contour import Contour
from bayloft.tolerances import FLATTENING_MM

VERSIONS = ["R2000", "R12"]
ARC_STEP_DEG = 0.25
"""Arcs look short in GDAL at its usual 4 degrees."""


@pytest.fixture(autouse=True)
def _fine_arcs() -> None:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": ARC_STEP_DEG})


def read_by_gdal(path: Path) -> list[tuple[str, shapely.Geometry, str | None]]:
    meta, _, shapes, fields = pyogrio.raw.read(path)
    columns = dict(zip(meta["fields"], fields, strict=True))
    return list(zip(columns["Layer"], shapely.from_wkb(shapes), columns["Text"], strict=True))


def tags(path: Path) -> list[tuple[int, str]]:
    lines = path.read_bytes().decode("cp1252").split("\n")
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=False)]


def header(path: Path) -> dict[str, list[str]]:
    values: dict[str, list[str]] = {}
    for code, value in tags(path):
        if code == 9:
            values[value] = []
        elif (code, value) == (0, "ENDSEC"):
            return values
        elif values:
            values[[*values][-1]].append(value)
    raise AssertionError("the header has no end")


def records(path: Path, section: str) -> list[list[tuple[int, str]]]:
    """Return the tags of each record (from one group code 0 to the next) of a section."""
    inside, found = False, []
    for code, value in tags(path):
        if (code, value) == (2, section):
            inside = True
        elif (code, value) == (0, "ENDSEC"):
            inside = False
        elif inside and code == 0:
            found.append([(code, value)])
        elif inside and found:
            found[-1].append((code, value))
    return found


@pytest.mark.parametrize("version", VERSIONS)
def test_another_reader_measures_what_was_drawn(template: Drawing, version: dxf.Version, tmp_path: Path) -> None:
    path = tmp_path / "part.dxf"
    dxf.write(template, path, version=version)
    found = read_by_gdal(path)
    assert [layer for layer, _, _ in found] == ["CUT", "CUT", "CUT", "MARK", "CENTRE", "TEXT", "TEXT", "TEXT"]
    # GDAL's 0.25 degree steps leave the flattest arcs, of 5.4 m, by 0.013 mm; R12's own lines leave any by 0.01 mm.
    off_mm = {"R2000": 5400 * math.radians(ARC_STEP_DEG) ** 2 / 8, "R12": FLATTENING_MM}[version]
    for (layer, shape, _), (_, contour) in zip(found, template.contours, strict=False):
        # A chord is shorter than its arc by 8 s^2 / 3c: worst is the small circle, 50 chords in R12, with 0.021 mm.
        assert shape.length == pytest.approx(contour.length_mm, abs=0.025), layer
        assert shape.is_closed == contour.closed
        assert shape.bounds == pytest.approx(contour.bounds, abs=FLATTENING_MM + 1e-6)
        if contour.closed:
            ring = shapely.LinearRing(shape.coords)
            area = shapely.Polygon(ring).area * (1 if ring.is_ccw else -1)
            assert area == pytest.approx(contour.area_mm2, abs=off_mm * contour.length_mm)


def test_r2000_says_millimetres_and_r12_cannot(template: Drawing, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf")
    dxf.write(template, tmp_path / "part-r12-mm.dxf", version="R12")
    modern, old = header(tmp_path / "part.dxf"), header(tmp_path / "part-r12-mm.dxf")
    assert modern["$ACADVER"] == ["AC1015"]
    assert modern["$INSUNITS"] == ["4"]
    assert modern["$MEASUREMENT"] == ["1"]
    assert old["$ACADVER"] == ["AC1009"]
    assert "$INSUNITS" not in old
    left, bottom, right, top = template.bounds
    for values in (modern, old):
        assert "-0.0" not in values["$EXTMIN"]
        assert [float(value) for value in values["$EXTMIN"]] == pytest.approx([left, bottom, 0], abs=1e-6)
        assert [float(value) for value in values["$EXTMAX"]] == pytest.approx([right, top, 0], abs=1e-6)


def test_r2000_holds_one_closed_polyline_of_true_arcs_per_contour(template: Drawing, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf")
    entities = records(tmp_path / "part.dxf", "ENTITIES")
    assert [entity[0][1] for entity in entities] == ["LWPOLYLINE"] * 5 + ["TEXT"] * 3
    for entity, (layer, contour) in zip(entities, template.contours, strict=False):
        values = {code: [value for other, value in entity if other == code] for code, _ in entity}
        points = np.column_stack([np.array(values[10], dtype=float), np.array(values[20], dtype=float)])
        assert values[8] == [layer.name]
        assert values[90] == [str(len(contour.points))]
        assert int(values[70][0]) & 1 == contour.closed
        assert points == pytest.approx(contour.points, abs=5.1e-7)
        assert [float(bulge) for bulge in values.get(42, [])] == pytest.approx(
            contour.bulges[np.abs(contour.bulges) > 6e-9], abs=6e-9
        )
        assert "-0.0" not in values[10] + values[20]


def test_r12_holds_polylines_of_straight_lines_only(template: Drawing, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf", version="R12")
    entities = records(tmp_path / "part.dxf", "ENTITIES")
    kinds = [entity[0][1] for entity in entities]
    assert set(kinds) == {"POLYLINE", "VERTEX", "SEQEND", "TEXT"}
    assert kinds.count("POLYLINE") == len(template.contours)
    assert all(float(dict(entity).get(42, 0.0)) == 0.0 for entity in entities)
    closed = [int(dict(entity).get(70, 0)) & 1 for entity in entities if entity[0][1] == "POLYLINE"]
    assert closed == [1, 1, 1, 0, 0]


@pytest.mark.parametrize("version", VERSIONS)
def test_the_drawing_opens_in_full_view(template: Drawing, version: dxf.Version, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf", version=version)
    view = next(dict(record) for record in records(tmp_path / "part.dxf", "TABLES") if record[0] == (0, "VPORT"))
    left, bottom, right, top = template.bounds
    assert (float(view[12]), float(view[22])) == pytest.approx(((left + right) / 2, (bottom + top) / 2), abs=1e-5)
    assert float(view[40]) == pytest.approx(1.1 * (right - left), abs=1e-5)


def test_names_in_r12_are_capitals(template: Drawing, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf", version="R12")
    tables = records(tmp_path / "part.dxf", "TABLES")
    names = [value for record in tables for code, value in record if code == 2]
    assert {"CUT", "CONTINUOUS", "STANDARD", "*ACTIVE"} <= set(names)
    assert all(name == name.upper() for name in names)


@pytest.mark.parametrize("version", VERSIONS)
def test_layers_carry_colour_weight_and_dashes(template: Drawing, version: dxf.Version, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf", version=version)
    tables = [dict(record) for record in records(tmp_path / "part.dxf", "TABLES")]
    layers = {record[2]: record for record in tables if record[0] == "LAYER"}
    assert {name: int(layers[name][62]) for name in ("CUT", "MARK", "CENTRE", "TEXT")} == (
        {"CUT": 7, "MARK": 4, "CENTRE": 8, "TEXT": 4}
    )
    assert layers["CENTRE"][6] == "CENTRE_DASHES"
    assert layers["CUT"][6].upper() == "CONTINUOUS"
    if version == "R2000":
        assert {name: int(layers[name][370]) for name in ("CUT", "MARK", "CENTRE")} == {
            "CUT": 35,
            "MARK": 18,
            "CENTRE": 13,
        }
    dashes = next(record for record in records(tmp_path / "part.dxf", "TABLES") if (2, "CENTRE_DASHES") in record)
    assert [float(value) for code, value in dashes if code == 49] == [6.0, -1.2, 1.2, -1.2]
    assert float(dict(dashes)[40]) == pytest.approx(9.6)


@pytest.mark.parametrize(
    ("colour", "index"),
    [("#ff0000", 1), ("#d8c020", 2), ("#20a040", 3), ("#0000ff", 5), ("#f000c0", 6), ("#000000", 7), ("#b0b0b0", 8)],
)
def test_a_colour_becomes_the_nearest_of_the_eight_indices(colour: str, index: int, tmp_path: Path) -> None:
    drawing = Drawing(name="dot", contours=((Layer(name="DOT", colour=colour), Contour.circle((0, 0), 1.0)),))
    dxf.write(drawing, tmp_path / "dot.dxf")
    layers = [dict(record) for record in records(tmp_path / "dot.dxf", "TABLES")]
    assert next(int(layer[62]) for layer in layers if layer.get(2) == "DOT" and layer[0] == "LAYER") == index


@pytest.mark.parametrize("version", VERSIONS)
def test_text_stands_where_it_is_anchored(template: Drawing, version: dxf.Version, tmp_path: Path) -> None:
    dxf.write(template, tmp_path / "part.dxf", version=version)
    texts = [dict(record) for record in records(tmp_path / "part.dxf", "ENTITIES") if record[0][1] == "TEXT"]
    middle, start, end = texts
    assert [text[8] for text in texts] == ["TEXT"] * 3
    assert (float(start[10]), float(start[20])) == (900, 100)
    assert (float(start[40]), float(start[50]), int(start.get(72, 0))) == (12, 15, 0)
    assert (float(middle[11]), float(middle[21]), int(middle[72])) == (150, 22, 1)
    assert (float(end[11]), float(end[21]), int(end[72])) == (2200, 10, 2)
    assert all(int(text.get(73, 0)) == 0 for text in texts), "labels stand on their base line"


HOSTILE = {
    "<script>alert('x')</script> & \"both\"": ("<script>alert('x')</script> & \"both\"",) * 2,
    "a\r\n  0\nSPLINE\n\t8\x00\x1b[31m": ("a 0 SPLINE 8[31m",) * 2,
    "%%c100%%%%d 50% %%U": ("%c100%d 50% %U",) * 2,
    "^J^I 2^3 ^": ("J I 2 3",) * 2,
    r"\U+0041 \P {\fArial;x}": ("/U+0041 /P {/fArial;x}",) * 2,
    "21½ in, 5 ⅜, ×2, 30°, Öre, 7′4″": (
        "21½ in, 5 3/8, ×2, 30°, Öre, 7'4\"",
        "21 1/2 in, 5 3/8, x2, 30 deg, Ore, 7'4\"",
    ),
    "לוח \u202egnp.exe\u202c": (r"\U+05dc\U+05d5\U+05d7 gnp.exe", "??? gnp.exe"),
    "🏄 wave": ("? wave", "? wave"),
    "x" * 3000: ("x" * 247 + "...",) * 2,
    "\ud800lone\ufffe": ("lone",) * 2,
    "": ("",) * 2,
}


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:20]))
def test_no_text_becomes_anything_but_text(text: str, version: dxf.Version, tmp_path: Path) -> None:
    plate = Contour.straight([[0, 0], [50, 0], [50, 20], [0, 20]], closed=True)
    drawing = Drawing(name=text, contours=((CUT, plate),), labels=(Label(text=text, x_mm=5, y_mm=5),))
    dxf.write(drawing, tmp_path / "plate.dxf", version=version)
    (_, shape, _), (layer, _, found) = read_by_gdal(tmp_path / "plate.dxf")
    assert shape.length == 140
    assert layer == "TEXT"
    assert (found or "") == HOSTILE[text][version == "R12"]
    if version == "R12":
        assert (tmp_path / "plate.dxf").read_bytes().isascii()


@pytest.mark.parametrize("version", VERSIONS)
def test_same_drawing_same_bytes(
    template: Drawing, version: dxf.Version, tmp_path: Path, write_elsewhere: Callable[..., None]
) -> None:
    first, second, third = (tmp_path / f"{i}.dxf" for i in range(3))
    dxf.write(template, first, version=version)
    dxf.write(template, second, version=version)
    write_elsewhere("dxf", template, third, version=version)
    assert first.read_bytes() == second.read_bytes() == third.read_bytes()
    assert ezdxf.__version__.encode() not in first.read_bytes()
    assert b"\r" not in first.read_bytes()


def test_the_switch_of_the_library_is_set_back(template: Drawing, tmp_path: Path) -> None:
    assert ezdxf.options.write_fixed_meta_data_for_testing is False
    dxf.write(template, tmp_path / "part.dxf")
    with pytest.raises(OSError, match="no-such"):
        dxf.write(template, tmp_path / "no-such" / "part.dxf")
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


def square(x: float = 0.0, *, closed: bool = True) -> Contour:
    return Contour.straight([[x, 0], [x + 50, 0], [x + 50, 50], [x, 50]], closed=closed)


def labelled(**changes: object) -> Drawing:
    return Drawing(
        name="plate", contours=((CUT, square()),), labels=(Label(**{"text": "a", "x_mm": 0, "y_mm": 0, **changes}),)
    )


def cut(*contours: Contour) -> Drawing:
    return Drawing(name="plate", contours=tuple((CUT, contour) for contour in contours))


REFUSED: dict[str, Callable[[], Drawing]] = {
    "nothing is drawn": cut,
    "nothing to cut or mark": lambda: replace(labelled(), contours=()),
    "is open": lambda: cut(square(closed=False)),
    "encloses nothing": lambda: cut(Contour.straight([[0, 0], [50, 0]], closed=True)),
    "crosses or touches itself": lambda: cut(Contour.straight([[0, 0], [50, 50], [50, 0], [0, 50]], closed=True)),
    "is cut twice": lambda: cut(square(), square(100.0), square(0.005).reversed()),
    "a segment of 0.0400 mm": lambda: cut(Contour.straight([[0, 0], [50, 0], [50, 0.04], [0, 50]], closed=True)),
    "a segment of 0.0000 mm": lambda: cut(Contour.straight([[0, 0], [50, 0], [50, 50], [0, 0]], closed=True)),
    "no finite place": lambda: labelled(x_mm=math.nan),
    "height above 0": lambda: labelled(height_mm=0.0),
    "on the cutting layer CUT": lambda: labelled(layer=CUT),
    "more than one layer is named CUT": lambda: labelled(layer=Layer(name="cut")),
    "the page is": lambda: replace(labelled(), page_mm=(math.inf, 200.0)),
}


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("problem", REFUSED)
def test_what_must_not_reach_a_router_is_not_written(problem: str, version: dxf.Version, tmp_path: Path) -> None:
    with pytest.raises(ExportError, match=problem) as caught:
        dxf.write(REFUSED[problem](), tmp_path / "plate.dxf", version=version)
    assert caught.value.name == "plate"
    assert not [*tmp_path.iterdir()]


def test_all_reasons_are_given_at_once_and_survive_another_process() -> None:
    with pytest.raises(ExportError) as caught:
        dxf.write(cut(square(closed=False), square(), square()), Path("never.dxf"))
    assert len(caught.value.problems) == 2
    again = pickle.loads(pickle.dumps(caught.value))
    assert (again.name, again.problems, str(again)) == (caught.value.name, caught.value.problems, str(caught.value))


def test_marks_may_be_short_open_and_crossing(tmp_path: Path) -> None:
    marks = [Contour.straight([[0, 0], [0.01, 0]], closed=False), Contour.straight([[0, -5], [0, 5]], closed=False)]
    drawing = Drawing(name="plate", contours=((CUT, square()), *((MARK, mark) for mark in marks), (CENTRE, square())))
    dxf.write(drawing, tmp_path / "plate.dxf")
    assert len(read_by_gdal(tmp_path / "plate.dxf")) == 4


SABOTAGE: dict[str, Callable[..., None]] = {
    "bounding box": lambda space, layer, contour, _: space.add_lwpolyline(
        contour.points * 25.4, close=True, dxfattribs={"layer": layer.name}
    ),
    "router programs drop: SPLINE": lambda space, layer, contour, _: space.add_spline(
        [(x, y, 0) for x, y in contour.points], dxfattribs={"layer": layer.name}
    ),
    "missing": lambda *_: None,
    "is open": lambda space, layer, contour, _: space.add_lwpolyline(contour.points, dxfattribs={"layer": layer.name}),
}


@pytest.mark.parametrize("problem", SABOTAGE)
def test_the_written_document_is_what_is_checked(problem: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(dxf, "_add_contour", SABOTAGE[problem])
    with pytest.raises(ExportError, match=problem):
        dxf.write(cut(square()), tmp_path / "plate.dxf")
    assert not [*tmp_path.iterdir()]


def test_another_unit_is_not_written(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    honest = dxf._document

    def in_inches(drawing: Drawing, version: dxf.Version) -> object:
        document = honest(drawing, version)
        document.units = 1
        return document

    monkeypatch.setattr(dxf, "_document", in_inches)
    with pytest.raises(ExportError, match="not millimetres"):
        dxf.write(cut(square()), tmp_path / "plate.dxf")
