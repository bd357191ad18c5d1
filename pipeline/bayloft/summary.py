"""What the commands say of a board, line by line, as a maker reads it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bayloft.errors import spelled
from bayloft.tape import along, at_least, at_most, coarse, down_mm, figure, fine, fine_mm, station, stock
from bayloft.tolerances import GIVEN_NUMBER_MM
from bayloft.units import feet_inches

if TYPE_CHECKING:
    from bayloft.fit import Rack
    from bayloft.foam.asking import FittedBoard
    from bayloft.lift.lifted import Lifted


NUMBER_OF = {"width": "width", "thickness": "thickness", "rocker": "height"}
"""The key of a number that stands in a table of its own, with how it was read."""


def _row(what: str, mm: float, *, metric: bool) -> str:
    return f"  {what:<12}{'' if metric else feet_inches(mm):>12}{mm:>11.1f} mm"


def board_summary(report: dict[str, Any], folder: Path | None) -> Iterator[str]:
    """Yield the lines in which a maker reads what is said of one board."""
    name = click.style(report["name"], bold=True)
    yield f"{name}  {folder}" if folder else f"{name}  checked, nothing written"
    asked = {(item["key"], item["what"]): item for item in report["dimensions"]}
    for what, key in (
        ("length", ("length", "length")),
        ("wide point", ("outline.wide_point.width", "width")),
        ("nose", ("outline.nose_width", "width")),
        ("tail", ("outline.tail_width", "width")),
        ("thickness", ("thickness.thickest.thickness", "thickness")),
        ("nose rocker", ("rocker.nose", "rocker")),
        ("tail rocker", ("rocker.tail", "rocker")),
    ):
        found = asked.get(key) or asked.get((f"{key[0]}.{NUMBER_OF.get(key[1], '')}", key[1]))
        if found:
            yield _row(what, found["lofted_mm"], metric=report["unit"] == "mm")
    exact, mesh = report["integrals"], report["mesh"]
    yield f"  {'volume':<12}{report['litres']:>12.2f} L   surface {exact['area_mm2'] / 1e6:.3f} m2"
    # Radii are measured, not met: no gauge tells them to a hundredth.
    worst = max(abs(item["error_mm"]) for item in report["dimensions"] if item["limit_mm"] <= GIVEN_NUMBER_MM)
    read = any(finding["code"] == "moved" for finding in report["findings"])
    checks = report["checks"]
    yield (
        f"  {_many(checks['made'] - checks['warnings'], 'check')} passed; every {'exact ' if read else ''}length met "
        f"within {worst:.4f} mm; "
        f"solid of {mesh['triangles']:,} facets within {mesh['chord_tolerance_mm']:g} mm"
    )
    for fin in report["fins"]:
        laid = fin["layup"]
        yield (
            f"  fin: {fin['name']}, {fin['integrals']['volume_mm3'] / 1e3:.1f} cm3, {laid['plies']} plies"
            f"{' on a core' if laid['core'] else ''}, panel {laid['panel_g']:.0f} g, "
            f"finished {laid['finished_g']:.0f} g"
        )
    for panel in report["panels"]:
        if len(panel["fins"]) > 1:
            yield _panel(panel, metric=report["unit"] == "mm")
    if stringer := report["stringer"]:
        said = f"stringer: {stringer['verdict']}"
        fails = stringer["comes_out"] is False
        yield (click.style("  look: ", fg="yellow") if fails else "  ") + said
    yield from _glass(report)
    if afloat := report["float"]:
        yield ("  " if afloat["rests"] else click.style("  look: ", fg="yellow")) + f"float: {afloat['verdict']}"
    for finding in report["findings"]:
        if finding["severity"] == "warning":
            yield click.style("  look: ", fg="yellow") + finding["text"]
        elif finding["code"] in {"agreement", "second-drop", "moved", "volume-aim", "derived"}:
            yield f"  {finding['text']}"
    yield from _assumed("the spec", [item["key"] for item in report["assumed"]])


def _glass(report: dict[str, Any]) -> Iterator[str]:
    """Yield what is said of the glass: what the board weighs, and where a bolt leaves less lap than is asked."""
    glass, weight, metric = report["glass"], report["weight"], report["unit"] == "mm"
    if glass is None or weight is None:
        return
    total = {key: value / 1e3 for key, value in weight["finished_g"].items()}
    yield (
        f"  finished: {total['usual']:.1f} kg, {total['low']:.1f} to {total['high']:.1f}; balances "
        f"{along(weight['balance_mm'], metric=metric)} from the tail"
    )
    for face in glass["faces"]:
        bolt, left = fine(glass["bolt_mm"], metric=metric), face["bolt_leaves_lap_mm"]
        if left < 0.0:
            yield click.style("  look: ", fg="yellow") + (
                f"a bolt of {bolt} does not cover the {face['face']}: {fine(-2.0 * left, metric=metric)} is bare at "
                "its widest; a wider one, or two pieces"
            )
        elif left < glass["lap_mm"]:
            yield click.style("  look: ", fg="yellow") + (
                f"a bolt of {bolt} leaves {fine(left, metric=metric)} of lap for the {face['face']} at its widest, "
                f"where {fine(glass['lap_mm'], metric=metric)} is asked"
            )
    for name in sorted({"deck", "bottom"} - {face["face"] for face in glass["faces"]}):
        yield click.style("  look: ", fg="yellow") + f"the {name} has no cloth"


def _panel(panel: dict[str, Any], *, metric: bool) -> str:
    """Return the line of a panel that several fins are sawn from."""
    size = " x ".join(stock(mm, metric=metric) for mm in panel["panel_mm"])
    share, roll = panel["share_that_is_fin"], panel["roll"]
    return (
        f"  {len(panel['fins'])} fins on one panel of {size}: {share['together']:.0%} of it fin, "
        f"{share['each_alone']:.0%} on panels of their own; {stock(roll['length_mm'], metric=metric)} off a roll of "
        f"{coarse(roll['bolt_mm'], metric=metric)}"
    )


def cut_summary(said: dict[str, Any], folder: Path | None) -> Iterator[str]:
    """Yield the lines in which a maker reads what is said of the sheets of one board."""
    yield f"{click.style(said['name'], bold=True)}  {folder}"
    job = said["job"]
    for sheet in job["sheets"] if job else ():
        off_cuts = ", ".join(f"{cut['length_mm']:.0f} x {cut['width_mm']:.0f}" for cut in sheet["off_cuts"])
        yield (
            f"  sheet {sheet['number']:<3} {sheet['stock']}, {_many(len(sheet['parts']), 'part')}, "
            f"{sheet['used_share']:.1%} used; off-cuts: {off_cuts or 'none'}"
        )
    for program in job["programs"] if job else ():
        minutes = f"{_many(max(round(program['minutes']), 1), 'minute')} at least, {_many(program['tabs'], 'tab')}"
        yield f"  {program['name'] + '.nc':<20} {program['cutter']}, {minutes}; proved, with a dry run beside it"
    if job:
        yield (
            f"  {_many(len(job['sheets']), 'sheet')}, {_many(job['parts'], 'part')}, {job['used_share']:.1%} used; "
            f"{len(job['checks'])} checks passed"
        )
        alike: dict[tuple[str, str], list[str]] = {}
        for check in job["checks"]:
            if check["severity"] == "warning":
                alike.setdefault((check["where"], check["code"]), []).append(check["text"])
        for (where, _), texts in alike.items():
            more = f" (and {_many(len(texts) - 1, 'more place')} like it)" if len(texts) > 1 else ""
            yield f"  {click.style('warning', fg='yellow')}: {where}: {texts[0]}{more}"
    if said["left_out"]:
        parts = ", ".join(f"{part['number']} {part['title']}" for part in said["left_out"])
        yield f"  left out: {parts}; --parts all takes it too"
    prints = [entry for entry in said["files"] if entry["name"].startswith("prints/")]
    yield f"  {_many(len(prints), 'drawing')} as full-size prints on {said['paper']['kind']}"
    yield from _assumed("the shop file", [item["key"] for item in said["assumed"]])


def _assumed(file: str, keys: Sequence[str]) -> Iterator[str]:
    """Yield the line of the keys that were assumed for a file, if there are any."""
    if keys:
        yield f"  assumed (not in {file}): {', '.join(dict.fromkeys(keys))}"


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def lift_summary(lifted: Lifted) -> Iterator[str]:
    """Yield the lines that tell of what was lifted."""
    yield click.style(lifted.name, bold=True) + f"  lifted from {lifted.readings} readings"
    for said in lifted.said:
        yield f"  {said}"
    for file in lifted.files:
        yield f"  wrote {file}"


def fit_summary(fitted: FittedBoard, files: Sequence[Path]) -> Iterator[str]:
    """Yield the lines in which a maker reads how a board lies in a blank: lengths as the board is told in, what is
    proven in mm.
    """
    fit = fitted.fit
    metric = fit.board.metric
    yield click.style(f"{fit.board.name} in {fit.blank.name}", bold=True) + f"  {_verdict(fitted)}"
    yield (
        f"  foam over the board everywhere: {at_least(fit.sure_mm, metric=metric)} for sure; found {fit.cover_mm:.2f} "
        f"mm, proven at least {fit.floor_mm:.2f} and in no placing more than {fit.ceiling.cover_mm:.2f}; the block may "
        f"be {fit.block.error_mm:.1f} mm less than it is drawn"
    )
    if fitted.on_rack_mm is not None:
        yield from _reglued(fitted, fitted.on_rack_mm, metric=metric)
    aft, forward = (at_least(abs(mm), metric=metric) for mm in fit.shift_mm)
    pitch, gap = fit.nose_up_rad, fit.tail_gap_mm
    tilt = math.tan(abs(pitch)) * fit.board.length_mm
    yield (
        f"  placed: its tail end {fine(abs(gap), metric=metric)} {'ahead of' if gap >= 0.0 else 'BEHIND'} the block's, "
        f"nose {fine(tilt, metric=metric)} {'up' if pitch >= 0.0 else 'down'} over its length from how the block "
        f"stands; {aft} further aft or {forward} further forward costs 0.1 mm"
    )
    if fit.floor_mm > 0.0:
        yield f"  to be planed off: {fit.foam_mm3 / 1e6:.1f} L of {fit.blank.foam.kind}"
    unit = "mm" if metric else "inches; + is 1/32 more"
    yield f"  {'from tail':<12}{'deck':>11}{'rail':>11}{'bottom':>11}{'over deck':>14}{'under bottom':>14}"
    for each in fit.stations:
        least = (each.deck_mm, each.rail_mm, each.bottom_mm)
        upright = (each.upright_deck_mm, each.upright_bottom_mm)
        cells = [figure(None if mm is None else down_mm(mm, metric=metric), metric=metric) for mm in (*least, *upright)]
        yield f"  {station(each.x_mm, metric=metric):<12}" + "".join(
            f"{cell:>{wide}}" for cell, wide in zip(cells, (11, 11, 11, 14, 14), strict=True)
        )
    yield f"  ({unit}; rounded down; deck, rail and bottom square to the block, the others upright at the stringer)"
    for place in fit.tight:
        yield (
            f"  tight: {place.cover_mm:.2f} mm on the {place.face}, {along(place.x_mm, metric=metric)} from the tail, "
            f"{fine(place.off_mm, metric=metric)} off the stringer"
        )
    if fitted.short_mm:
        lacks, wanted = fine(fitted.short_mm, metric=metric), fine(fitted.wanted_mm, metric=metric)
        yield f"  {lacks} less than the {wanted} wanted; what would do, each alone:"
        for remedy in fitted.remedies:
            to, was = (along(mm, metric=metric) for mm in (remedy.to_mm, remedy.from_mm))
            yield f"    {remedy.what} {to} in place of {was}"
        if not fitted.remedies:
            yield "    no change of thickness, length or nose rocker alone by less than 15 %"
    for what, shape in (("the board's", fit.board), ("the blank's", fit.blank.shape)):
        yield from _assumed(f"{what} spec", [spelled(item.path) for item in shape.assumed])
    for file in files:
        yield f"  wrote {file}"


def _verdict(fitted: FittedBoard) -> str:
    """Return in words whether the board comes out, and at what price."""
    verdict = "comes out"
    if fitted.short_mm:
        verdict = "is short" if fitted.fit.sure_mm < 0.0 else "has less than is wanted"
    if fitted.better_left:
        return f"{verdict}; as it lies on the rack too, with no less foam: there is no need to re-glue it"
    if fitted.saw_cuts:
        return f"{verdict}, {'even' if fitted.short_mm else 'but only'} with {_many(fitted.saw_cuts, 'saw cut')}: " + (
            "its foam does not bear the bend without"
        )
    return verdict


def _reglued(fitted: FittedBoard, on_rack_mm: float, *, metric: bool) -> Iterator[str]:
    """Yield how the halves of a block are bent to a new stringer."""
    block = fitted.fit.block
    bent = block.regluing
    if bent is None:
        return
    rack = at_most(-on_rack_mm, metric=metric) + " short" if on_rack_mm < 0.0 else at_least(on_rack_mm, metric=metric)
    yield (
        f"  re-glued to the new stringer; as it lies on the rack it would be {rack}. The halves move "
        f"{fine(abs(bent.out_mm), metric=metric)} {'apart' if bent.out_mm >= 0.0 else 'together'} each"
    )
    most, limit = bent.hardest, block.blank.foam.most_strain
    verdict = "its maker's sheet alone says whether it bears that" if limit is None else f"it bears {100 * limit:.2f} %"
    yield (
        f"  most strained {along(most.x_mm, metric=metric)} from the block's tail: faces by "
        f"{100.0 * most.most_strain:.2f} %, as a straight half bent to a radius of {most.radius_mm / 1000.0:.1f} m; "
        f"{verdict}"
    )
    yield f"  {'mark, from tail':<18}{'now':>11}{'glued':>11}{'moves':>16}   bottom at the stringer over a flat floor"
    for mark in block.marks(metric=metric):
        was, becomes = (fine_mm(mm, metric=metric) for mm in (mark.was_mm, mark.becomes_mm))
        moves = round(becomes - was, 6)
        told = f"{figure(abs(moves), metric=metric)} {'up' if moves > 0.0 else 'down'}" if moves else "0"
        cells = f"{figure(was, metric=metric):>11}{figure(becomes, metric=metric):>11}{told:>16}"
        yield f"  {station(mark.x_mm, metric=metric):<18}{cells}"


def rack_summary(rack: Rack) -> Iterator[str]:
    """Yield a line for each blank of a rack, those with most foam first."""
    metric = rack.metric
    yield "  least foam over the board, as found and less what a block may be off; --blank proves it for one of them"
    for one in rack.ranked:
        blank = one.block.blank
        if one.cover_mm is None:
            yield f"  {blank.name:<24}{'-':>12}   {one.why}"
            continue
        sure = one.cover_mm - one.block.error_mm
        verdict = "comes out" if sure >= rack.wanted_mm else "less than is wanted" if sure >= 0.0 else "is short"
        cuts = sum(len(each.stations_mm) for each in one.block.cuts)
        verdict += f", only with {_many(cuts, 'saw cut')}" if cuts else ""
        price = f"; {blank.price}" if blank.price else ""
        least = at_least(sure, metric=metric)
        yield f"  {blank.name:<24}{least:>12}   {verdict}; {blank.foam.kind}{price}"


def carve_summary(report: dict[str, Any], folder: Path) -> Iterator[str]:
    """Yield the lines that tell of a board that is to be carved."""
    yield click.style(report["name"], bold=True) + f"  {folder}"
    block = report["block"]
    yield (
        f"  block {block['length_mm']:.0f} x {block['width_mm']:.0f} x {block['thickness_mm']:.1f} mm, tail end "
        f"{block['tail_end_from_its_end_mm']:.0f} mm from its end; zero at the tail's dowel, on the bed"
    )
    for proof in report["proof"]:
        yield (
            f"  {proof['face']}: ridges {proof['cusp_mm']:.3f} mm for {proof['cusp_asked_mm']:g} asked, surface cut in "
            f"by {proof['gouge_mm']:.3f} mm at most; cutter out {proof['stick_out_needed_mm']:.0f} mm at least"
        )
    for program in report["programs"]:
        yield f"  {program['name']:<24}{program['minutes']:>7.0f} min"
    yield f"  {report['minutes']:.0f} minutes in all; each has its dry run"
    for line in report["by_hand"]:
        yield f"  {line}"
    for finding in report["findings"]:
        if finding["severity"] == "warning":
            yield click.style("  look: ", fg="yellow") + finding["text"]


def machine_summary(report: dict[str, Any], folder: Path) -> Iterator[str]:
    """Yield the lines that tell of a package for a machine."""
    yield click.style(report["name"], bold=True) + f"  {folder}"
    yield f"  {report['volume_mm3'] / 1e6:.3f} L finished; all files in mm, x to the nose, z up, origin at the tail end"
    left = report["allowance"]
    if left is not None:
        yield (
            f"  with {left['deck_mm']:.4g} mm left on the deck, {left['bottom_mm']:.4g} on the bottom and "
            f"{left['rail_mm']:.4g} on the rails: {left['volume_mm3'] / 1e6:.3f} L, within "
            f"{left['chord_tolerance_mm']:g} mm"
        )
    if report["laminate_mm"]:
        yield f"  {report['to_cut_mm3'] / 1e6:.3f} L of foam under {report['laminate_mm']:.4g} mm of laminate"
    if report["pockets"]:
        yield f"  pockets cut: {', '.join(dict.fromkeys(pocket['plug'] for pocket in report['pockets']))}"
    holes = report["datums"]["dowel_holes"]
    if holes is not None:
        places = " and ".join(f"{x:.1f}" for x, _ in holes["at_mm"])
        yield f"  held by tabs, with {holes['diameter_mm']:g} mm holes on the stringer's middle at x = {places} mm"
    blank = report["blank"]
    if blank is not None:
        yield (
            f"  in {blank['name']}: tail end {blank['tail_end_ahead_of_its_own_mm']:.1f} mm ahead of the block's, "
            f"{blank['least_cover_mm']:.1f} mm of foam over it for sure"
        )
        most = max(left[f"{face}_mm"] for face in ("deck", "bottom", "rail")) if left else 0.0
        if blank["least_cover_mm"] < most:
            yield click.style("  look: ", fg="yellow") + "that is less than what is to be left on"
    for entry in report["files"]:
        yield f"  {entry['name']:<46}{max(entry['bytes'] / 1e6, 0.1):>6.1f} MB"
