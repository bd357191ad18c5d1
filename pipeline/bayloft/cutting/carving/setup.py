"""How a board lies in its block on the bed: the block's size, the two set-ups, and what the holder needs beside it.

Axes of a set-up: x along the board towards the nose from the middle of the tail's dowel, z up from the bed. Deck up, y
is to port. For the bottom the block is turned over about the line through both dowels, which is the stringer: the nose
stays where it was, y and z change their signs, and what lay on top lies on the bed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bayloft.findings import CheckError, Finding
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.holding import Held, Holding, held
from bayloft.spec.shops.shop import Cutter, Gantry, Machine

Array = NDArray[np.float64]

Face = Literal["deck", "bottom"]
FACES: tuple[Face, Face] = ("deck", "bottom")

ROUGH_STEP_SHARE = 0.5
"""Share of its diameter by which the roughing cutter goes aside from row to row: a ball then leaves 0.13 radii between
them."""

BELOW_MM = 1.0
"""How much lower than the finishing cutter's tip the ground beside the board is roughed."""
OVER_BED_MM = 1.0
"""What stays between a cutter and the bed, at least."""
LEAST_CLEAR_MM = 60.0
"""From an end of the board to the middle of a dowel, at least (common practice, no source)."""
SPREAD_U, SPREAD_V = 801, 201
"""Places of the surface at which the extents of a board are looked up."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarveJob:
    """What is to be carved, with what, and how it is held: the block's sizes in mm (x from `block_from_mm` to
    `block_to_mm` in the axes of a set-up), the height of the board's flat plane over the bed with the deck up, and how
    far beside the outline the cutter's middle goes in the deepest levels and how much further for each reach of the
    holder above them.
    """

    name: str
    body: Body
    length_mm: float
    machine: Machine
    gantry: Gantry
    ramp_deg: float
    rougher: Cutter
    finisher: Cutter
    held: Held
    block_from_mm: float
    block_to_mm: float
    block_width_mm: float
    thickness_mm: float
    lift_mm: float
    beside_mm: float
    wider_mm: float

    @property
    def block_length_mm(self) -> float:
        """Length of the block."""
        return self.block_to_mm - self.block_from_mm

    @property
    def safe_mm(self) -> float:
        """Height over the bed at which the cutter travels."""
        return self.thickness_mm + self.machine.travel_height_mm

    @property
    def reach_mm(self) -> float:
        """How far below foam beside it the cutter's tip may go before the holder comes too near, with the ridges that
        the roughing leaves.
        """
        return _reach_mm(self.gantry, self.rougher)

    @property
    def rough_step_mm(self) -> float:
        """From row to row of the roughing."""
        return ROUGH_STEP_SHARE * self.rougher.diameter_mm

    @property
    def rough_feed_mm_min(self) -> float:
        """Feed of roughing, drilling and moves in the air."""
        return min(self.rougher.feed_mm_min, self.machine.greatest_feed_mm_min)

    @property
    def finish_feed_mm_min(self) -> float:
        """Feed of finishing."""
        asked = self.gantry.finishing_feed_mm_min or self.finisher.feed_mm_min
        return min(asked, self.machine.greatest_feed_mm_min)

    @property
    def dowels_mm(self) -> tuple[float, float]:
        """Where the dowels stand along x, in a set-up's axes."""
        tail, nose = self.held.dowels_mm
        return 0.0, nose - tail

    def placed(self, points: Array, face: Face) -> Array:
        """Return points (..., 3) of the board in the axes of a set-up."""
        moved = points + np.array([-self.held.dowels_mm[0], 0.0, self.lift_mm])
        if face == "bottom":
            moved = moved * np.array([1.0, -1.0, -1.0]) + np.array([0.0, 0.0, self.thickness_mm])
        return np.asarray(moved, dtype=np.float64)

    def taken_back(self, points: Array, face: Face) -> Array:
        """Return points (..., 3) in the axes of a set-up as points of the board."""
        moved = points
        if face == "bottom":
            moved = (points - np.array([0.0, 0.0, self.thickness_mm])) * np.array([1.0, -1.0, -1.0])
        return np.asarray(moved + np.array([self.held.dowels_mm[0], 0.0, -self.lift_mm]), dtype=np.float64)

    def turned(self, normals: Array, face: Face) -> Array:
        """Return directions (..., 3) of the board in the axes of a set-up."""
        return normals * np.array([1.0, -1.0, -1.0]) if face == "bottom" else normals

    def tabs(self, face: Face) -> list[tuple[float, float, float, float]]:
        """Return the tabs in a set-up's axes: x from and to, half their width about the stringer, height of the top."""
        found = []
        for tab in self.held.tabs:
            z = tab.high_mm if face == "deck" else tab.low_mm
            low, high = (self.placed(np.array([x, 0.0, z]), face) for x in (tab.from_mm, tab.to_mm))
            found.append((float(low[0]), float(high[0]), tab.half_width_mm, float(high[2])))
        return found


def carve_job(
    name: str, body: Body, length_mm: float, tools: tuple[Machine, Gantry, float, Cutter, Cutter], thickness_mm: float
) -> CarveJob:
    """Return the set-ups of a board.

    Parameters
    ----------
    tools : the router, its gantry, the ramp in degrees, the cutters that rough and finish
    thickness_mm : of the block as measured; 0: as thin as will do

    Raises
    ------
    CheckError
        With all that keeps the block from being carved: its size against the bed ("off-bed") and the travel upright
        ("z-travel"), a block that is too thin ("block-thin"), dowels narrower than the cutter ("dowel-narrow").
    """
    machine, gantry, ramp, rougher, finisher = tools
    surface = body.port.grid(np.linspace(0.0, 1.0, SPREAD_U), np.linspace(0.0, 1.0, SPREAD_V))
    apex = body.port.grid(np.linspace(0.0, 1.0, SPREAD_U), [APEX])[:, 0, 2]
    holding = Holding(dowel_mm=gantry.dowel_mm, tab_width_mm=gantry.tab_width_mm, tab_height_mm=gantry.tab_height_mm)
    trial = held(body, length_mm, holding)
    low = min(float(surface[..., 2].min()), *(tab.low_mm for tab in trial.tabs))
    high = max(float(surface[..., 2].max()), *(tab.high_mm for tab in trial.tabs))
    sunk = finisher.radius_mm + BELOW_MM + OVER_BED_MM
    under = max(gantry.margin_mm, sunk - (float(apex.min()) - low))
    over = max(gantry.margin_mm, sunk - (high - float(apex.max())))
    least = math.ceil((under + high - low + over) * 10.0 - 1e-6) / 10.0
    thick = thickness_mm or least
    lift = under - low + max(thick - least, 0.0) / 2.0
    step = ROUGH_STEP_SHARE * rougher.diameter_mm
    beside = 2.0 * finisher.radius_mm - rougher.radius_mm + step
    wider = gantry.holder_mm / 2.0 + gantry.clearance_mm - rougher.radius_mm + step
    reach = max(_reach_mm(gantry, rougher), 1.0)
    deepest = min(lift + float(apex.min()), thick - lift - float(apex.max())) - finisher.radius_mm - BELOW_MM
    cleared = beside + max(math.floor((thick - deepest) / reach - 1e-9), 0) * max(wider, 0.0) + rougher.radius_mm
    clear = max(LEAST_CLEAR_MM, math.ceil(cleared + 1.5 * gantry.dowel_mm))
    how = held(
        body,
        length_mm,
        Holding(
            dowel_mm=gantry.dowel_mm,
            clear_mm=clear,
            tab_width_mm=gantry.tab_width_mm,
            tab_height_mm=gantry.tab_height_mm,
        ),
    )
    job = CarveJob(
        name=name,
        body=body,
        length_mm=length_mm,
        machine=machine,
        gantry=gantry,
        ramp_deg=ramp,
        rougher=rougher,
        finisher=finisher,
        held=how,
        block_from_mm=clear - how.holding.waste_mm,
        block_to_mm=length_mm + clear + how.holding.waste_mm,
        block_width_mm=math.ceil(2.0 * (float(surface[..., 1].max()) + cleared + gantry.frame_mm)),
        thickness_mm=thick,
        lift_mm=lift,
        beside_mm=beside,
        wider_mm=max(wider, 0.0),
    )
    faults = tuple(_unfit(job, least))
    if faults:
        raise CheckError(f"{name} on the gantry", faults)
    return job


def _reach_mm(gantry: Gantry, rougher: Cutter) -> float:
    radius = rougher.radius_mm
    aside = ROUGH_STEP_SHARE * radius
    ridge = radius - math.sqrt(radius * radius - aside * aside) if rougher.kind == "ball" else 0.0
    return gantry.stick_out_mm - gantry.clearance_mm - ridge


def _unfit(job: CarveJob, least: float) -> Iterator[Finding]:
    """Yield what keeps a block from being carved on a gantry, each with what would do."""

    def failure(code: str, measured: float, limit: float, text: str) -> Finding:
        return Finding(
            code=code, severity="failure", where=job.name, measured=measured, limit=limit, unit="mm", text=text
        )

    bed = job.machine.bed_length_mm, job.machine.bed_width_mm
    for what, size, most in (("long", job.block_length_mm, bed[0]), ("wide", job.block_width_mm, bed[1])):
        if size > most + 1e-6:
            text = (
                f"the board and its waste need a block {size:.0f} mm {what}, and the bed has {most:.0f}; it takes a "
                "longer bed, or a machine-shaping service (bayloft machine)"
                if what == "long"
                else f"the board and its waste need a block {size:.0f} mm {what}, and the bed has {most:.0f}; a "
                "narrower frame, or a cutter that stands out further, needs less"
            )
            yield failure("off-bed", size, most, text)
    if job.thickness_mm < least - 1e-6:
        text = f"the block is {job.thickness_mm:.1f} mm thick, and the board with its margins takes {least:.1f} mm"
        yield failure("block-thin", job.thickness_mm, least, text)
    if job.safe_mm > job.gantry.z_travel_mm + 1e-6:
        text = (
            f"over a block of {job.thickness_mm:.1f} mm the cutter travels {job.safe_mm:.1f} mm above the bed, and it "
            f"can be raised by {job.gantry.z_travel_mm:.1f}; it takes more travel, or a lower travel height"
        )
        yield failure("z-travel", job.safe_mm, job.gantry.z_travel_mm, text)
    if job.rougher.diameter_mm > job.gantry.dowel_mm + 1e-6:
        text = (
            f"{job.rougher.name} is wider than the dowels' holes; dowels of {math.ceil(job.rougher.diameter_mm):d} mm "
            "or more, or a narrower cutter, will do"
        )
        yield failure("dowel-narrow", job.rougher.diameter_mm, job.gantry.dowel_mm, text)
    if job.reach_mm <= 1.0:
        text = "the cutter stands out no further than the clearance that the holder keeps; let it stand out further"
        yield failure("stick-out", job.gantry.stick_out_mm, job.gantry.clearance_mm + 1.0, text)
