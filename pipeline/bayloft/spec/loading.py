"""A spec file to trusted values, with every fault of the file and of the files it names told at once."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.spec.bench.band_rules import trusted_bands
from bayloft.spec.bench.blank_choice_rules import trusted_blank_choice
from bayloft.spec.bench.fin_panels_rules import trusted_fin_panels
from bayloft.spec.bench.floating_rules import trusted_float
from bayloft.spec.bench.glass_rules import trusted_glass
from bayloft.spec.bench.hot_wire_rules import trusted_hot_wire
from bayloft.spec.bench.shaping_rules import trusted_shaping
from bayloft.spec.bench.stringer_rules import trusted_stringer
from bayloft.spec.boards.board import Aim, Blend, Board, Origin
from bayloft.spec.boards.board_models import BoardSpec, FromTable
from bayloft.spec.boards.channels import trusted_channels
from bayloft.spec.boards.deriving import Base, Values, derived, factors_of
from bayloft.spec.boards.placements import Deck, placements
from bayloft.spec.boards.plugs import trusted_plugs
from bayloft.spec.boards.quantities import Size
from bayloft.spec.boards.rules import (
    board_thicknesses,
    ends_of,
    outline_widths,
    rocker_heights,
    tail_on_outline,
    trusted_nose,
    trusted_tail,
    trusted_turns,
)
from bayloft.spec.boards.section_models import RailsSpec
from bayloft.spec.boards.sections import Rails, board_sections
from bayloft.spec.boards.shape_models import ShapeSpec
from bayloft.spec.boards.template_rules import rail_reach_mm, trusted_templates
from bayloft.spec.fins.fin import Fin, FoilSection
from bayloft.spec.fins.fin_forms import foil_form, planform_numbers
from bayloft.spec.fins.fin_models import FinSpec
from bayloft.spec.fins.fin_rules import foil_numbers, rake_in_reach, trusted_tab
from bayloft.spec.fins.layup_rules import trusted_core, trusted_layup
from bayloft.spec.fins.section_file import read_section
from bayloft.spec.parsing import OtherKindError, refuse_other_kind, tables_from, tables_of
from bayloft.spec.text.naming import slug_of
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.references import named_file, referred
from bayloft.spec.text.source import Source, read
from bayloft.spec.text.vocabulary import toml
from bayloft.units import METRIC_UNITS, carried_unit

MOST_DERIVED = 8
"""Boards of which each is derived from the next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Others:
    """What a board takes from other files: rails (or its own), its fins in order (None where one could not be loaded),
    and the faults of those files.
    """

    rails: Rails
    fins: list[Fin | None]
    faults: list[Fault] = field(default_factory=list)


def load_board(path: str | os.PathLike[str]) -> Board:
    """Return the board of a spec file, its fins and shared rails read from the files it names.

    Raises
    ------
    SpecError : every fault of the board file and of the files it names.
    """
    return board_of(read(path))


def board_of(source: Source) -> Board:
    """Return the board of a spec that was read, as `load_board` does. Raises SpecError as it does."""
    return _board_of(source, ())[0]


def _board_of(source: Source, above: tuple[Path, ...]) -> tuple[Board, Source]:
    """Return the board of a spec that was read, and the spec in full; `above`: the files that are derived from it."""
    if "from" not in source.values:
        return _whole(source, None), source
    source, origin = _with_origin(source, above)
    return _whole(source, origin), source


def _whole(source: Source, origin: Origin | None) -> Board:
    """Return the board of a spec in full; origin: the board that it is derived from."""
    reading, spec = tables_from(BoardSpec, source)
    board, faults = shape_and_faults(spec, reading, origin)
    if faults or board is None:
        raise SpecError(tuple(faults))
    return board


def shape_and_faults(spec: ShapeSpec, reading: Reading, origin: Origin | None) -> tuple[Board | None, list[Fault]]:
    """Return the board of a spec's shape, and of what else a board has, or None where a part of it could not be read;
    and the faults of its file and of those that it names.
    """
    others = _others(spec, reading)
    board = _board(spec, others, reading, origin)
    readings = dict.fromkeys((reading, others.rails.reading))
    return board, [*(fault for each in readings for fault in each.faults), *others.faults]


def _with_origin(source: Source, above: tuple[Path, ...]) -> tuple[Source, Origin]:
    """Return a spec together with what it takes of the board that it is derived from."""
    reading, spec = tables_from(BoardSpec, source)
    # All else is told once it is seen together with what is taken.
    reading.faults[:] = [fault for fault in reading.faults if fault.path[:1] == ("from",)]
    table, own = spec.from_, Path(source.file)
    if "length" in source.values:
        hint = f"length = {toml(source.values['length'])} in [from]"
        reading.fault(("length",), "the length of a derived board belongs in [from]", hint=hint)
    if table is None or reading.faults:
        raise SpecError(tuple(reading.faults))
    if (table.share is None) != (table.blended_with is None):
        key, other = ("share", "blended_with") if table.share is None else ("blended_with", "share")
        hint = 'share = "30 %"' if key == "share" else 'blended_with = "../boards/fulmar.toml"'
        reading.fault(("from", other), f"without {key}, which says the rest", hint=hint)
    keys = ("board", "blended_with") if table.blended_with else ("board",)
    bases = [_base(table, key, reading, (*above, own.resolve())) for key in keys]
    first = bases[0]
    if reading.faults or first is None or None in bases:
        raise SpecError(tuple(reading.faults))
    length, keep = table.length or first.board.length_mm, table.keep or "proportions"

    def origin_of(base: Base, own: Values) -> Origin:
        board = base.board
        return Origin(
            name=board.name,
            file=table.board,
            factors=factors_of(own, base, length, keep),
            size=board.origin.size if board.origin else board.size,
            metric=board.metric,
        )

    def alone(base: Base) -> Board:
        """Return another board, brought to this one's length, with nothing of this one's own."""
        values: Values = {key: source.values[key] for key in ("edition", "name") if key in source.values}
        bare = replace(source, values=values, lines={("from",): source.lines["from",]})
        origin = origin_of(base, {})
        return _whole(derived(bare, base, length, origin.factors), origin)

    origin = origin_of(first, source.values)
    if len(bases) == 2 and bases[1] is not None and table.share is not None:
        blend = Blend(first=alone(first), second=alone(bases[1]), share=table.share, name=bases[1].board.name)
        origin = replace(origin, blend=blend)
    return derived(source, first, length, origin.factors), origin


def _base(table: FromTable, key: str, reading: Reading, above: tuple[Path, ...]) -> Base | None:
    """Return a board that `[from]` names, or None, told as a fault."""
    path: KeyPath = ("from", key)
    file = named_file(getattr(table, key), path, reading)
    if file is None:
        return None
    if file.resolve() in above:
        reading.fault(path, "a board that is derived from this very one", hint="name a board with numbers of its own")
        return None
    if len(above) > MOST_DERIVED:
        reading.fault(path, "too many boards derived from one another", allowed=f"at most {MOST_DERIVED}")
        return None
    try:
        board, source = _board_of(read(file), above)
    except SpecError as error:
        reading.faults += error.faults
        return None
    if board.origin and board.origin.blend:
        problem = "a board that is mixed of two itself"
        reading.fault(path, problem, hint="name one of those two, or a board with numbers of its own")
        return None
    rails = source.values.get("rails")
    return Base(board=board, source=source, rails=read(referred(rails, file)) if isinstance(rails, str) else None)


def may_be_board(path: str | os.PathLike[str]) -> bool:
    """Return whether a file is a board's, or so broken that only loading it can tell."""
    try:
        refuse_other_kind(BoardSpec, read(path))
    except OtherKindError:
        return False
    except SpecError:
        return True
    return True


def load_fin(path: str | os.PathLike[str]) -> Fin:
    """Return the fin of a spec file.

    Raises
    ------
    SpecError : every fault of the file.
    """
    return fin_of(read(path))


def fin_of(source: Source) -> Fin:
    """Return the fin of a spec that was read, as `load_fin` does. Raises SpecError as it does."""
    reading, spec = tables_from(FinSpec, source)
    fin = _fin(spec, reading)
    if reading.faults or fin is None:
        raise SpecError(tuple(reading.faults))
    return fin


def _others(spec: ShapeSpec, reading: Reading) -> _Others:
    """Return what the board takes from other files; every file is read once."""
    faults: list[Fault] = []
    rails = Rails(entries=spec.rails if isinstance(spec.rails, list) else (), reading=reading, read_to_mm=spec.read_to)
    if isinstance(spec.rails, str) and (file := named_file(spec.rails, ("rails",), reading)):
        try:
            rails_reading, shared = tables_of(RailsSpec, file)
            mark = shared.read_to or spec.read_to
            rails = Rails(entries=shared.rails or (), reading=rails_reading, read_to_mm=mark)
        except SpecError as error:
            faults += error.faults
    fins: dict[Path, Fin | None] = {}
    entries = spec.fins if isinstance(spec, BoardSpec) else []
    files = [named_file(entry.fin, ("fins", index, "fin"), reading) for index, entry in enumerate(entries)]
    for named in filter(None, dict.fromkeys(files)):
        try:
            fins[named] = load_fin(named)
        except SpecError as error:
            faults += error.faults
    in_order = [fins.get(named) if named else None for named in files]
    _one_name_each(in_order, reading)
    return _Others(rails=rails, fins=in_order, faults=faults)


def _one_name_each(fins: Iterable[Fin | None], reading: Reading) -> None:
    """Tell as a fault each fin that is another than one before it, but has its name: the files of one would go."""
    named: dict[str, Fin] = {}
    for index, fin in enumerate(fins):
        if fin is not None and (other := named.setdefault(fin.slug, fin)) is not fin:
            problem = f'another fin called "{other.name}" is in {other.source.file}'
            hint = "name the same file in both places, or give one of the fins another name"
            reading.fault(("fins", index, "fin"), problem, hint=hint)


def _board(spec: ShapeSpec, others: _Others, reading: Reading, origin: Origin | None) -> Board | None:
    """Return the board, or None where a part of it could not be read; every broken rule is told as a fault."""
    length = spec.length
    if length is None:
        return None
    outline = outline_widths(spec.outline, length, reading, spec.read_to) if spec.outline else None
    nose = trusted_nose(spec.nose, reading) if spec.nose else None
    tail = trusted_tail(spec.tail, reading) if spec.tail else None
    if tail and outline:
        tail_on_outline(tail, outline, reading)
    rocker = rocker_heights(spec.rocker, length, reading, spec.read_to) if spec.rocker else None
    foil = board_thicknesses(spec.thickness, length, reading, spec.read_to) if spec.thickness else None
    size = Size(
        length_mm=length,
        width_mm=outline.wide_point.value if outline else None,
        thickness_mm=foil.thickest.value if foil else None,
        like=origin.size if origin else None,
    )
    sections = board_sections(others.rails, spec.deck, spec.bottom, size, reading, spec.read_to)
    metric = _metric(reading.source.values, origin)
    whole: dict[str, Any] = {}
    if isinstance(spec, BoardSpec):
        if spec.volume_by and not spec.volume:
            reading.fault(("volume_by",), "no volume to reach is given", hint='volume = "32 L"')
        deck = Deck(length_mm=length, outline=outline, tail=tail)
        whole = {
            "aim": Aim(litres=spec.volume, by=spec.volume_by or "thickness") if spec.volume else None,
            "channels": trusted_channels(spec.channels, length, tail, reading),
            "fins": placements(spec.fins, others.fins, deck, reading),
            "plugs": trusted_plugs(spec.plugs, deck, reading),
            "templates": trusted_templates(spec.templates, length, tail, reading),
            "blank": trusted_blank_choice(spec.blank, reading),
            "stringer": trusted_stringer(spec.stringer, reading, metric=metric),
            "shaping": trusted_shaping(spec.shaping, length, reading, metric=metric),
            "glass": trusted_glass(spec.glass, length, reading, metric=metric),
            "afloat": trusted_float(
                spec.float_, length, tail.notch_mm(0.0) if tail else 0.0, reading, weighed=spec.glass is not None
            ),
            "hot_wire": trusted_hot_wire(spec.hot_wire, reading, metric=metric),
            "panels": trusted_fin_panels(spec.panels, reading, fins=bool(spec.fins)),
            "bands": trusted_bands(spec.bands, length, rail_reach_mm(length, tail), reading, metric=metric),
        }
    if not (spec.name and spec.outline and outline and nose and tail and rocker and foil):
        return None
    readings = dict.fromkeys((reading, others.rails.reading))
    return Board(
        name=spec.name,
        slug=slug_of(spec.name),
        length_mm=length,
        widths=outline.widths,
        wide_point=outline.wide_point,
        hollow=ends_of(spec.outline.hollow),
        nose=nose,
        tail=tail,
        heights=rocker.heights,
        lowest_x_mm=rocker.lowest_x_mm,
        lowest_assumed=bool(spec.rocker and spec.rocker.lowest is None),
        usual_heights=rocker.usual,
        hips=trusted_turns(spec.outline.hips, ("outline", "hips"), length, reading),
        thin_ends=ends_of(spec.thickness.hollow if spec.thickness else None),
        steps=trusted_turns(spec.thickness.steps if spec.thickness else (), ("thickness", "steps"), length, reading),
        thicknesses=foil.thicknesses,
        thickest=foil.thickest,
        nose_tip_mm=foil.nose_tip_mm,
        tail_end_mm=foil.tail_end_mm,
        sections=sections.numbers,
        drops=sections.drops,
        assumed=tuple(assumed for each in readings for assumed in each.assumed),
        source=reading.source,
        metric=metric,
        origin=origin,
        **whole,
    )


def _metric(values: dict[str, Any], origin: Origin | None) -> bool:
    """Return whether a board's lengths are in mm, cm or m: by the file's unit, or else as those of the board that it is
    derived from, or else by the unit of its length.
    """
    if origin and "unit" not in values:
        return origin.metric
    length = values.get("length")
    unit = values.get("unit") or (carried_unit(length) if isinstance(length, str) else None)
    return isinstance(unit, str) and unit in METRIC_UNITS


def _fin(spec: FinSpec, reading: Reading) -> Fin | None:
    """Return the fin, or None where one of its sizes could not be read; every broken rule is told as a fault."""

    def section(typed: str, key: KeyPath) -> FoilSection | None:
        file = named_file(typed, key, reading, ".dat")
        try:
            return read_section(file) if file else None
        except SpecError as error:
            reading.faults += error.faults
            return None

    planform = planform_numbers(spec.planform, spec.base, spec.depth, reading) if spec.base and spec.depth else None
    foil = foil_numbers(spec.foil, spec.base, reading) if spec.base else None
    form = foil_form(spec.foil, foil[0], reading, section) if foil else None
    tab = trusted_tab(spec.tab, spec.base, reading) if spec.tab and spec.base else None
    layup = trusted_layup(spec.layup, reading)
    core = trusted_core(spec.core, foil[0] if foil else None, reading) if spec.core else None
    rake_mm = spec.rake.at_mm(spec.depth) if spec.rake and spec.depth else None
    if rake_mm is not None and spec.depth:
        rake_in_reach(rake_mm, spec.depth, reading)
    if not (spec.name and spec.base and spec.depth and planform and foil and form) or rake_mm is None:
        return None
    thickness_mm, tip_thickness_mm, trailing_edge_mm = foil
    return Fin(
        name=spec.name,
        slug=slug_of(spec.name),
        base_mm=spec.base,
        depth_mm=spec.depth,
        rake_mm=rake_mm,
        leading_fullness=planform.leading_fullness,
        trailing_hollow=planform.trailing_hollow,
        tip_radius_mm=planform.tip_radius_mm,
        tip_width_mm=planform.tip_width_mm,
        leading=planform.leading,
        trailing=planform.trailing,
        base_fillet_mm=planform.base_fillet_mm,
        family=planform.family,
        foil=form.foil,
        hollow_mm=form.hollow_mm,
        greatest_at=form.greatest_at,
        leading_radius=form.leading_radius,
        section=form.section,
        thickness_mm=thickness_mm,
        tip_thickness_mm=tip_thickness_mm,
        trailing_edge_mm=trailing_edge_mm,
        tab=tab,
        layup=layup,
        core=core,
        assumed=tuple(reading.assumed),
        source=reading.source,
    )
