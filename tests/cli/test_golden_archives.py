"""Archives of former versions: what this version lofts of the spec in them is the same surface, or the difference is
told.

Each holds what `bayloft archive` wrote, without the files that are made of the surface: those would be megabytes. Where
a surface changes on purpose, `pytest --rewrite` renews them, and CHANGELOG.md says by how many mm.
"""

from __future__ import annotations

import io
import zipfile
from hashlib import sha256
from pathlib import Path

import pytest

from bayloft.archive import archive_board, verified
from bayloft.delivery.archive_files import MANIFEST, README, REPORT, SPEC, SURFACE
from bayloft.record.zip_reading import members_of

from ..demo import SPECS

HERE = Path(__file__).parents[1] / "golden" / "archives"
DAY = (1980, 1, 1, 0, 0, 0)


def thinned(members: dict[str, bytes]) -> bytes:
    """Return an archive of what lofts a board, with a manifest of that."""
    kept = {name: data for name, data in members.items() if name in {README, REPORT, SURFACE} or name.startswith(SPEC)}
    rows = "".join(f"{sha256(data).hexdigest()}  {name}\n" for name, data in sorted(kept.items()))
    whole, out = {**kept, MANIFEST: rows.encode()}, io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(whole.items()):
            archive.writestr(zipfile.ZipInfo(name, DAY), data, zipfile.ZIP_DEFLATED, 9)
    return out.getvalue()


@pytest.mark.parametrize("name", ["dunlin", "turnstone"])
def test_an_old_spec_lofts_to_the_same_surface(name: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    file = HERE / f"{name}.zip"
    if request.config.getoption("--rewrite"):
        HERE.mkdir(exist_ok=True)
        file.write_bytes(thinned(members_of(archive_board(SPECS / "boards" / f"{name}.toml", tmp_path))))
    said = {each.said: each.agrees for each in verified(file)}
    assert len(said) == 3
    assert all(said.values()), said


def test_a_surface_that_is_another_is_told_with_how_far(tmp_path: Path) -> None:
    members = members_of(HERE / "dunlin.zip")
    spec = next(name for name in members if name.endswith("boards/dunlin.toml"))
    text = members[spec].decode()
    assert "nose_width = " in text
    start = text.index("nose_width = ")
    end = text.index("\n", start)
    changed = text[:start] + 'nose_width = "305 mm"' + text[end:]
    (tmp_path / "old.zip").write_bytes(thinned({**members, spec: changed.encode()}))
    told = [each for each in verified(tmp_path / "old.zip") if not each.agrees]
    assert len(told) == 1
    apart = float(told[0].said.split("within ")[1].split(" mm")[0])
    assert 0.05 < apart < 20.0
