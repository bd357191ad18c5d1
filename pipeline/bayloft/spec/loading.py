"""A spec file to trusted values, with every fault of the file and of the files it names told at once."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.spec.board import Board
from bayloft.spec.fin import Fin
from bayloft.spec.fin_rules import Deck, foil_numbers, placements, planform_numbers, rake_in_reach, trusted_tab
from bayloft.spec.measures import Refused
from bayloft.spec.models import BoardSpec, FinSpec, RailAt, RailsSpec
from bayloft.spec.naming import slug_of
from bayloft.spec.reading import Reading
from bayloft.spec.references import referred
from bayloft.spec.rules import (
    board_thicknesses,
    outline_widths,
    rocker_heights,
    tail_on_outline,
    trusted_nose,
    trusted_tail,
)
from bayloft.spec.sections import bottom_lines, crown_line, rail_lines
from bayloft.spec.source import read
from bayloft.spec.tables import Root
from bayloft.spec.vocabulary import keys_of
from bayloft.spec.wording import tell
from bayloft.units import MM_PER_UNIT

Spec = TypeVar("Spec", bound=Root)


def load_board(path: Path) -> Board:
    """Return the board of a spec file, its fins and shared rails read from the files it names.

    Raises
    ------
    SpecError : every fault of the board file and of the files it names.
    """
    reading, spec = _tables(BoardSpec, path)
    rails_reading, rails, elsewhere = _rails(spec, path, reading)
    fins, fin_faults = _fins(spec, path, reading)
    elsewhere += fin_faults
    if spec.length is None:
        raise SpecError((*reading.faults, *elsewhere))
    length = spec.length
    outline = outline_widths(spec.outline, length, reading) if spec.outline else None
    nose = trusted_nose(spec.nose, reading) if spec.nose else None
    tail = trusted_tail(spec.tail, reading) if spec.tail else None
    if tail and outline:
        tail_on_outline(tail, outline, reading)
    rocker = rocker_heights(spec.rocker, length, reading) if spec.rocker else None
    foil = board_thicknesses(spec.thickness, length, reading) if spec.thickness else None
    rail = rail_lines(rails, length, outline, rails_reading)
    crown = crown_line(spec.crown, length, foil, reading)
    bottom = bottom_lines(spec.bottom, length, reading)
    placed_fins = placements(spec.fins, fins, Deck(length_mm=length, outline=outline, tail=tail), reading)
    if rails_reading is not reading:
        elsewhere += rails_reading.faults
    faults = (*reading.faults, *elsewhere)
    if faults or not (spec.name and outline and nose and tail and rocker and foil):
        raise SpecError(faults)
    return Board(
        name=spec.name,
        slug=slug_of(spec.name),
        length_mm=length,
        widths=outline.widths,
        wide_point=outline.wide_point,
        hollow=frozenset({"both": ("nose", "tail"), None: ()}.get(spec.outline.hollow, (spec.outline.hollow,))),
        nose=nose,
        tail=tail,
        heights=rocker.heights,
        lowest_x_mm=rocker.lowest_x_mm,
        thicknesses=foil.thicknesses,
        thickest=foil.thickest,
        nose_tip_mm=foil.nose_tip_mm,
        tail_end_mm=foil.tail_end_mm,
        apex=rail.apex,
        tuck=rail.tuck,
        edge=rail.edge,
        fullness=rail.fullness,
        crown=crown,
        roll=bottom["roll"],
        vee=bottom["vee"],
        concave=bottom["concave"],
        double_concave=bottom["double concave"],
        fins=placed_fins,
        assumed=tuple(reading.assumed if rails_reading is reading else [*reading.assumed, *rails_reading.assumed]),
        source=reading.source,
    )
