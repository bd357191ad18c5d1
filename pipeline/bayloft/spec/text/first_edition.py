"""The keys of the first edition of the format that are no keys any more, each with what says the same now."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from bayloft.spec.text.vocabulary import Place, toml
from bayloft.units import share

_EDGE_RADII = ((0.9, "0 mm"), (0.6, "2 mm"), (0.3, "5 mm"), (0.0, "12 mm"))
_KINDS = ((0.7, "boxy"), (0.3, "60/40"), (0.0, "pinched"))
"""From which number of the former key up (1: a hard edge, a full rail) to suggest what. Common practice, no source."""
_EDGE_WORDS = {"soft": 0.0, "medium": 0.5, "hard": 1.0}
_FULLNESS_WORDS = {"pinched": 0.15, "medium": 0.5, "boxy": 0.85}


@dataclass(frozen=True, slots=True, kw_only=True)
class Former:
    """A key that is no key any more: what stands in its place, why, and from what was typed what to write now."""

    now: str
    problem: str
    hint: Callable[[object], str]


def _number(typed: object, words: Mapping[str, float]) -> float:
    """Return the number that was typed as a share or a word, or a medium one."""
    if isinstance(typed, str) and typed in words:
        return words[typed]
    try:
        return share(typed) if isinstance(typed, str | int | float) else 0.5
    except ValueError:
        return 0.5


def _edge_radius(typed: object) -> str:
    edge = _number(typed, _EDGE_WORDS)
    radius = next((radius for least, radius in _EDGE_RADII if edge >= least), _EDGE_RADII[-1][1])
    return f'edge_radius = "{radius}"  # 0 mm is a crease'


def _kind(typed: object) -> str:
    fullness = _number(typed, _FULLNESS_WORDS)
    kind = next((kind for least, kind in _KINDS if fullness >= least), _KINDS[-1][1])
    return f'kind = "{kind}", or radius = "1/2 in" as a radius gauge gives it'


def _domed(typed: object) -> str:
    first = typed[0] if isinstance(typed, list) and typed else None
    drop = first.get("drop") if isinstance(first, dict) else None
    usable = isinstance(drop, str) or (isinstance(drop, int | float) and not isinstance(drop, bool) and drop > 0)
    depth = toml(drop) if usable else '"3/8 in"'
    return f'[[deck]], and in it shape = "domed" and depth = {depth} in place of drop; without the rail\'s own rounding'


FORMER: Mapping[Place, Former] = {
    ("rails", "edge"): Former(
        now="edge_radius",
        problem="no key any more: the bottom edge is told by its radius",
        hint=_edge_radius,
    ),
    ("rails", "fullness"): Former(
        now="kind",
        problem="no key any more: how full a rail is, its kind or its radius at the widest point says",
        hint=_kind,
    ),
    ("crown",): Former(
        now="deck",
        problem="no key any more: [[deck]] says what shape the deck has",
        hint=_domed,
    ),
}
"""By their place in a file."""
