"""From points of a contour gauge to a file of rails, and a drawing of the points on the rails."""

from __future__ import annotations

import os

from bayloft.drawing.sheets.traced_sheet import TracedView, traced_sheet
from bayloft.errors import Fault, SpecError
from bayloft.lift.lifted import Lifted, written
from bayloft.lines.rail_fitting import fitted_rail, misgauged
from bayloft.spec.readings.gauging import FittedRail, GaugedRail, Gauging, load_gauging, rails_text
from bayloft.spec.text.source import Source
from bayloft.spec.text.stations import nearer_end
from bayloft.units import both

MISSED = 2.0
"""How many times as much as they may be off the points of a rail may lie off its curve and only be told of: no rail is
quite one of six numbers."""


def lifted_rails(source: Source, folder: str | os.PathLike[str]) -> Lifted:
    """Write a file of rails from a sheet of gauged points, and the points on them. Raises as `sheet.lift` does."""
    taken = load_gauging(source)
    pairs = [fitted_rail(rail) for rail in taken.rails]
    faults = [
        _fault(rail, fit, taken) for rail, (fit, _) in zip(taken.rails, pairs, strict=True) if _missed(fit, taken)
    ]
    if faults:
        raise SpecError(tuple(faults))
    text = rails_text(taken, [fit for fit, _ in pairs])
    views, said = [], []
    for rail, (fit, curve) in zip(taken.rails, pairs, strict=True):
        where = _where(rail.x_mm, taken)
        reach = max(point.inside_mm for point in rail.points) + 10.0
        shown = curve.points[curve.points[:, 0] <= reach]
        views.append(
            TracedView(
                caption=where,
                curves=(shown * [-1.0, 1.0],),
                points=tuple((-point.inside_mm, point.height_mm) for point in rail.points),
                off_mm=fit.off_mm,
            )
        )
        worst = max(fit.off_mm)
        beyond = sum(off > taken.play_mm for off in fit.off_mm)
        told = f"rail {where}: {len(rail.points)} points, at most {worst:.2f} mm off"
        said.append(
            told + (f"; {beyond} of them by more than {taken.play_mm:.3g} mm: look at the drawing" if beyond else "")
        )
    files = written(folder, taken.name, "rails", text, traced_sheet(taken.name, tuple(views), taken.play_mm))
    return Lifted(
        name=taken.name,
        readings=sum(len(rail.points) for rail in taken.rails),
        files=files,
        said=tuple(said),
    )


def _missed(fit: FittedRail, taken: Gauging) -> bool:
    return max(fit.off_mm) > MISSED * taken.play_mm


def _fault(rail: GaugedRail, fit: FittedRail, taken: Gauging) -> Fault:
    """Return the fault of the point that is wrong, or of a rail of which no one point is."""
    wrong = misgauged(rail, fit, taken.play_mm)
    if wrong is not None:
        place, off = wrong
        point = rail.points[place]
        problem = f"no rail passes this point and the others: it is off by about {both(off)}"
        return taken.source.fault(point.path, both(point.height_mm), problem, hint="measure it again")
    beyond = sum(off > taken.play_mm for off in fit.off_mm)
    problem = f"no rail passes these points: {beyond} of {len(rail.points)} are off, by up to {both(max(fit.off_mm))}"
    hint = "check inside and height, and that width and thickness are those of this station"
    return taken.source.fault(rail.path, _where(rail.x_mm, taken), problem, hint=hint)


def _where(x_mm: float, taken: Gauging) -> str:
    end, at = nearer_end(x_mm, taken.length_mm)
    said = f"{at:.0f} mm" if taken.metric else f"{at / 25.4:.4g} in"
    return f"{said} from the {end}"
