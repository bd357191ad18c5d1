"""A delivery: one file, in one format, of one drawing or solid."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

from bayloft.drawing.sheet import Drawing
from bayloft.export import dxf, pdf, stl, svg
from bayloft.solid.mesh import Mesh


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """A file by its name in a board's folder, the module of its format, what is in it, and how it is written."""

    name: str
    format: ModuleType
    subject: Any
    options: Mapping[str, Any] = field(default_factory=dict)

    def write(self, folder: Path) -> None:
        """Write the file into a folder. Raises ExportError for what must not be written, OSError where it cannot be."""
        self.format.write(self.subject, folder / self.name, **self.options)

    def content(self) -> bytes:
        """Return what `write` writes. Raises ExportError as that does."""
        made: bytes = self.format.content(self.subject, **self.options)
        return made


def of_template(template: Drawing, name: str) -> Iterable[Delivery]:
    """Return a template for CAD and routers, for the printer, and for laser and vinyl cutters."""
    return (
        Delivery(name=f"{name}.dxf", format=dxf, subject=template),
        Delivery(name=f"{name}.svg", format=svg, subject=template, options={"style": "print"}),
        Delivery(name=f"{name}-cut.svg", format=svg, subject=template, options={"style": "cut"}),
    )


def of_sheet(sheet: Drawing, name: str, title: str) -> Iterable[Delivery]:
    """Return a sheet to be seen in a browser, and to be printed to its scale."""
    return (
        Delivery(name=f"{name}.svg", format=svg, subject=sheet, options={"style": "sheet"}),
        Delivery(name=f"{name}.pdf", format=pdf, subject=[sheet], options={"title": title}),
    )


def of_cards(cards: Sequence[Drawing], name: str, title: str) -> Iterator[Delivery]:
    """Yield the pages of a card to be seen in a browser, each numbered where there are several, and all to be printed
    to their scale.
    """
    for n, card in enumerate(cards, 1):
        page = name if len(cards) == 1 else f"{name}-{n}"
        yield Delivery(name=f"{page}.svg", format=svg, subject=card, options={"style": "sheet"})
    yield Delivery(name=f"{name}.pdf", format=pdf, subject=list(cards), options={"title": title})


def of_solid(mesh: Mesh, name: str, title: str) -> Delivery:
    """Return a closed solid for a machine-shaping service."""
    return Delivery(name=f"{name}.stl", format=stl, subject=mesh, options={"name": title})
