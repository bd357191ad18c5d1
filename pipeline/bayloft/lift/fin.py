"""From a fin's tracing to its spec, and a drawing of the points on its edges."""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np

from bayloft.drawing.sheets.traced_sheet import TracedView, traced_sheet
from bayloft.errors import Fault, SpecError
from bayloft.lift.lifted import Lifted, written
from bayloft.lines.fin import fin_lines
from bayloft.spec.loading import fin_of
from bayloft.spec.readings.tracing import EDGES, fin_text, load_tracing
from bayloft.spec.text.source import Source, parsed


def lifted_fin(source: Source, folder: str | os.PathLike[str]) -> Lifted:
    """Write the spec of a fin from its tracing, and the tracing's points on its edges. Raises as `sheet.lift` does."""
    taken = load_tracing(source)
    text, came_from = fin_text(taken, {})

    def told_at_home(fault: Fault) -> Fault:
        path = came_from.get(fault.path[:3], fault.path)
        return replace(fault, file=source.file, path=path, line=source.line(path))

    try:
        fin = fin_of(parsed(source.file, text))
        lines = fin_lines(fin)
    except SpecError as error:
        raise SpecError(tuple(map(told_at_home, error.faults))) from None
    drawn = {
        point.path: float(getattr(lines, edge)(lines.parameter(point.height_mm)))
        for edge in EDGES
        for point in taken.edges[edge]
    }
    text, _ = fin_text(taken, drawn)
    u = np.linspace(0.0, 1.0, 241)
    points = [point for edge in EDGES for point in taken.edges[edge]]
    off = [abs(drawn[point.path] - point.x_mm) * taken.play_mm / point.play_mm for point in points]
    view = TracedView(
        caption=f"{fin.name}, from its {len(points)} points",
        curves=tuple(np.column_stack([getattr(lines, edge)(u), lines.height(u)]) for edge in EDGES),
        points=tuple((point.x_mm, point.height_mm) for point in points),
        off_mm=tuple(off),
    )
    files = written(folder, fin.name, "fin", text, traced_sheet(fin.name, (view,), taken.play_mm))
    worst = points[int(np.argmax(off))]
    assumed = ", ".join(dict.fromkeys(".".join(map(str, item.path)) for item in fin.assumed))
    return Lifted(
        name=fin.name,
        readings=len(points),
        files=files,
        said=(
            f"edges within {taken.play_mm:.3g} mm of every point, square to them; most off: {worst.height_mm:.0f} mm "
            f"above the base, {max(off):.2f} mm",
            f"assumed (not on the sheet): {assumed}",
        ),
    )
