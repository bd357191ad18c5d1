"""Every tolerance and limit of bayloft: name, unit, reason."""

MAX_SPEC_BYTES = 2**20
"""Bytes. A spec written by hand has a few kilobytes; a scan or a picture named by mistake must not go to the parser."""

MAX_SPEC_DEPTH = 32
"""Lists, inline tables and dotted keys inside one another. Specs use four; tomllib's time grows with the square."""

MAX_SECTION_BYTES = 2**17
"""Bytes. A foil of a thousand coordinates has thirty thousand."""

COEFFICIENT_DECIMALS = 9
"""Decimals (mm) kept of spline coefficients: 1e-9 mm is far below any use and far above the last bits in which two
machines' linear algebra differ, so that the same spec gives the same bytes."""

GIVEN_NUMBER_MM = 0.01
"""mm by which the surface may miss a number of the spec: a tenth of what a steel rule can show."""

SLACK_MM = 0.1
"""mm by which numbers given without play may move, where no fair line passes exactly through them: no tape shows it."""

AIM_L = 1e-3
"""Litres by which a board may miss a volume to reach: a thousandth of what a maker speaks of."""

RADIUS_MM, EDGE_RADIUS_SHARE = 0.1, 0.1
"""mm, and share of an edge's own radius, by which the radius of a rail, and of a bottom edge, may be missed: no gauge
tells 1.0 from 1.1 mm."""

LEVEL_WIDTH_MM = 1e-6
"""mm by which a board may be wider elsewhere and yet be widest where it was asked: an outline that runs nearly straight
has no one widest place. On one with a radius of 10 m it is a fifteenth of a millimetre of station."""

CHORD_MM = 0.05
"""mm, default greatest distance between mesh and surface: finer than a sanding scratch."""

CHORD_RANGE_MM = (0.005, 2.0)
"""mm, chord tolerances a build accepts: below, the files outgrow any slicer; above, it is no board any more."""

ARC_FIT_MM = 0.02
"""mm by which arcs and lines of a template may leave the true curve: well inside a router's own accuracy."""

MESH_VOLUME_RELATIVE = 1e-3
"""Greatest relative difference of mesh volume and integral at CHORD_MM; in proportion to a coarser tolerance."""

RICHARDSON_RELATIVE = 1e-6
"""Greatest relative difference of the integral and the volume extrapolated from a mesh and its halving, likewise."""

MESH_ORDER = (1.9, 2.1)
"""Range of the order at which the volume error falls when a mesh is halved: an inscribed mesh has order 2."""

SEPARATE_STATIONS_MM = 0.5
"""mm within which two stations are the same place: a pencil line's width."""

AGREEMENT_SHARE = 0.06
"""Share of the length within which the fullest stations of two lines are said to agree (common practice, no source)."""

LONGEST_STRAIGHT_SHARE = 0.12
"""Share of the length over which an outline may run straight before it is named in a finding."""

TIP_DIP_MM = 0.5
"""mm by which the rail line may dive at a tip, below its own trend: what a straightedge shows along a rail (measured on
eleven boards: less than 0.001)."""

TIP_CREASE_DEG = 3.0
"""Degrees by which a face, or the rail line, may turn across the stringer at a tip: less is gone with the first sanding
(measured: up to 0.02)."""

POLE_NORMALS_DEG = 0.5
"""Degrees by which normals round a tip's pole may lean from their mean: in a smooth tip they are one (measured: up to
0.0001)."""

JOINT_CURVATURE_RATIO = 1.5
"""Greatest ratio of the curvatures to both sides of a joint that is no edge: reflections do not show less (measured: up
to 1.02 at the widest point, 1.2 at soft edges)."""

JOINT_TURN_DEG = 0.5
"""Degrees by which the surface may turn across a joint that is no edge: a hand does not feel less (measured: 0.02)."""

WAVE_MM = 0.5
"""mm, sag of a stretch in which a line along the board bends against the rest of it, from which it is told: what an eye
along the rail sees over a foot (common practice, no source)."""

HOLLOW_MM = 0.1
"""mm, sag of a stretch in which a section bends inward, from which it is told: the thickness of paper under a
straightedge."""

TAPE_MM = 0.8
"""mm by which a lofted drop may differ from one read near a rail and be the same: half a mark of 1/16 in."""

LAND_MM = 0.02
"""mm that may be between a fin's inner face and a straight edge laid along it where a jig bears on it: over a base of
100 mm a hundredth of a degree of toe."""

JOINT_MM = 1e-4
"""Furthest apart two ends may lie and still be one corner: far above rounding at 3 m, far below any tool."""

FLATTENING_MM, MARK_FLATTENING_MM = 0.01, 0.1
"""mm by which straight lines may leave an arc where a format has no arcs: a router's own step where it cuts, a fine
pencil's width where it marks."""

SHORTEST_CUT_MM = 0.05
"""mm, shortest segment a cutting file may hold: controllers stutter on shorter ones, and no template needs them."""

SAME_CUT_MM = 0.02
"""mm within which two contours are the same cut: two fits of one curve differ by less."""

DXF_DECIMALS = 6
"""Decimals (mm) of coordinates in DXF: far below any machine, far above the last bits in which two computers differ."""

SVG_DECIMALS = 3
"""Decimals (mm) of coordinates in SVG: a laser cutter places to 0.01 mm at best."""

AREA_CURVE_STEPS = 48
AREA_CURVE_RELATIVE = 5e-3
"""Steps of the section-area curve, and the greatest relative difference of its Simpson sum and the integral: the rule's
own error at a cut-off tail or a swallow's notch, whose area curve has corners between stations."""

CUT_FIN_DECIMALS = 6
"""Decimals (mm) of a fin's vertices once it stands on a board or is cut by one: single precision tells apart 1e-13 mm
near 0, which is rounding; a thousandth of a micrometre is far below any use."""

ASSEMBLY_VOLUME_RELATIVE = 1e-6
"""Greatest relative difference of the volume of board and fins as one mesh and the sum of its parts less overlaps:
what single precision moves, 1e-8 here, with a factor of a hundred."""

BOTTOM_MM = 1e-9
"""mm by which a solved place may miss its line on the bottom: rounding at 3 m is a thousandth of it."""

BASE_STRAIGHT_MM = 0.05
"""mm by which the bottom may leave a fin's straight base before the base is cut to it: a sanding scratch; also how
alike two places are that one template serves."""

WHOLE_PLY_SHARE = 1e-6
"""Share of a ply by which a foil may be thicker than whole plies and take no further one: far above the rounding of the
division, far below what can be ground."""

LEAST_PRINTED_MM = (170.0, 200.0)
"""mm, least width and height that the margins of a paper may leave. A full-size print's map page needs as much: its
check boxes with a column of text beside them that is no higher than they are, and a map over them."""

BEZIER_MM, PDF_DECIMALS = 1e-3, 4
"""mm by which a Bezier curve may leave its arc, and decimals (mm) of coordinates, in PDF: far below a printer's dot."""

NESTING_SLACK_MM = 0.1
"""mm by which parts are kept further apart and from the edge than asked while they are laid out on sheets: ten times
what flattened arcs and rounded places take off, a fiftieth of a cutter."""

LAYOUT_MM = 0.02
"""mm by which a gap or a margin of a finished layout may fall short, and a cutter may pass the edge of stock or bed:
an arc's chords stand off by half of it."""

LEAST_OFF_CUT_MM = 150.0
"""mm, least side of a rectangle that is listed as an off-cut: a small gauge comes out of it (no source)."""

CUT_TRUE_MM = 0.05
"""mm by which a part may differ from its template when the cutter of a file has gone over it: a hobby router's own
accuracy (common practice, no source)."""

GCODE_DECIMALS = 4
"""Decimals (mm) of a coordinate in G-code: with three, rounded ends and centres break the arc rule of 0.002 mm."""

ARC_RULE_MM = 0.002
"""mm by which the radii from an arc's centre to its two ends may differ (NIST RS274/NGC interpreter, version 3, 3.5.3,
for millimetres; from memory)."""

FLATTEST_ARC_MM = 0.0005
"""mm, least sagitta of an arc written as one: a line cannot be told from a flatter one, and its centre is far away."""

SWEEP_FLATTENING_MM = 0.002
"""mm by which the outline of a simulated cutter may leave the true one: a twentieth of `CUT_TRUE_MM`."""

LEVEL_MM = 0.002
"""mm above or below a depth at which the simulated cut is looked at: sheets of plywood vary by a hundred times that."""

PLUNGE_SHARE = 0.3
"""Share of the feed at which a cutter goes straight down: an end mill cuts badly at its centre (common practice, no
source)."""

SCRIBE_HOP_MM, SCRIBE_NEAR_MM = 1.5, 25.0
"""mm above the stock to which a scribing cutter comes up between two strokes of a text, and how near they lie; it goes
from one to the next at the feed, never rapid (common practice, no source)."""

SCRIBE_MM, SCRIBE_WIDEST_MM = 0.5, 3.2
"""mm, depth of a scribed line, and the widest cutter that scribes: a wider groove neither marks a place nor leaves
lettering that can be read (common practice, no source)."""

DRILLED_MM = 0.05
"""mm by which a hole's diameter may differ from the cutter's and be drilled: a cutter's own tolerance (common practice,
no source)."""

PECK_CLEAR_MM = 1.0
"""mm above the stock to which a drilling cutter comes up to bring out chips (common practice, no source)."""

RAMP_SHARE = 0.02
"""Share by which a descent may be steeper than the ramp: the chords of a small arc are that much shorter than it."""

LOOSE_MM2 = 25.0
"""mm2, least piece of waste that must not lie loose under a turning cutter: of 5 x 5 mm and plywood of 6 mm it weighs
0.1 g and goes the way of the chips (common practice, no source)."""

HOLDING_MM = 0.5
"""mm, least width of wood that holds a piece: half a veneer of thin plywood (common practice, no source)."""

TAB_ANCHOR_MM = 2.0
"""mm of stock beyond the cut that a tab needs to hold on to (common practice, no source)."""
