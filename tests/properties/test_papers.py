"""Any paper a shop file may name: pages that hold all of their marks, or a message with a paper that will do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayloft.drawing.labels import bounds
from bayloft.drawing.pages.tiles import JOIN, POINTER, TRIM, paper_pages
from bayloft.drawing.sheet import CUT, Drawing, Label
from bayloft.errors import SpecError
from bayloft.export import pdf
from bayloft.plane.contour import Contour
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Paper, Shop

MARKS = (JOIN, POINTER, TRIM)
TITLE = "Whimbrel of the Long Estuary: half outline, with the name of a board that nobody would give one"
PARTS = tuple(
    Drawing(
        name="part",
        contours=((CUT, Contour.straight([[0, 0], [long, 0], [0.7 * long, high], [0, high / 2]], closed=True)),),
        labels=(Label(text="check 100 mm", x_mm=long / 3, y_mm=high / 4, height_mm=4.0),),
    )
    for long, high in ((120.0, 60.0), (640.0, 210.0), (2235.0, 270.0), (3100.0, 20.0), (4500.0, 900.0))
)

sheets = st.fixed_dictionaries({"kind": st.sampled_from(["A4", "Letter", "A3"])})
rolls = st.fixed_dictionaries(
    {"kind": st.just("roll"), "width": st.floats(200.0, 1600.0)},
    optional={"length": st.one_of(st.floats(250.0, 1000.0), st.floats(1000.0, 20_000.0))},
)
edges = st.fixed_dictionaries({}, optional={"margin": st.floats(0.0, 100.0), "overlap": st.floats(6.0, 100.0)})


def loaded(place: Path, given: dict[str, object]) -> Shop:
    lines = [f'{key} = "{value if key == "kind" else f"{value:.3f} mm"}"' for key, value in given.items()]
    place.write_text("\n".join(['name = "Shed"', "[paper]", *lines]), encoding="utf-8")
    return load_shop(place)


def clipped(pages: tuple[Drawing, ...], paper: Paper) -> list[str]:
    """Return the marks and texts of pages that reach into what the printer cannot print."""
    found = []
    for page in pages:
        assert page.page_mm is not None
        wide, high = page.page_mm
        whole = page.name.endswith("-map")
        boxes = [(on.name, contour.bounds) for on, contour in page.contours if whole or on in MARKS]
        boxes += [(label.text, bounds(label)) for label in page.labels if whole or label.layer in MARKS]
        for name, box in boxes:
            inside = min(box[0], box[1], wide - box[2], high - box[3]) - paper.margin_mm
            if inside < -1e-6:
                found.append(f"{page.name}: {name} by {-inside:.3f} mm")
    return found


def as_told(given: dict[str, object], error: SpecError) -> dict[str, object]:
    """Return a paper with the margin that a message says will do."""
    assert {fault.path[1] for fault in error.faults} <= {"margin", "width", "length"}
    assert all(fault.line for fault in error.faults)
    most = [float(mm) for fault in error.faults for mm in re.findall(r"at most .*?\((\d+\.\d) mm\)", fault.allowed)]
    return given | {"margin": min(most)}


@settings(max_examples=60)
@given(kind=st.one_of(sheets, rolls), edge=edges, part=st.sampled_from(PARTS))
def test_every_paper_is_printed_on_or_told_of(
    kind: dict[str, object], edge: dict[str, object], part: Drawing, tmp_path_factory: pytest.TempPathFactory
) -> None:
    place = tmp_path_factory.mktemp("paper") / "shop.toml"
    try:
        paper = loaded(place, kind | edge).paper
    except SpecError as error:
        paper = loaded(place, as_told(kind | edge, error)).paper
    pages = paper_pages(part, paper, title=TITLE)
    assert clipped(pages, paper) == []
    pdf.write(pages, place.with_suffix(".pdf"), title=TITLE, margin_mm=paper.margin_mm)


@pytest.mark.parametrize("part", PARTS)
def test_the_widest_margins_do(part: Drawing, tmp_path: Path) -> None:
    for typed in (
        {"kind": "A4", "margin": 20.0, "overlap": 100.0},
        {"kind": "A3", "margin": 63.5, "overlap": 6.0},
        {"kind": "roll", "width": 370.0, "length": 400.0, "margin": 100.0, "overlap": 6.0},
    ):
        paper = loaded(tmp_path / "shop.toml", typed).paper
        assert clipped(paper_pages(part, paper, title=TITLE), paper) == []
