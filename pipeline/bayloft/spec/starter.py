"""A commented board and its fin to begin with: text for two files that lie beside each other."""

from __future__ import annotations

from collections.abc import Iterable

from bayloft.spec.boards.board_models import BoardSpec
from bayloft.spec.boards.ends import NOSES, TAILS
from bayloft.spec.text.measures import EDITION
from bayloft.spec.text.vocabulary import keys_of

BOARD_FILE = "first-board.toml"
FIN_FILE = "first-fin.toml"
BOARD_SCHEMA_FILE = "board.schema.json"
FIN_SCHEMA_FILE = "fin.schema.json"
BLANK_FILE, BLANK_SCHEMA_FILE = "first-blank.toml", "blank.schema.json"
PLANK_FILE, PLANK_SCHEMA_FILE = "first-plank.toml", "plank.schema.json"


def _or(kinds: Iterable[str]) -> str:
    *others, last = kinds
    return f"{', '.join(others)} or {last}"


def _having(key: str) -> str:
    """Return the kinds of tail that have a key."""
    return ", ".join(keys_of(BoardSpec)["tail",].having(key))


_BOARD = f'''#:schema ./{BOARD_SCHEMA_FILE}
# A board in the numbers a maker measures. Change them, save, and check the file again.
# A line that begins with # is a remark; take the # away from those that are keys to use them.
#
# Lengths: "7 ft 4 in", "7'4", "21 1/4 in", "545 mm", "54.5 cm": in quotes, with their unit.
# Bare numbers are lengths too, once the file names their unit:
# unit = "in"                     # or "mm", "cm", "m", "ft"

edition = {EDITION}                       # of the format: what the keys mean
name = "First board"              # 1 to 60 letters, digits, spaces and - ' . , ( )
length = "7 ft"                   # straight, tail end to nose tip
# read_to = "1/16 in"             # of a board that was measured with a tape: lines pass within half a mark
# volume = "38 L"                 # thicknesses are scaled until the board has it

# A station, wherever one is asked for, is told in one of four ways:
#   from_tail = "2 ft"   from_nose = "2 ft"   ahead_of_centre = "2 in"   behind_centre = "2 in"

[outline]                         # seen from above; full widths, not half ones
nose_width = "16 1/2 in"          # 12 in from the nose tip
tail_width = "14 1/2 in"          # 12 in from the tail end
wide_point = {{ width = "21 in", ahead_of_centre = "1 1/2 in" }}
# widths = [{{ from_tail = "2 ft", width = "18 1/2 in" }}]    # more widths, as many as you measured
# hollow = "tail"                 # lets the outline bend inward at the "nose", the "tail" or "both"
# hips = [{{ from_tail = "12 in", over = "4 in" }}]           # lets it step in there

[nose]
kind = "round"                    # {_or(NOSES)}
# tip_radius = "60 mm"

[tail]
kind = "round"                    # {_or(TAILS)}
# tip_radius = "60 mm"            # {_having("tip_radius")}
# block = "6 in"                  # {_having("block")}: width of the cut, or between two tips
# depth = "3/4 in"                # {_having("depth")}: how far corners or notch lie ahead of the end
# corner_radius = "1/2 in"        # {_having("corner_radius")}

[rocker]                          # heights of the bottom, the board standing on its lowest point
nose = "4 1/2 in"                 # at the very tip
tail = "2 in"                     # at the very end
lowest = {{ behind_centre = "3 in" }}
heights = [{{ from_nose = "12 in", height = "2 1/8 in" }}]  # more, as you measured; without any, the usual bend
# flat = "20 in"                  # so much of the bottom lies flat on the floor

[thickness]                       # at the stringer
thickest = {{ thickness = "2 5/8 in", ahead_of_centre = "2 in" }}
nose = "1 5/8 in"                 # 12 in from the nose tip
tail = "1 11/16 in"               # 12 in from the tail end
# nose_tip = "5/8 in"             # at the very ends, before they are rounded
# tail_end = "5/8 in"
# thicknesses = [{{ from_tail = "2 ft", thickness = "2 1/4 in" }}]

# Rails, at as many stations as you like. Or take them from a file: rails = "rails.toml", up there under length.
[[rails]]
from_nose = "18 in"
kind = "egg"                      # "50/50", "60/40", "pinched", "boxy", "egg", "tucked edge", "down" or "beaked"
# Numbers beside a kind stand above what it says; an entry may also have numbers alone, and what it then leaves out
# runs on from the other entries.
apex = 0.48                       # height of the widest point, as a share of the thickness; "48 %" says the same
# radius = "1/2 in"               # of the rail at its widest point, as a radius gauge gives it
# shoulder = 0.6                  # how long the rail rolls into the deck, from 0.35, crisp, to 1, long
# tuck = "1 in"                   # how far inside the widest point the underside of the rail meets the bottom
# edge_radius = "3/8 in"          # of the bottom edge; 0 is a crease

[[rails]]
from_tail = "14 in"
kind = "tucked edge"
edge_radius = "1/16 in"

[[deck]]                          # domed, flat, rolled, concave, or a chine cut off one of these at the same station
shape = "domed"                   # an only entry needs no station: it holds all along
depth = "3/8 in"                  # fall from the stringer to the rail, without the rail's own rounding
# flat = "4 in"                   # domed, rolled: width in the middle that stays flat
# In place of [[deck]], measured with a straightedge across the deck: drops = [{{ inside = "2 in", down = "3/8 in" }}]
# in an entry of [[rails]]: how far inside the widest point, and from the straightedge down to the deck.

[[bottom]]                        # flat, roll, vee, concave, double concave or chine; two at one station add up
from_nose = "18 in"
shape = "roll"
depth = "3/16 in"
# flat = "4 in"                   # roll: width in the middle that stays flat
# Of a concave, width = "10 in" is the width of the hollow; of a chine, how far in from the tuck it reaches.

[[bottom]]
ahead_of_centre = "2 in"
shape = "roll"
depth = "1/4 in"

[[bottom]]
from_tail = "18 in"
shape = "vee"
depth = "1/8 in"

# [[channels]]                    # strips sunk into the bottom, the same to both sides of the stringer
# off_stringer = "2 in"           # to the inner side of the channel
# width = "1 3/4 in"
# depth = "3/16 in"
# begins = {{ from_tail = "26 in" }}
# ends = {{ from_tail = "6 in" }}   # left out: it runs out over the end of a cut-off tail
# fade = "5 in"                   # length over which it runs in and out

[[fins]]
fin = "{FIN_FILE}"
from_tail = "6 in"                # rear end of its base to the tail end
# off_stringer = "4 1/4 in"       # makes it a pair, one to each side
# toe = "3 deg"                   # of a pair: fronts turned towards the stringer; or "1/8 in" from rear to front end
# cant = "5 deg"                  # of a pair: tips leaning outward

[panels]                          # fins of one laminate are sawn from one panel
saw = "2 mm"                      # what the saw takes between the margins of two fins
bolt = "27 in"                    # width of the cloth

# [templates]                     # what the templates show beyond the shape
# deck_skin = "3 mm"              # thickness of a skin laid on the deck later: the stringer is cut that much lower
# sanding = "1/32 in"             # left on the stringer all round
# rail_gauges = [{{ from_tail = "12 in" }}, {{ from_nose = "12 in" }}]   # their stations

# [shaping]                       # asks for the shaping cards
# stations = [{{ from_tail = "12 in" }}, {{ from_nose = "12 in" }}]      # each foot from either end, if left out
# pass_depth = "1/32 in"          # of the planer: `bayloft fit` then counts the passes

# [blank]                         # the block of foam that it is to come out of: bayloft new --blank writes one
# file = "first-blank.toml"
# least_cover = "1/8 in"          # foam wanted over the board everywhere

# [stringer]                      # a new one, onto which the ripped block is glued; bayloft new --plank writes a plank
# wood = "western red cedar"
# thickness = "1/2 in"
# plank = "first-plank.toml"

# [bands]                         # flats on the squared foam before the rail is rounded
# deck = ["20 deg", "45 deg"]     # or how many, with equal foam left
# bottom = ["40 deg"]
'''

_FIN = f"""#:schema ./{FIN_SCHEMA_FILE}
# A fin. Lengths are written as in the board's file.

name = "First fin"
base = "7 in"                     # along the board
depth = "8 3/4 in"                # square off the base
rake = "3 3/4 in"                 # how far the tip lies aft of the middle of the base; or an angle: "25 deg"

# Everything below may be left out: the report then lists what was assumed.
[planform]
family = "raked flex"             # or "upright pivot", "low keel", "half-moon", "cutaway", "side"
leading_fullness = 0.16           # bow of the leading edge ahead of a straight line, as a share of the depth
trailing_hollow = 0.08            # the same for the trailing edge
tip_radius = "3/4 in"
tip_width = "2 1/2 in"            # length of the fin a tenth of its depth below the tip
# base_fillet = "1/4 in"          # both edges flare out at the base of a glassed-on fin
# In place of leading_fullness, or of trailing_hollow and tip_width: measured points, their height above the base and
# x forward of its rear end. So: leading = [{{ height = "4 in", x = "5 1/2 in" }}], and the same for trailing.

[foil]
kind = "double"                   # "double": both faces curved; "flat": inside face flat; or hollowed, with its depth
                                  # at the base: kind = "hollow", hollow = "1.5 mm"
greatest_at = "30 %"              # thickest place from the leading edge, as a share of the chord
# leading_radius = 1.2            # times the standard radius
# In place of these, the foil's coordinates from a file: section = "foil.dat"
thickness = "9.5 mm"              # greatest, at the base
tip_thickness = "3 mm"            # greatest, carried out to the tip
trailing_edge = "1 mm"

[layup]                           # what the panel is laid up of, from which the fin is sawn and ground
cloth = "7.5 oz/yd2"              # or "250 g/m2"
fibre_share = 0.5                 # glass in the laminate, by mass
glass_density = "2.56 g/cm3"
resin_density = "1.2 g/cm3"       # cured
plies_per_session = 6             # most laid at once: cautious, take yours from the resin maker's data sheet
pot = "200 g"                     # most resin mixed at once: cautious, take yours from the resin maker's data sheet
margin = "20 mm"                  # panel beyond the outline

# [core]                          # for a core of wood or foam under skins of cloth
# material = "western red cedar"
# density = "350 kg/m3"
# thickness = "1/4 in"            # before it is foiled
# skin_plies = 6                  # on each face; as many as fill the foil if left out

# [tab]                           # for a fin that goes into a box
# length = "4 in"
# height = "3/4 in"
# from_rear = "1 in"              # rear end of the tab to rear end of the base
# The slot for it is told under [[fins]] in the board's file: slot = {{ bit = "6 mm", bush = "16 mm" }}
"""


def board_text() -> str:
    """Return a board spec for `BOARD_FILE`; it names `FIN_FILE` and `BOARD_SCHEMA_FILE` beside it."""
    return _BOARD


def fin_text() -> str:
    """Return a fin spec for `FIN_FILE`; it names `FIN_SCHEMA_FILE` beside it."""
    return _FIN


_BLANK = f"""#:schema ./{BLANK_SCHEMA_FILE}
# A block of foam on the rack, measured like a board: with tape and straightedge, and callipers for its thickness.
# A line that begins with # is a remark; take the # away from those that are keys to use them.

edition = {EDITION}                       # of the format: what the keys mean
name = "First blank"
length = "7 ft 8 in"              # straight, from end to end
read_to = "1/8 in"                # foam is no finer than that: its lines pass within half of it
# error = "2 mm"                  # what it may be less than measured: dents, a crust; half the mark if left out

[outline]                         # seen from above; full widths
nose_width = "18 1/2 in"          # 12 in from the nose
tail_width = "16 3/4 in"          # 12 in from the tail
wide_point = {{ width = "22 3/4 in", ahead_of_centre = "2 in" }}
# widths = [{{ from_tail = "2 ft", width = "21 in" }}]

[nose]
kind = "round"                    # {_or(NOSES)}

[tail]
kind = "round"                    # {_or(TAILS)}
# block = "8 in"                  # {_having("block")}: width of the end that is cut off

[rocker]                          # of the bottom, over the floor under its lowest point
nose = "5 3/4 in"
tail = "2 7/8 in"
# heights = [{{ from_nose = "12 in", height = "2 3/4 in" }}]

[thickness]                       # at the stringer
thickest = {{ thickness = "3 3/8 in", ahead_of_centre = "2 in" }}
nose = "2 3/8 in"                 # 12 in from the nose
tail = "2 3/8 in"                 # 12 in from the tail

# Its sides; boxy if left out. The words are those of a board.
# [[rails]]
# kind = "boxy"

[foam]
kind = "polyurethane"
# density = "45 kg/m3"            # of a piece weighed and measured
# source = "an off-cut, weighed"

# The stringer that is in it; none if left out.
# [stringer]
# thickness = "1/8 in"
# wood = "basswood"
"""


def blank_text() -> str:
    """Return the blank's spec."""
    return _BLANK


_PLANK = f"""#:schema ./{PLANK_SCHEMA_FILE}
# A plank that a stringer is cut from, measured on one face: the tape laid from one end, along the edge near you.
# A line that begins with # is a remark; take the # away from those that are keys to use them.

edition = {EDITION}                       # of the format: what the keys mean
name = "First plank"
length = "8 ft"                   # sound length
width = "7 1/4 in"
# width_other_end = "7 in"        # the same if left out
thickness = "5/8 in"              # once both faces are planed
# crook = "1/8 in"                # how far the near edge lies hollow of a straight line; lay the hollow edge near you
wood = "western red cedar"
# density = "370 kg/m3"           # of a piece weighed and measured
# source = "the plank, weighed"
# clearance = "3 mm"              # sound wood kept round knots and splits

# Knots and splits, each by its middle; as many as there are.
[[avoid]]
from_end = "20 in"
from_edge = "3/4 in"
across = "1 in"
# along = "9 in"                  # of a split
"""


def plank_text() -> str:
    """Return the plank's spec."""
    return _PLANK
