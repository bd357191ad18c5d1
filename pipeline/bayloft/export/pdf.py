"""PDF at full size, to be printed as it is: drawing sheets, and templates on the pages of a paper."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import rounded
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.stacked import unstacked
from bayloft.drawing.strokes import struck
from bayloft.export.lettering import single_line, western
from bayloft.export.preflight import ExportError, drawing_problems
from bayloft.plane.contour import Contour
from bayloft.tolerances import BEZIER_MM, PDF_DECIMALS

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Array = NDArray[np.float64]

POINTS_PER_MM = 72 / 25.4

LARGEST_PAGE_MM = 5080.0
"""14400 points, beyond which readers need not go (ISO 32000-1:2008, annex C.2)."""

FONT, BOLD_FONT = "Helvetica", "Helvetica-Bold"
"""Of the standard fonts that every reader brings: nothing is embedded."""

CAP_HEIGHT_EM = 0.718
"""Height of a capital of these fonts, in sizes of the font (Adobe's metrics of Helvetica, CapHeight 718)."""

_LARGEST_SWEEP_DEG = 90.0


def write(pages: Sequence[Drawing], path: Path, *, title: str, subject: str = "", margin_mm: float = 0.0) -> None:
    """Write `content` to a file. Raises ExportError as that does, OSError where the file cannot be written."""
    path.write_bytes(content(pages, title=title, subject=subject, margin_mm=margin_mm))


def content(pages: Sequence[Drawing], *, title: str, subject: str = "", margin_mm: float = 0.0) -> bytes:
    """Return drawings with pages as one document, each on a page of its own size, to be printed without scaling.

    Every line has its layer's weight, dashes and fill, every page ends `margin_mm` inside its edges: what reaches
    further is cut off there. Arcs are Bezier curves within BEZIER_MM of them. Labels on SCRIBE are single strokes,
    other texts in the letters of code page 1252; see `western`. Same drawings, same bytes.

    Raises ExportError for no pages, a drawing without a page, and what must not be drawn; see preflight.py.
    """
    pages = [struck(page) for page in pages]
    problems = [*_problems(pages, margin_mm)]
    if problems:
        raise ExportError(single_line(title), tuple(problems))
    return _document(pages, title, subject, margin_mm)


def _problems(pages: Sequence[Drawing], margin_mm: float) -> Iterator[str]:
    if not pages:
        yield "there are no pages"
    for page in pages:
        found = [*drawing_problems(page)]
        if page.page_mm is None:
            found.append("it has no page")
        elif not found and max(page.page_mm) > LARGEST_PAGE_MM:
            found.append(f"the page is {page.page_mm} mm; readers take {LARGEST_PAGE_MM:g} mm at most")
        elif not found and not 0.0 <= 2 * margin_mm < min(page.page_mm):
            found.append(f"a margin of {margin_mm:g} mm leaves nothing of the page of {page.page_mm} mm")
        yield from (f"{page.name}: {problem}" for problem in found)


def _document(pages: Sequence[Drawing], title: str, subject: str, margin_mm: float) -> bytes:
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    # Compressed pages would differ with the version of zlib.
    canvas = Canvas(BytesIO(), invariant=1, pageCompression=0, pdfVersion=(1, 7), initialFontName=FONT)
    canvas.setTitle(single_line(title))
    canvas.setSubject(single_line(subject))
    canvas.setAuthor("")
    canvas.setCreator("bayloft")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("Duplex", "Simplex")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    for page in pages:
        _draw(canvas, page, margin_mm)
    return bytes(canvas.getpdfdata())


def _draw(canvas: Canvas, page: Drawing, margin_mm: float) -> None:
    """Draw one page; from here on the document's unit is the millimetre."""
    width, height = page.page_mm or (0.0, 0.0)
    canvas.setPageSize((width * POINTS_PER_MM, height * POINTS_PER_MM))
    canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
    canvas.setLineJoin(1)
    if margin_mm > 0.0:
        inside = canvas.beginPath()
        inside.rect(margin_mm, margin_mm, width - 2 * margin_mm, height - 2 * margin_mm)
        canvas.clipPath(inside, stroke=0, fill=0)
    for layer in page.layers:
        _draw_contours(canvas, layer, [contour for on, contour in page.contours if on == layer])
        for label in page.labels:
            if label.layer != layer:
                continue
            if label.anchor == "axis":
                _draw_stack(canvas, label)
            else:
                _draw_label(canvas, label)
    canvas.showPage()


def _draw_contours(canvas: Canvas, layer: Layer, contours: Sequence[Contour]) -> None:
    from reportlab.lib.colors import HexColor  # noqa: PLC0415

    if not contours:
        return
    canvas.setStrokeColor(HexColor(layer.colour))
    canvas.setLineWidth(layer.weight_mm)
    canvas.setDash([*layer.dashes_mm])
    if layer.fill:
        canvas.setFillColor(HexColor(layer.fill))
    for contour in contours:
        path = canvas.beginPath()
        start, *curves = _curves(contour)
        path.moveTo(*start)
        for curve in curves:
            (path.lineTo if len(curve) == 2 else path.curveTo)(*curve)
        if contour.closed:
            path.close()
        canvas.drawPath(path, stroke=int(layer.weight_mm > 0.0), fill=int(layer.fill is not None))


def _curves(contour: Contour) -> Iterator[list[float]]:
    """Return the start (x, y) of a contour, then the end of each line, or the handles and end of each Bezier curve."""
    segments = bezier_parts(contour).segments
    starts, ends, chords, bulges = segments.starts, segments.ends, segments.chords, segments.bulges[:, None]
    ahead, across = (1 - bulges**2) * chords, 2 * bulges * chords[:, ::-1] * (1.0, -1.0)
    first, second = starts + (ahead + across) / 3, ends - (ahead - across) / 3
    rows = rounded(np.hstack([first, second, ends]), PDF_DECIMALS)
    if not np.isfinite(rows).all():
        raise ValueError(f"a contour from {starts[0].tolist()} has no finite size")
    # An arc whose sagitta vanishes in the decimals is a line.
    straight = segments.sagittas_mm < 10.0**-PDF_DECIMALS / 2
    yield rounded(starts[0], PDF_DECIMALS).tolist()
    for row, line in zip(rows.tolist(), straight.tolist(), strict=True):
        yield row[4:] if line else row


def bezier_parts(contour: Contour) -> Contour:
    """Return the contour with its arcs divided until one cubic Bezier curve each, tangent at both ends with handles of
    4/3 tan(sweep / 4) radii, stands off by BEZIER_MM at most.

    Such a curve of a quarter turn at most stands off by 2/27 sin^6(sweep / 4) / cos^2(sweep / 4) radii (M. Goldapp,
    "Approximation of circular arcs by cubic polynomials", Computer Aided Geometric Design 8, 1991; from memory, and
    measured in the tests), which falls with the sixth power of the sweep.
    """
    parts = contour.divided(_LARGEST_SWEEP_DEG)
    segments = parts.segments
    # The same with the radius put as chord (1 + b^2) / (4 b), b the bulge.
    off = segments.chords_mm * np.abs(segments.bulges) ** 5 / (54 * (1 + segments.bulges**2))
    wide = off > BEZIER_MM
    if not wide.any():
        return parts
    sweeps = np.abs(segments.sweeps[wide]) * (BEZIER_MM / off[wide]) ** (1 / 6)
    return contour.divided(math.degrees(sweeps.min()))


def _draw_stack(canvas: Canvas, label: Label) -> None:
    """Draw a figure with its stacked fraction as one span of text that reads "16 3/16", not "16 3 16"."""
    stack = unstacked(label)
    # ISO 32000-1:2008, 14.9.4: replacement text.
    canvas.addLiteral(f"/Span <</ActualText ({western(label.text)})>> BDC")
    for part in stack.labels:
        _draw_label(canvas, part)
    canvas.addLiteral("EMC")
    for layer, bar in stack.contours:
        _draw_contours(canvas, layer, [bar])


def _draw_label(canvas: Canvas, label: Label) -> None:
    from reportlab.lib.colors import HexColor  # noqa: PLC0415

    words, font, size = western(label.text), BOLD_FONT if label.bold else FONT, label.height_mm / CAP_HEIGHT_EM
    width = canvas.stringWidth(words, font, size)
    back = {"start": 0.0, "middle": width / 2, "end": width}[label.anchor]
    cosine, sine = (round(turn(math.radians(label.turn_deg)), 6) + 0.0 for turn in (math.cos, math.sin))
    text = canvas.beginText()
    text.setFont(font, round(size, PDF_DECIMALS))
    text.setFillColor(HexColor(label.layer.colour))
    text.setTextTransform(
        cosine,
        sine,
        -sine,
        cosine,
        *rounded([label.x_mm - back * cosine, label.y_mm - back * sine], PDF_DECIMALS).tolist(),
    )
    text.textOut(words)
    canvas.drawText(text)
