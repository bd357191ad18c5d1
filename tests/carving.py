"""A short board, a coarse gantry and its programs, made once for all tests of carving in a process."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from bayloft.cutting.carving.setup import CarveJob, carve_job
from bayloft.delivery.carving import WrittenProgram, written_programs
from bayloft.solid.draft import Draft, drafted
from bayloft.spec.loading import load_board
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Shop

from .cli.small_board import KNOT

GANTRY = """
name = "Saltmarsh Boatshed, short gantry"
unit = "mm"

[[cutters]]
name = "12 mm ball"
kind = "ball"
diameter = 12
cutting_depth = 60
flutes = 2
chip_load = "0.2 mm/flute"
rpm = 18000
pass_depth = 12

[[cutters]]
name = "10 mm straight"
diameter = 10
cutting_depth = 40
flutes = 2
chip_load = "0.2 mm/flute"
rpm = 18000
pass_depth = 10

[machine]
bed_length = 1600
bed_width = 700
travel_height = 12
greatest_feed = "6000 mm/min"
rapid = "9000 mm/min"
dialect = "arcs"

[gantry]
z_travel = 260
holder_diameter = 40
stick_out = 80
level_depth = 15
cusp = 0.4
dowel = 16

[cutting]
ramp = "10 deg"
"""


@cache
def knot() -> Draft:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "knot.toml"
        path.write_text(KNOT, "utf-8")
        return drafted(load_board(path))


def shop(text: str = GANTRY) -> Shop:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "shop.toml"
        path.write_text(text, "utf-8")
        return load_shop(path)


def job(text: str = GANTRY, thickness_mm: float = 0.0, draft: Draft | None = None) -> CarveJob:
    of, with_tools = draft or knot(), shop(text)
    assert with_tools.machine is not None
    assert with_tools.gantry is not None
    named = {each.name: each for each in with_tools.cutters}
    cutters = named[with_tools.gantry.roughing_cutter], named[with_tools.gantry.finishing_cutter]
    tools = (with_tools.machine, with_tools.gantry, with_tools.cutting.ramp_deg, *cutters)
    return carve_job(of.board.name, of.body, of.board.length_mm, tools, thickness_mm)


@cache
def knot_programs() -> tuple[CarveJob, tuple[WrittenProgram, ...]]:
    made = job()
    return made, tuple(written_programs(made, lambda _doing: None))
