"""What a maker wrote beside the numbers of a spec, for whoever reads it."""

from __future__ import annotations

import tree_sitter_toml
from tree_sitter import Language, Parser

LONGEST = 10_000
"""Characters of remarks that are looked at."""


def remarks(text: str) -> str:
    """Return the remarks of a text in TOML, behind one another, without its reference to a schema; at most LONGEST
    characters.
    """
    waiting = [Parser(Language(tree_sitter_toml.language())).parse(text.encode()).root_node]
    found: list[tuple[int, str]] = []
    while waiting:
        node = waiting.pop()
        if node.type == "comment":
            said = (node.text or b"").decode().lstrip("#").strip()
            if not said.startswith(":schema"):
                found.append((node.start_byte, said))
        waiting.extend(node.children)
    return " ".join(said for _, said in sorted(found))[:LONGEST]
