"""What the commands say of a board, line by line, as a maker reads it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bayloft.errors import spelled
from bayloft.tolerances import GIVEN_NUMBER_MM
from bayloft.units import feet_inches

if TYPE_CHECKING:
    from bayloft.fit import Rack
    from bayloft.foam.asking import FittedBoard
    from bayloft.foam.blocks import FoamBlock
    from bayloft.lift.lifted import Lifted


NUMBER_OF = {"width": "width", "thickness": "thickness", "rocker": "height"}
"""The key of a number that stands in a table of its own, with how it was read."""


def _row(what: str, mm: float) -> str:
    return f"  {what:<12}{feet_inches(mm):>12}{mm:>11.1f} mm"


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
            yield _row(what, found["lofted_mm"])
    exact, mesh = report["integrals"], report["mesh"]
    yield f"  {'volume':<12}{report['litres']:>12.2f} L   surface {exact['area_mm2'] / 1e6:.3f} m2"
    # Radii are measured, not met: no gauge tells them to a hundredth.
    worst = max(abs(item["error_mm"]) for item in report["dimensions"] if item["limit_mm"] <= GIVEN_NUMBER_MM)
    read = any(finding["code"] == "moved" for finding in report["findings"])
    checks = report["checks"]
    yield (
        f"  {checks['made']} checks passed; every {'exact ' if read else ''}length met within {worst:.4f} mm; "
        f"solid of {mesh['triangles']:,} facets within {mesh['chord_tolerance_mm']:g} mm"
    )
    for fin in report["fins"]:
        laid = fin["layup"]
        yield (
            f"  fin: {fin['name']}, {fin['integrals']['volume_mm3'] / 1e3:.1f} cm3, {laid['plies']} plies"
            f"{' on a core' if laid['core'] else ''}, panel {laid['panel_g']:.0f} g, "
            f"finished {laid['finished_g']:.0f} g"
        )
    for finding in report["findings"]:
        if finding["severity"] == "warning":
            yield click.style("  look: ", fg="yellow") + finding["text"]
        elif finding["code"] in {"agreement", "second-drop", "moved", "volume-aim", "derived"}:
            yield f"  {finding['text']}"
    yield from _assumed("the spec", [item["key"] for item in report["assumed"]])


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
    """Yield the lines in which a maker reads how a board lies in a blank."""
    fit = fitted.fit
    verdict = "comes out" if not fitted.short_mm else "is short" if fit.sure_mm < 0.0 else "has less than is wanted"
    yield click.style(f"{fit.board.name} in {fit.blank.name}", bold=True) + f"  {verdict}"
    yield (
        f"  foam over the board everywhere: {fit.sure_mm:.1f} mm for sure; found {fit.cover_mm:.2f} mm, proven at "
        f"least {fit.floor_mm:.2f} and in no placing more than {fit.ceiling.cover_mm:.2f}; the block may be "
        f"{fit.block.error_mm:.1f} mm less than told"
    )
    if fitted.on_rack_mm is not None:
        yield from _reglued(fit.block, fitted.on_rack_mm)
    aft, forward = fit.shift_mm
    pitch = fit.nose_up_rad
    yield (
        f"  placed: its tail end {fit.tail_gap_mm:.1f} mm ahead of the block's, nose "
        f"{'up' if pitch >= 0.0 else 'down'} {abs(pitch) * 1000.0:.1f} mm a metre from how the block stands; "
        f"{-aft:.0f} mm further aft or {forward:.0f} mm further forward costs 0.1 mm"
    )
    yield f"  to be planed off: {fit.foam_mm3 / 1e6:.1f} L of {fit.blank.foam.kind}"
    yield f"  {'from tail':<12}{'deck':>8}{'rail':>8}{'bottom':>8}   mm, square to the block; upright at the stringer"
    for each in fit.stations:
        upright = ""
        if each.upright_deck_mm is not None and each.upright_bottom_mm is not None:
            upright = f"   {each.upright_deck_mm:.1f} over the deck, {each.upright_bottom_mm:.1f} under the bottom"
        where = feet_inches(each.x_mm)
        yield f"  {where:<12}{each.deck_mm:>8.1f}{each.rail_mm:>8.1f}{each.bottom_mm:>8.1f}{upright}"
    for place in fit.tight:
        yield (
            f"  tight: {place.cover_mm:.2f} mm on the {place.face}, {feet_inches(place.x_mm)} from the tail, "
            f"{place.off_mm:.0f} mm off the stringer"
        )
    if fitted.short_mm:
        yield f"  {fitted.short_mm:.1f} mm less than the {fitted.wanted_mm:g} mm wanted; what would do, each alone:"
        for remedy in fitted.remedies:
            yield (
                f"    {remedy.what} {feet_inches(remedy.to_mm)} ({remedy.to_mm:.1f} mm) in place of "
                f"{feet_inches(remedy.from_mm)} ({remedy.from_mm:.1f} mm)"
            )
        if not fitted.remedies:
            yield "    no change of thickness, length or nose rocker alone by less than 15 %"
    for what, shape in (("the board's", fit.board), ("the blank's", fit.blank.shape)):
        yield from _assumed(f"{what} spec", [spelled(item.path) for item in shape.assumed])
    for file in files:
        yield f"  wrote {file}"


def _reglued(block: FoamBlock, on_rack_mm: float) -> Iterator[str]:
    """Yield how the halves of a block are bent to a new stringer."""
    bent = block.regluing
    if bent is None:
        return
    hard = bent.hardest
    yield (
        f"  re-glued to the new stringer; as it lies on the rack it would be {on_rack_mm:.1f} mm. The halves move "
        f"{abs(bent.out_mm):.1f} mm {'apart' if bent.out_mm >= 0.0 else 'together'} each"
    )
    limit = block.blank.foam.most_strain
    verdict = "its maker's sheet alone says whether it bears that" if limit is None else f"it bears {100 * limit:.2f} %"
    yield (
        f"  hardest bend {feet_inches(hard.x_mm)} from the block's tail: a straight half to a radius of "
        f"{hard.radius_mm / 1000.0:.1f} m, its faces strained {100.0 * hard.most_strain:.2f} %; {verdict}"
    )
    yield f"  {'mark, from tail':<18}{'now':>8}{'glued':>8}{'moves':>8}   mm, bottom at the stringer over a flat floor"
    for mark in block.marks:
        moves = mark.becomes_mm - mark.was_mm
        yield f"  {feet_inches(mark.x_mm):<18}{mark.was_mm:>8.1f}{mark.becomes_mm:>8.1f}{moves:>+8.1f}"


def rack_summary(rack: Rack) -> Iterator[str]:
    """Yield a line for each blank of a rack, those with most foam first."""
    for one in rack.ranked:
        blank = one.block.blank
        if one.cover_mm is None:
            yield f"  {blank.name:<24}{'-':>8}      {one.why}"
            continue
        sure = one.cover_mm - one.block.error_mm
        verdict = "comes out" if sure >= rack.wanted_mm else "less than is wanted" if sure >= 0.0 else "is short"
        price = f"; {blank.price}" if blank.price else ""
        yield f"  {blank.name:<24}{sure:>8.1f} mm   {verdict}; {blank.foam.kind}{price}"
