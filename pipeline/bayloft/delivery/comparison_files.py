"""The drawing of a comparison, to be seen and to be printed."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.delivery.deliveries import of_cards
from bayloft.drawing.sheets.comparison_sheet import comparison_sheet
from bayloft.solid.comparison import Comparison

NAME = "comparison"


def comparison_files(held: Comparison, digest: str, looks: Sequence[str]) -> dict[str, bytes]:
    """Return the files of a comparison by their names."""
    title = f"{held.names[1]} against {held.names[0]}"
    return {each.name: each.content() for each in of_cards(comparison_sheet(held, looks, digest), NAME, title)}
