"""Trial boards of every kind and five volume boards, as a maker would write them; every number is invented."""

from __future__ import annotations

from typing import NamedTuple


class Trial(NamedTuple):
    """A board in inches: widths as (a foot from the nose, a foot from the tail, greatest), rocker as (nose, tail),
    thickness as (a foot from the nose, a foot from the tail, greatest), how far the wide and the thickest point lie
    ahead of the centre, tables of nose and tail, and everything else as TOML.
    """

    length: str
    widths: tuple[float, float, float]
    rocker: tuple[float, float]
    thickness: tuple[float, float, float]
    ahead: tuple[float, float]
    nose: str
    tail: str
    more: str = ""


def toml(name: str, trial: Trial) -> str:
    """Return the spec of a trial board."""

    def place(ahead: float) -> str:
        return f"ahead_of_centre = {ahead}" if ahead >= 0.0 else f"behind_centre = {-ahead}"

    wide, thick = (place(ahead) for ahead in trial.ahead)
    return "\n".join(
        (
            f'edition = 2\nname = "{name}"\nunit = "in"\nlength = "{trial.length}"',
            f"[outline]\nnose_width = {trial.widths[0]}\ntail_width = {trial.widths[1]}",
            f"wide_point = {{ width = {trial.widths[2]}, {wide} }}",
            'hollow = "both"' if "may bend in" in trial.more else "",
            f"[nose]\n{trial.nose}\n[tail]\n{trial.tail}",
            f"[rocker]\nnose = {trial.rocker[0]}\ntail = {trial.rocker[1]}",
            f"[thickness]\nnose = {trial.thickness[0]}\ntail = {trial.thickness[1]}",
            f"thickest = {{ thickness = {trial.thickness[2]}, {thick} }}",
            trial.more,
            "",
        )
    )


ROUND, POINTED = 'kind = "round"', 'kind = "pointed"'

TRIALS = {
    "Knot": Trial(
        "6'0",
        (11.75, 14.5, 18.75),
        (5, 2.25),
        (1.3125, 1.4375, 2.375),
        (-1, 1),
        POINTED,
        'kind = "squash"\nblock = 6',
        """
[[rails]]
from_nose = 12
kind = "60/40"
[[rails]]
from_tail = 12
kind = "tucked edge"
[[bottom]]
from_nose = 20
shape = "concave"
depth = "5 mm"
[[bottom]]
from_tail = 14
shape = "double concave"
depth = "4 mm"
""",
    ),
    "Ruff": Trial(
        "5'6",
        (15.5, 16, 21),
        (4, 1.75),
        (1.5, 1.5, 2.5),
        (2, 2),
        ROUND,
        'kind = "swallow"\nblock = 10\ndepth = 5',
        """
[[rails]]
kind = "down"
[[deck]]
shape = "flat"
""",
    ),
    "Brant": Trial(
        "10'0",
        (12, 11, 20.5),
        (6.5, 3),
        (1.75, 1.625, 3.25),
        (6, 6),
        POINTED,
        'kind = "pin"',
        """
[[rails]]
kind = "pinched"
[[bottom]]
from_nose = 24
shape = "roll"
depth = "6 mm"
[[bottom]]
from_tail = 16
shape = "vee"
depth = "6 mm"
""",
    ),
    "Plover": Trial(
        "9'2",
        (17.5, 14.5, 22.75),
        (4, 3),
        (2, 2, 3),
        (0, 0),
        ROUND,
        'kind = "square"\nblock = 7\ncorner_radius = 0.75',
        """
[[rails]]
kind = "50/50"
[[deck]]
shape = "domed"
depth = 0.375
[[bottom]]
from_nose = 18
shape = "concave"
depth = "6 mm"
width = 12
[[bottom]]
ahead_of_centre = 0
shape = "flat"
[[bottom]]
from_tail = 18
shape = "roll"
depth = "5 mm"
""",
    ),
    "Glider": Trial(
        "14'",
        (14, 11, 23),
        (6, 4),
        (2.5, 2.25, 4),
        (6, 0),
        ROUND,
        'kind = "round"',
        """
[[rails]]
kind = "pinched"
[[bottom]]
shape = "roll"
depth = "10 mm"
""",
    ),
    "Gannet": Trial(
        "14'",
        (8.75, 9.5, 20),
        (3.5, 1.5),
        (5, 3.5, 6),
        (0, 0),
        'kind = "pointed"\ntip_radius = "12 mm"',
        'kind = "square"\nblock = 6',
        """
[[rails]]
kind = "boxy"
[[bottom]]
from_nose = 36
shape = "roll"
depth = 0.75
[[bottom]]
from_tail = 36
shape = "flat"
""",
    ),
    "Eider": Trial(
        "7'2",
        (17, 15, 21.75),
        (3.5, 1.5),
        (2, 1.875, 2.875),
        (3, 2),
        ROUND,
        'kind = "round"',
        """
[[rails]]
from_nose = 18
kind = "50/50"
[[rails]]
from_tail = 16
kind = "60/40"
edge_radius = "3 mm"
[[deck]]
shape = "domed"
depth = 0.5
[[bottom]]
from_nose = 18
shape = "roll"
depth = 0.75
[[bottom]]
ahead_of_centre = 0
shape = "roll"
depth = 0.625
[[bottom]]
from_tail = 14
shape = "roll"
depth = 0.125
""",
    ),
    "Skimmer": Trial(
        "6'6",
        (16.5, 16.5, 20.5),
        (2.5, 0.75),
        (1.25, 1.25, 1.75),
        (0, 0),
        ROUND,
        'kind = "square"\nblock = 11',
        """
[[rails]]
kind = "down"
edge_radius = 0
[[deck]]
shape = "flat"
[[bottom]]
shape = "flat"
""",
    ),
    "Coot": Trial(
        "7'0",
        (16.5, 15.25, 21.5),
        (4.25, 2),
        (1.75, 1.75, 2.75),
        (2, 2),
        ROUND,
        'kind = "round"\ntip_radius = "80 mm"',
        """
[[rails]]
kind = "egg"
""",
    ),
    "Letdown": Trial(
        "6'8",
        (14, 14.75, 20.25),
        (4.5, 2),
        (1.5, 1.5, 2.5),
        (0, 0),
        ROUND,
        'kind = "thumb"',
        """
[[rails]]
from_nose = 20
kind = "60/40"
[[rails]]
from_tail = 30
edge_radius = "12 mm"
[[rails]]
from_tail = 18
edge_radius = 0
""",
    ),
    "Hollow": Trial(
        "5'10",
        (13.5, 14.25, 19.75),
        (4.5, 2),
        (1.4375, 1.5, 2.5),
        (0, 1),
        POINTED,
        'kind = "diamond"\nblock = 6',
        """
[[rails]]
kind = "60/40"
[[deck]]
shape = "concave"
depth = "5 mm"
[[bottom]]
shape = "concave"
depth = "5 mm"
""",
    ),
    "Panel": Trial(
        "5'8",
        (14.5, 15.5, 20),
        (4.25, 1.75),
        (1.5, 1.5, 2.5),
        (1, 1),
        POINTED,
        'kind = "squash"\nblock = 7',
        """
[[rails]]
kind = "tucked edge"
[[bottom]]
shape = "chine"
depth = "6 mm"
width = "35 mm"
""",
    ),
    "Bevel": Trial(
        "6'4",
        (15, 15, 20.5),
        (4.5, 2),
        (1.625, 1.625, 2.75),
        (1, 1),
        ROUND,
        'kind = "square"\nblock = 6.5',
        """
[[rails]]
kind = "60/40"
[[deck]]
ahead_of_centre = 0
shape = "domed"
depth = "6 mm"
[[deck]]
ahead_of_centre = 0
shape = "chine"
depth = "8 mm"
width = "40 mm"
""",
    ),
    "Facet": Trial(
        "6'2",
        (15, 15.5, 20.5),
        (4, 2),
        (1.625, 1.625, 2.625),
        (1, 1),
        ROUND,
        'kind = "diamond"\nblock = 8\ndepth = 2.5',
        """
[[rails]]
kind = "50/50"
radius = "8 mm"
tuck = "25 mm"
[[deck]]
ahead_of_centre = 0
shape = "flat"
[[deck]]
ahead_of_centre = 0
shape = "chine"
depth = "8 mm"
[[bottom]]
ahead_of_centre = 0
shape = "vee"
depth = "4 mm"
[[bottom]]
ahead_of_centre = 0
shape = "chine"
depth = "5 mm"
""",
    ),
    "Sandbar": Trial(
        "9'0",
        (18, 15, 22.5),
        (3.75, 2.5),
        (2, 2, 2.875),
        (2, 0),
        ROUND,
        'kind = "squash"\nblock = 7\ncorner_radius = 2',
        """
[[rails]]
kind = "egg"
[[deck]]
shape = "rolled"
depth = "10 mm"
flat = 9
[[bottom]]
shape = "roll"
depth = "6 mm"
flat = 6
""",
    ),
    "Curlew": Trial(
        "9'6",
        (18.5, 14.5, 23),
        (4.5, 3),
        (1.75, 2, 3),
        (3, 0),
        ROUND,
        'kind = "pin"\ntip_radius = "10 mm"',
        """
[[rails]]
from_nose = 10
kind = "beaked"
[[rails]]
from_nose = 30
kind = "50/50"
[[rails]]
from_tail = 14
kind = "down"
""",
    ),
    "Teal": Trial(
        "8'0",
        (15, 13.5, 21),
        (5, 2.5),
        (1.75, 1.75, 2.75),
        (2, 2),
        POINTED,
        'kind = "thumb"\ntip_radius = "50 mm"',
    ),
    "Sprat": Trial(
        "4'8",
        (12.5, 13, 17),
        (3, 1.5),
        (1.25, 1.25, 1.875),
        (0, 0),
        ROUND,
        'kind = "squash"\nblock = 7',
    ),
    "Fry": Trial(
        "3'6",
        (14, 14, 16),
        (2, 0.5),
        (1.25, 1.25, 1.5),
        (0, 0),
        ROUND,
        'kind = "square"\nblock = 9',
        """
[[rails]]
kind = "boxy"
""",
    ),
    "Shrike": Trial(
        "8'6",
        (11.5, 11, 19.25),
        (6, 3),
        (1.625, 1.5, 2.875),
        (4, 4),
        'kind = "pointed"\ntip_radius = "8 mm"',
        'kind = "swallow"\nblock = 4.5\ndepth = 4',
        """
[[rails]]
kind = "60/40"
apex = 0.45
shoulder = 0.35
[[bottom]]
from_nose = 30
shape = "vee"
depth = "3 mm"
[[bottom]]
from_tail = 20
shape = "vee"
depth = "6 mm"
[[bottom]]
from_tail = 20
shape = "double concave"
depth = "3 mm"
""",
    ),
    "Trough": Trial(
        "6'10",
        (15.5, 15, 20.75),
        (4.5, 2),
        (1.625, 1.625, 2.625),
        (1, 1),
        ROUND,
        'kind = "round"',
        """
[[bottom]]
from_nose = 20
shape = "concave"
depth = "4 mm"
width = 14
[[bottom]]
from_tail = 20
shape = "concave"
depth = "8 mm"
width = 8
""",
    ),
    "Tapes": Trial(
        "7'6",
        (16, 14.75, 21.5),
        (4.5, 2.25),
        (1.8125, 1.75, 2.8125),
        (2, 2),
        ROUND,
        'kind = "round"',
        """
[[outline.widths]]
from_nose = 24
width = 19.375
[[outline.widths]]
from_tail = 24
width = 18.9375
[[rocker.heights]]
from_nose = 12
height = 2.375
[[rocker.heights]]
from_tail = 12
height = 1
[[thickness.thicknesses]]
from_nose = 24
thickness = 2.4375
[[rails]]
from_nose = 24
drops = [{ inside = 2, down = "10 mm" }]
[[rails]]
from_tail = 24
drops = [{ inside = 2, down = "9 mm" }, { inside = 1, down = "15 mm" }]
""",
    ),
    "Gauge": Trial(
        "6'6",
        (14.5, 14.75, 20.25),
        (4.75, 2.125),
        (1.5, 1.5, 2.625),
        (1, 1),
        POINTED,
        'kind = "squash"\nblock = 6.5',
        """
[[rails]]
from_nose = 18
apex = 0.45
radius = "10 mm"
tuck = "35 mm"
edge_radius = "15 mm"
shoulder = 0.7
[[rails]]
ahead_of_centre = 0
apex = 0.4
radius = "14 mm"
tuck = "30 mm"
edge_radius = "8 mm"
[[rails]]
from_tail = 12
apex = 0.3
radius = "9 mm"
tuck = "14 mm"
edge_radius = "1 mm"
shoulder = 0.5
""",
    ),
    "Stilt": Trial(
        "8'4",
        (15.5, 13.5, 21.25),
        (4.75, 2.5),
        (1.75, 1.625, 2.75),
        (3, 3),
        ROUND,
        'kind = "pin"\ntip_radius = "6 mm"',
        """
# may bend in
[[rails]]
kind = "50/50"
[[bottom]]
ahead_of_centre = 0
shape = "roll"
depth = "8 mm"
[[bottom]]
ahead_of_centre = 0
shape = "vee"
depth = "3 mm"
""",
    ),
    "Loaf": Trial(
        "5'10",
        (17, 17, 22),
        (3, 1),
        (2.25, 2.25, 3),
        (0, 0),
        ROUND,
        'kind = "round"',
        """
[[rails]]
kind = "50/50"
radius = "25 mm"
""",
    ),
    "Raft": Trial(
        "5'4",
        (17, 18.5, 21.5),
        (3.5, 0.75),
        (1.5, 1.625, 2.5),
        (0, 0),
        ROUND,
        'kind = "moon"\nblock = 15\ndepth = 2',
        """
[[rails]]
from_nose = 16
kind = "60/40"
[[rails]]
from_tail = 20
kind = "down"
edge_radius = 0
[[bottom]]
from_nose = 16
shape = "roll"
depth = "5 mm"
[[bottom]]
from_tail = 20
shape = "concave"
depth = "8 mm"
""",
    ),
    "Shelf": Trial(
        "6'0",
        (15.5, 15.5, 20.5),
        (4, 1.75),
        (1.5, 1.5, 2.5),
        (0, 0),
        ROUND,
        'kind = "squash"\nblock = 8',
        """
[[rails]]
kind = "down"
tuck = "50 mm"
edge_radius = 0
""",
    ),
    "Heron": Trial(
        "12'6",
        (16, 13.5, 26),
        (8, 4),
        (2.5, 2.5, 4.25),
        (6, 6),
        'kind = "pointed"\ntip_radius = "20 mm"',
        'kind = "diamond"\nblock = 7\ncorner_radius = 0.5',
        """
[[rails]]
kind = "60/40"
radius = "22 mm"
[[bottom]]
from_nose = 30
shape = "double concave"
depth = "6 mm"
[[bottom]]
from_tail = 30
shape = "flat"
""",
    ),
    "Wader": Trial(
        "11'0",
        (18, 15.5, 31),
        (7, 3.5),
        (2.25, 2.5, 4.5),
        (0, 0),
        ROUND,
        'kind = "round"\ntip_radius = "90 mm"',
        """
[[rails]]
kind = "boxy"
[[deck]]
shape = "concave"
depth = "6 mm"
""",
    ),
    "Snipe": Trial(
        "6'1",
        (12.5, 14.75, 19.25),
        (4.75, 2.25),
        (1.375, 1.4375, 2.4375),
        (0, 1),
        POINTED,
        'kind = "square"\nblock = 7',
        """
[[rails]]
kind = "tucked edge"
[[bottom]]
shape = "vee"
depth = "3 mm"
[[channels]]
off_stringer = 1
width = 1.75
depth = "5 mm"
begins = { from_tail = 24 }
""",
    ),
    "Rill": Trial(
        "7'3",
        (15.5, 14, 20.75),
        (4.5, 2.25),
        (1.625, 1.625, 2.6875),
        (2, 2),
        ROUND,
        ROUND,
        """
[[channels]]
off_stringer = 1
width = 1.5
depth = "4 mm"
begins = { from_tail = 30 }
ends = { from_tail = 6 }
[[channels]]
off_stringer = 3.25
width = 1.5
depth = "4 mm"
begins = { from_tail = 26 }
ends = { from_tail = 12 }
fade = 4
""",
    ),
    "Needle": Trial(
        "6'8",
        (10.5, 11.25, 17.5),
        (5.5, 2.5),
        (1.25, 1.25, 2.1875),
        (0, 2),
        'kind = "pointed"\ntip_radius = "4 mm"',
        'kind = "pin"\ntip_radius = "4 mm"',
        """
[[rails]]
kind = "tucked edge"
edge_radius = 0
[[bottom]]
shape = "double concave"
depth = "4 mm"
""",
    ),
}

VOLUMES = {
    # Given only these numbers, practice has so many litres (common practice, no source).
    "Dee one": (
        Trial(
            "6'2",
            (11.75, 14.5, 19),
            (5, 2.25),
            (1.3125, 1.4375, 2.4375),
            (-1, 1),
            POINTED,
            'kind = "squash"\nblock = 6',
        ),
        (28.0, 31.0),
    ),
    "Dee three": (
        Trial("7'4", (16, 14.5, 21.25), (4.5, 2.25), (1.75, 1.75, 2.75), (1, 1), ROUND, ROUND),
        (46.0, 50.0),
    ),
    "Dee two": (
        Trial("9'4", (18, 14.5, 23), (4.25, 2.75), (2, 2, 3), (0, 0), ROUND, 'kind = "square"\nblock = 6'),
        (70.0, 76.0),
    ),
    "Gunned": (
        Trial(
            "10'2",
            (12.25, 11.375, 20.5),
            (6.5, 2.75),
            (1.75, 1.75, 3.25),
            (6, 6),
            POINTED,
            'kind = "thumb"\ntip_radius = "30 mm"',
        ),
        (62.0, 70.0),
    ),
    "Fished": (
        Trial(
            "5'8",
            (15.25, 15.5, 20.75),
            (4.25, 1.75),
            (1.5, 1.5, 2.5),
            (2, 2),
            ROUND,
            'kind = "swallow"\nblock = 8.5\ndepth = 4',
        ),
        (30.0, 33.0),
    ),
}

REFUSED = {
    # Trial, what is typed instead of what, the key that is told, and what was allowed, typed instead.
    "a tuck too wide": ("Shelf", 'tuck = "50 mm"', 'tuck = "60 mm"', ("rails", 0, "tuck"), 'tuck = "50.4 mm"'),
    "a tuck on a round rail": ("Loaf", "radius", 'tuck = "90 mm"\nradius', ("rails", 0, "tuck"), "radius"),
    "a channel over the rail": (
        "Snipe",
        "off_stringer = 1",
        "off_stringer = 1.5",
        ("channels", 0, "off_stringer"),
        'off_stringer = "31.2 mm"',
    ),
    "a deep diamond on a wide tail": ("Hollow", "14.25", "17", ("tail", "depth"), "13.5"),
}
