"""A board for the belly: few parts, few passes, built and cut in two seconds."""

from __future__ import annotations

KNOT = """
edition = 2
name = "Knot"
length = "1100 mm"
outline = { nose_width = "300 mm", tail_width = "342 mm", wide_point = { width = "400 mm", ahead_of_centre = "0 mm" } }
nose = { kind = "round" }
tail = { kind = "square", block = "246 mm" }
rocker = { nose = "50 mm", tail = "20 mm" }
thickness = { thickest = { thickness = "40 mm", ahead_of_centre = "0 mm" }, nose = "28 mm", tail = "28 mm" }
templates = { rail_gauges = [{ from_tail = "18 in" }] }
"""
