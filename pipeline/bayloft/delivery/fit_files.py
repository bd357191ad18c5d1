"""The files of a board in its block: the cards of the block, of its bending, and of what is planed off it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from bayloft.delivery.deliveries import Delivery, of_cards
from bayloft.drawing.sheets.bending_card import bending_card
from bayloft.drawing.sheets.blank_card import blank_cards
from bayloft.drawing.sheets.shaping_card import planing_cards
from bayloft.foam.asking import FittedBoard


def fit_deliveries(fitted: FittedBoard, name: str, digest: str, day: datetime.date | None) -> Iterator[Delivery]:
    """Yield the files of a fit, called so: a board in its block; where that is re-glued, how its halves bend; and where
    the depth of a pass is told, the passes of the planer.
    """
    board, block = fitted.fit.board, fitted.fit.block
    yield from of_cards(blank_cards(fitted, digest, day), name, f"{board.name} in {block.blank.name}")
    if board.stringer is not None and block.regluing is not None:
        cards = bending_card(fitted.fit, board.stringer, digest, day)
        yield from of_cards(cards, f"{name}-bending", f"{board.name}: bending {block.blank.name}")
    if board.shaping is not None and board.shaping.pass_mm is not None:
        pages = planing_cards(fitted.fit, board.shaping, digest, day)
        yield from of_cards(pages, f"{name}-planing", f"{board.name}: planing {block.blank.name}")
