"""What tests of several folders share: expected texts that lie beside the tests, and one flag to write them anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite", action="store_true", help="write the expected texts anew; read their diff before you keep them"
    )


@pytest.fixture
def same_text(request: pytest.FixtureRequest) -> Callable[[str, Path], None]:
    """Assert that a text is the one in a file, or write it there under --rewrite."""
    rewrite = request.config.getoption("--rewrite")

    def compare(text: str, expected: Path) -> None:
        if rewrite:
            expected.write_text(text, encoding="utf-8", newline="\n")
        assert expected.exists(), f"no {expected.name}: run with --rewrite, then read it"
        assert text == expected.read_text(encoding="utf-8")

    return compare
