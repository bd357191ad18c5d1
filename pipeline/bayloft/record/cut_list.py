"""The cut list: every part with its sheet and place, as a table and as plain values."""

from __future__ import annotations

import csv
import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

from bayloft.cutting.sheets.layout import CutSheet, Layout, Placed
from bayloft.cutting.sheets.sheet_drawings import letter
from bayloft.drawing.part import Part
from bayloft.export.gcode import CutFiles
from bayloft.findings import Finding
from bayloft.record.figures import report_bytes, rounded
from bayloft.record.heading import FILE_NAME, head
from bayloft.record.report import assumed_entries, file_entries, finding_entry
from bayloft.solid.loft import LoftedBoard
from bayloft.spec.shops.shop import Cutter, Shop

TABLE_NAME = "cut-list.csv"
FORMAT = 1
"""Raised when a key of the cut list changes its meaning."""

SHARE_DECIMALS = 4
MM_DECIMALS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetProgram:
    """The proved G-code of one sheet with one cutter, and what its files are called."""

    name: str
    cutter: Cutter
    files: CutFiles


@dataclass(frozen=True, slots=True, kw_only=True)
class CutJob:
    """A board's parts on sheets, what was checked on the layout, and the programs that cut them, in their order."""

    layout: Layout
    findings: tuple[Finding, ...]
    programs: tuple[SheetProgram, ...]


def write(
    shape: LoftedBoard,
    shop: Shop,
    job: CutJob | None,
    left_out: Sequence[Part],
    folder: Path,
    version: str,
    date: datetime.date | None = None,
) -> dict[str, Any]:
    """Write the cut list into a folder that holds all other files of the job, as cut-list.csv and as report.json, and
    return what the latter says; without a job there are prints only, and no table. Places are of the lower left corner
    of a part's bounds, from that of the sheet. `left_out` are the parts that were not asked for, `date` is the day
    written on the others.
    """
    if job is not None:
        (folder / TABLE_NAME).write_text(_table(job.layout), encoding="utf-8", newline="\n")
    said = {
        "format": FORMAT,
        **head(shape, version, date),
        "shop": shop.name,
        "paper": {"kind": shop.paper.kind, "overlap_mm": rounded(shop.paper.overlap_mm)},
        "job": None if job is None else _job(job),
        "left_out": [{"number": part.number, "title": part.title} for part in left_out],
        "assumed": assumed_entries(shop.name, shop.assumed),
        "files": file_entries(folder),
    }
    (folder / FILE_NAME).write_bytes(report_bytes(said))
    return said


def _job(job: CutJob) -> dict[str, Any]:
    layout = job.layout
    findings = [*job.findings, *(finding for program in job.programs for finding in program.files.findings)]
    return {
        "cutter": {"name": layout.cutter.name, "diameter_mm": rounded(layout.cutter.diameter_mm)},
        "gap_mm": rounded(layout.gap_mm),
        "parts": sum(len(sheet.placed) for sheet in layout.sheets),
        "used_share": round(layout.used_share, SHARE_DECIMALS),
        "sheets": [_sheet(sheet) for sheet in layout.sheets],
        "programs": [
            {
                "name": program.name,
                "cutter": program.cutter.name,
                "minutes": round(program.files.minutes, 1),
                "tabs": program.files.tabs,
            }
            for program in job.programs
        ],
        "checks": [finding_entry(finding) for finding in findings],
    }


def _table(layout: Layout) -> str:
    """Return the parts as comma-separated rows, those of each sheet before its off-cuts, under a row of heads."""
    text = StringIO()
    rows = [{"sheet": sheet.number, "stock": sheet.stock.name} | row for sheet in layout.sheets for row in _rows(sheet)]
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _rows(sheet: CutSheet) -> Iterator[dict[str, Any]]:
    for placed in sheet.placed:
        yield {"kind": "part", **_part(placed), "share_of_sheet": round(placed.area_mm2 / _area(sheet), SHARE_DECIMALS)}
    for entry in _off_cuts(sheet):
        area = entry["length_mm"] * entry["width_mm"]
        yield {
            "kind": "off-cut",
            "number": "",
            "title": f"off-cut {entry['letter']}",
            "copy": "",
            "turned_over": "",
            "turned_deg": "",
            "x_mm": entry["x_mm"],
            "y_mm": entry["y_mm"],
            "length_mm": entry["length_mm"],
            "width_mm": entry["width_mm"],
            "area_mm2": area,
            "share_of_sheet": round(area / _area(sheet), SHARE_DECIMALS),
        }


def _area(sheet: CutSheet) -> float:
    return sheet.stock.length_mm * sheet.stock.width_mm


def _part(placed: Placed) -> dict[str, Any]:
    left, bottom, right, top = (round(value, MM_DECIMALS) for value in placed.part.outline.bounds)
    return {
        "number": placed.given.number,
        "title": placed.given.title,
        "copy": placed.copy,
        "turned_over": "yes" if placed.mirrored else "no",
        "turned_deg": round(placed.turned_deg),
        "x_mm": left + 0.0,
        "y_mm": bottom + 0.0,
        "length_mm": round(right - left, MM_DECIMALS),
        "width_mm": round(top - bottom, MM_DECIMALS),
        "area_mm2": round(placed.area_mm2, MM_DECIMALS),
    }


def _off_cuts(sheet: CutSheet) -> list[dict[str, Any]]:
    return [
        {
            "letter": letter(index),
            "x_mm": off_cut.x_mm,
            "y_mm": off_cut.y_mm,
            "length_mm": off_cut.length_mm,
            "width_mm": off_cut.width_mm,
        }
        for index, off_cut in enumerate(sheet.off_cuts)
    ]


def _sheet(sheet: CutSheet) -> dict[str, Any]:
    stock = sheet.stock
    return {
        "number": sheet.number,
        "stock": stock.name,
        "length_mm": rounded(stock.length_mm),
        "width_mm": rounded(stock.width_mm),
        "thickness_mm": rounded(stock.thickness_mm),
        "margin_mm": rounded(stock.margin_mm),
        "used_mm2": round(sheet.used_mm2, MM_DECIMALS),
        "used_share": round(sheet.used_share, SHARE_DECIMALS),
        "parts": [_part(placed) for placed in sheet.placed],
        "off_cuts": _off_cuts(sheet),
    }
