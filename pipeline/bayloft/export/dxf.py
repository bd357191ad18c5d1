"""DXF for routers and laser cutters: R2000 with true arcs, and R12 of straight lines only."""

from __future__ import annotations

import colorsys
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import rounded
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.spelling import spelled
from bayloft.drawing.strokes import struck
from bayloft.export.lettering import identifier, single_line
from bayloft.export.preflight import ExportError, cutting_problems, drawing_problems
from bayloft.plane.contour import Contour
from bayloft.tolerances import DXF_DECIMALS, FLATTENING_MM, MARK_FLATTENING_MM

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.layout import Modelspace

Array = NDArray[np.float64]
Version = Literal["R2000", "R12"]

MILLIMETRES = 4
"""The value of $INSUNITS."""

_BULGE_DECIMALS = 8
"""A bulge's last decimal moves the sagitta of a 200 mm chord by 1e-6 mm, the last decimal of a coordinate."""

_ALLOWED = {"R2000": {"LWPOLYLINE", "TEXT"}, "R12": {"POLYLINE", "TEXT"}}
_LINEWEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)
"""Hundredths of a millimetre that group code 370 may hold (DXF reference, LAYER)."""

# The library warns on stderr of a home directory it cannot write a font list to, and of R12 having no unit. Neither
# bears on what is written here.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())


def write(drawing: Drawing, path: Path, *, version: Version = "R2000") -> None:
    """Write `content` to a file. Raises ExportError as that does, OSError where the file cannot be written."""
    path.write_bytes(content(drawing, version=version))


def content(drawing: Drawing, *, version: Version = "R2000") -> bytes:
    """Return a drawing in millimetres, one polyline per contour, one TEXT per label, layers by name.

    Labels on SCRIBE are single strokes. R2000 has arcs as bulges, line weights and the unit; R12 can say neither unit
    nor weight and has every arc as lines within `FLATTENING_MM` (marks: `MARK_FLATTENING_MM`). What the document holds
    is measured before it is written. Same drawing, same bytes.

    Raises ExportError for what must not reach a machine; see preflight.py.
    """
    drawing = struck(drawing)
    problems = [*drawing_problems(drawing)]
    if not drawing.contours:
        problems.append("there is nothing to cut or mark")
    if problems:
        raise ExportError(drawing.name, tuple(problems))
    with _fixed_metadata():
        document = _document(drawing, version)
        problems = [*_document_problems(drawing, document, version)]
        if problems:
            raise ExportError(drawing.name, tuple(problems))
        text = StringIO()
        document.write(text)
    return bytes(document.encode(text.getvalue()))


_FIXING = Lock()


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Dates and unique numbers are fixed while this holds; the library knows the switch for the whole process only."""
    from ezdxf import options  # type: ignore[attr-defined]  # noqa: PLC0415

    # Of two threads the one that ends first would take it from the other.
    with _FIXING:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


def _document(drawing: Drawing, version: Version) -> Document:
    from ezdxf.filemanagement import new  # noqa: PLC0415
    from ezdxf.r12strict import make_acad_compatible  # noqa: PLC0415

    document = new(version, units=MILLIMETRES)
    for layer in drawing.layers:
        _add_layer(document, layer)
    space = document.modelspace()
    for layer, contour in drawing.contours:
        _add_contour(space, layer, contour, version)
    for label in drawing.labels:
        _add_label(space, label, version)
    left, bottom, right, top = rounded(np.array(drawing.bounds), DXF_DECIMALS).tolist()
    corners = (left, bottom, 0.0), (right, top, 0.0)
    space.reset_extents(*corners)
    # The library copies the extents to the header, but takes a corner at the origin for one that is not set.
    document.header["$EXTMIN"], document.header["$EXTMAX"] = corners
    height_mm = float(rounded(1.1 * max(top - bottom, right - left, 1.0), DXF_DECIMALS))
    document.set_modelspace_vport(height_mm, ((left + right) / 2, (bottom + top) / 2))
    if version == "R12":
        make_acad_compatible(document)
    return document


def _add_layer(document: Document, layer: Layer) -> None:
    name = identifier(layer.name)
    linetype = "CONTINUOUS"
    if layer.dashes_mm:
        linetype = f"{name[:24]}_DASHES"
        dashes = layer.dashes_mm * (1 + len(layer.dashes_mm) % 2)
        signed = [length if i % 2 == 0 else -length for i, length in enumerate(dashes)]
        document.linetypes.add(linetype, [sum(dashes), *signed])
    weight = min(_LINEWEIGHTS, key=lambda hundredths: abs(hundredths - 100 * layer.weight_mm))
    document.layers.add(name, color=_colour_index(layer.colour), linetype=linetype, lineweight=weight)


def _add_contour(space: Modelspace, layer: Layer, contour: Contour, version: Version) -> None:
    attributes = {"layer": identifier(layer.name)}
    if version == "R12":
        tolerance_mm = FLATTENING_MM if layer.cuts else MARK_FLATTENING_MM
        rows = rounded(contour.flattened(tolerance_mm), DXF_DECIMALS)
        space.add_polyline2d(rows.tolist(), close=contour.closed, dxfattribs=attributes)
    else:
        bulges = rounded(contour.bulges, _BULGE_DECIMALS)
        rows = np.column_stack([rounded(contour.points, DXF_DECIMALS), bulges])
        space.add_lwpolyline(rows.tolist(), format="xyb", close=contour.closed, dxfattribs=attributes)


def _add_label(space: Modelspace, label: Label, version: Version) -> None:
    from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415

    place = rounded(np.array([label.x_mm, label.y_mm]), DXF_DECIMALS).tolist()
    alignment = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }[label.anchor]
    space.add_text(
        _lettered(label.text, version),
        height=label.height_mm,
        rotation=label.turn_deg,
        dxfattribs={"layer": identifier(label.layer.name)},
    ).set_placement(place, align=alignment)


def _document_problems(drawing: Drawing, document: Document, version: Version) -> Iterator[str]:
    """Return what is wrong with a document as it would be written."""
    space = document.modelspace()
    strays = {entity.dxftype() for entity in space} - _ALLOWED[version]
    if strays:
        yield f"entities that router programs drop: {', '.join(sorted(strays))}"
    if version == "R2000" and (document.units, document.header["$MEASUREMENT"]) != (MILLIMETRES, 1):
        yield "the unit is not millimetres"
    contours = [*_contours_in(space)]
    if len(contours) != len(drawing.contours) or len(space) != len(drawing.contours) + len(drawing.labels):
        yield "contours or labels are missing"
        return
    yield from cutting_problems(drawing, contours)
    boxes = np.array([contour.bounds for _, contour in contours])
    found = np.concatenate([boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)])
    slack_mm = 10.0 ** (1 - DXF_DECIMALS) + (MARK_FLATTENING_MM if version == "R12" else 0.0)
    if np.abs(found - drawing.bounds).max() > slack_mm:
        yield f"the bounding box is {found.tolist()}, not {drawing.bounds}"


def _contours_in(space: Modelspace) -> Iterator[tuple[str, Contour]]:
    from ezdxf.entities.lwpolyline import LWPolyline  # noqa: PLC0415
    from ezdxf.entities.polyline import Polyline  # noqa: PLC0415

    for entity in space:
        if isinstance(entity, LWPolyline):
            rows = np.array(entity.get_points("xyb"))
            yield entity.dxf.layer, Contour(points=rows[:, :2], bulges=rows[:, 2], closed=entity.closed)
        elif isinstance(entity, Polyline):
            points = [(vertex.dxf.location.x, vertex.dxf.location.y) for vertex in entity.vertices]
            yield entity.dxf.layer, Contour.straight(points, closed=entity.is_closed)


def _lettered(text: str, version: Version) -> str:
    """Return a label's text for group code 1, with nothing in it that readers take for a code (%%c, ^J, backslash).

    What the file's code page lacks is spelled in ASCII where that can be done. Letters of other scripts stay in R2000,
    where CAD programs read the U+ codes they are written in; R12 and everything beyond 16 bits has "?" for them.
    """
    line = single_line(text).replace("\\", "/").replace("^", " ")
    code_page = "ascii" if version == "R12" else "cp1252"
    line = "".join(part if part.encode(code_page, "ignore") else spelled(part) for part in line)
    unwritable = r"[^ -~]" if version == "R12" else r"[^\u0000-\uffff]"
    return single_line(re.sub("%%+", "%", re.sub(unwritable, "?", line)))


def _colour_index(colour: str) -> int:
    """Return the index colour nearest to "#rrggbb" that shows on black and on white.

    1 to 6 are red, yellow, green, cyan, blue, magenta; 7 is black or white; 8 is grey. Common practice: true colours
    (group code 420) begin with R2004.
    """
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    hue, saturation, value = colorsys.rgb_to_hsv(red, green, blue)
    if saturation >= 0.25:
        return 1 + round(6 * hue) % 6
    return 7 if value < 0.3 else 8
