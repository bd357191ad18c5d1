"""An archive by the command line: read by a stranger, verified, spoilt, and made to do harm."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import warnings
import zipfile
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

from bayloft.cli import main
from bayloft.export.zipped import stored
from bayloft.record.surface_text import SurfaceTextError, body_of, surface_text

from ..demo import SPECS, changed, draft, fin_draft

Array = NDArray[np.float64]
BOARDS = SPECS / "boards"
HEAD = b"bayloft surface 1\nend wall 0.55\nside port degree 3 3\n"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


@pytest.fixture(scope="module", name="kept")
def _kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("archives")
    for name in ("spoonbill", "dunlin"):
        result = run("archive", BOARDS / f"{name}.toml", "-o", out)
        assert result.exit_code == 0, result.output
    return out


def strangers_volume(text: str) -> float:
    """Return a volume as somebody finds it who has the archive's README alone, and numpy."""
    rows = iter(text.split("\n"))
    next(rows), next(rows), next(rows)
    knots, net = [], np.zeros(0)
    for _ in range(2):
        count = int(next(rows).split()[1])
        knots.append(np.array([float(next(rows)) for _ in range(count)]))
    wide, high = map(int, next(rows).split()[1:])
    net = np.array([[float(each) for each in next(rows).split()] for _ in range(wide * high)]).reshape(wide, high, 3)

    def splines(t: Array, at: Array, degree: int) -> Array:
        if degree == 0:
            return ((at[:, None] >= t[:-1]) & (at[:, None] < t[1:])).astype(float)
        lower, n = splines(t, at, degree - 1), len(t) - degree - 1
        found = np.zeros((len(at), n))
        for i in range(n):
            for sign, first, span, one in (
                (1, i, t[i + degree] - t[i], lower[:, i]),
                (-1, i + degree + 1, t[i + degree + 1] - t[i + 1], lower[:, i + 1]),
            ):
                if span > 0:
                    found[:, i] += sign * (at - t[first]) / span * one
        return found

    def slopes(t: Array, at: Array) -> Array:
        lower, n = splines(t, at, 2), len(t) - 4
        found = np.zeros((len(at), n))
        for i in range(n):
            for sign, span, one in ((3, t[i + 3] - t[i], lower[:, i]), (-3, t[i + 4] - t[i + 1], lower[:, i + 1])):
                if span > 0:
                    found[:, i] += sign / span * one
        return found

    places, weights = leggauss(8)
    at, by, values, rises = [], [], [], []
    for t in knots:
        ends = np.unique(t)
        half = np.diff(ends) / 2
        at.append((ends[:-1, None] + half[:, None] * (1 + places)).ravel())
        by.append((half[:, None] * weights).ravel())
        values.append(splines(t, at[-1], 3))
        rises.append(slopes(t, at[-1]))
    (u, v), (du, dv) = values, rises
    x, y, z = (net[..., i] for i in range(3))
    turned = (u @ x @ dv.T) * (du @ y @ v.T) - (u @ y @ dv.T) * (du @ x @ v.T)
    return float(2 * (by[0] @ ((u @ z @ v.T) * turned) @ by[1]))


@pytest.mark.parametrize("name", ["spoonbill", "dunlin"])
def test_a_stranger_with_the_readme_alone_gets_the_same_volume(kept: Path, name: str) -> None:
    with zipfile.ZipFile(kept / f"{name}.zip") as archive:
        readme = archive.read("README.txt").decode("ascii")
        stated = float(re.search(r"volume = ([0-9.e+]+) mm3", readme)[1])  # type: ignore[index]
        assert strangers_volume(archive.read("surface.txt").decode("ascii")) == pytest.approx(stated, rel=1e-12)
        assert max(map(len, readme.split("\n"))) <= 120
        for word in ("Cox and de Boor", "Gauss and Legendre", "surface.txt", "mirror image"):
            assert word in readme


def test_what_is_in_it_is_stored_sorted_and_undated(kept: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(kept / "spoonbill.zip") as archive:
        entries = archive.infolist()
        assert [entry.filename for entry in entries] == sorted(entry.filename for entry in entries)
        assert {entry.compress_type for entry in entries} == {zipfile.ZIP_STORED}
        assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
        names = set(archive.namelist())
        assert {"spec/boards/spoonbill.toml", "spec/fins/spoonbill-pivot.toml", "spec/rails/fifty-fifty.toml",
                "spec/blanks/attic-green.toml", "spec/planks/greenhouse-bench.toml"} <= names  # fmt: skip
        assert archive.read("spec/boards/spoonbill.toml") == (BOARDS / "spoonbill.toml").read_bytes()
        for row in archive.read("manifest.txt").decode().splitlines():
            digest, name = row.split("  ")
            assert hashlib.sha256(archive.read(name)).hexdigest() == digest
    again = run("archive", BOARDS / "spoonbill.toml", "-o", tmp_path)
    assert again.exit_code == 0
    assert (tmp_path / "spoonbill.zip").read_bytes() == (kept / "spoonbill.zip").read_bytes()


def test_the_table_of_offsets_is_the_surface(kept: Path) -> None:
    with zipfile.ZipFile(kept / "dunlin.zip") as archive:
        rows = [row.split() for row in archive.read("offsets.txt").decode().splitlines()[3:]]
    body = draft("dunlin").body
    table = np.array(rows, dtype=float)
    assert np.diff(table[:, 0]) == pytest.approx(50.0)
    u = np.linspace(0.0, 1.0, 20001)
    apex, low = body.port.grid(u, [0.55])[:, 0], body.port.grid(u, [0.0])[:, 0]
    assert table[:, 1] == pytest.approx(np.interp(table[:, 0], apex[:, 0], apex[:, 1]), abs=2e-3)
    assert table[:, 2] == pytest.approx(np.interp(table[:, 0], low[:, 0], low[:, 2]), abs=2e-3)
    # Outward the deck falls, all along, and never comes under the bottom.
    deck, bottom = table[:, 3::2], table[:, 2::2]
    assert (np.diff(deck, axis=1) < 0.0).all()
    assert (deck > bottom).all()


def test_a_sound_archive_agrees_with_itself_and_with_its_spec(kept: Path) -> None:
    for name in ("spoonbill", "dunlin"):
        result = run("verify", kept / f"{name}.zip")
        assert result.exit_code == 0, result.output
        assert result.output.count("agrees") == 3
        assert "within 0.000000 mm" in result.output


def spoilt(kept: Path, to: Path, **members: bytes | None) -> Path:
    """Write Dunlin's archive with members changed (or gone), by their names without what is no letter."""
    with zipfile.ZipFile(kept / "dunlin.zip") as archive:
        whole = {name: archive.read(name) for name in archive.namelist()}
    for name in list(whole):
        key = re.sub(r"\W", "_", name)
        if key in members:
            data = members[key]
            if data is None:
                del whole[name]
            else:
                whole[name] = data
    to.write_bytes(stored(whole))
    return to


def test_what_was_changed_is_told(kept: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(kept / "dunlin.zip") as archive:
        surface, spec = archive.read("surface.txt"), archive.read("spec/boards/dunlin.toml")
    moved = re.sub(rb"\n4[0-9]\d\.\d+ ", b"\n400.0 ", surface, count=40)
    result = run("verify", spoilt(kept, tmp_path / "a.zip", surface_txt=moved))
    assert result.exit_code == 3
    assert "surface.txt is changed or gone" in result.output
    assert result.output.count("DIFFERS") == 3
    thicker = spec.replace(b"thickness = 62", b"thickness = 63")
    assert thicker != spec
    result = run("verify", spoilt(kept, tmp_path / "b.zip", spec_boards_dunlin_toml=thicker))
    assert result.exit_code == 3
    assert re.search(r"DIFFERS  spec: lofts to the same surface within 0\.[0-9]+ mm", result.output)
    assert "agrees  surface" in result.output


@pytest.mark.parametrize(
    ("members", "told"),
    [
        (
            {"surface_txt": b"bayloft surface 1\nend wall 0.55\nside port degree 3 3\nknots_u 99999999\n"},
            "cannot be read",
        ),
        (
            {"surface_txt": b"bayloft surface 1\nend wall 0.55\nside port degree 3 3\nknots_u 9000\n0.0\n"},
            "9000 rows of 1",
        ),
        ({"surface_txt": b"\xff\xfe"}, "cannot be read"),
        ({"surface_txt": None}, "surface.txt is not in it"),
        ({"report_json": b"[" * 100_000}, "tells no name and no volume"),
        ({"report_json": b'{"name": "x", "integrals": {"volume_mm3": -1}}'}, "tells no name and no volume"),
    ],
)
def test_archives_that_are_wrong_inside_are_refused(
    kept: Path, tmp_path: Path, members: dict[str, bytes | None], told: str
) -> None:
    result = run("verify", spoilt(kept, tmp_path / "a.zip", **members))
    assert result.exit_code == 2
    assert told in result.output
    assert "Traceback" not in result.output


def zipped(*entries: tuple[str | zipfile.ZipInfo, bytes], how: int = zipfile.ZIP_STORED) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", how) as archive, warnings.catch_warnings():
        # Of a name that is there twice zipfile warns, and writes it.
        warnings.simplefilter("ignore")
        for name, data in entries:
            archive.writestr(name, data)
    return made.getvalue()


def zip64() -> bytes:
    """Return a zip with the end of one of more than 4 GB, that promises a list of members of 2 TB."""
    data = zipped(("a", b"x"))
    at = data.rindex(b"PK\x05\x06")
    large = b"PK\x06\x06" + struct.pack("<QHHLLQQQQ", 44, 45, 45, 0, 0, 1, 1, 2**41, 0)
    return data[:at] + large + b"PK\x06\x07" + struct.pack("<LQL", 0, at, 1) + data[at:]


def link() -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo("README.txt")
    entry.external_attr = 0o120777 << 16
    return entry


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "cannot be read as a zip"),
        (b"PK\x03\x04 but no more", "cannot be read as a zip"),
        (zipped(("../../etc/passwd", b"x")), "leads out of the archive"),
        (zipped(("/etc/passwd", b"x")), "leads out of the archive"),
        (zipped(("C:\\x", b"x")), "leads out of the archive"),
        (zipped(("a", b"x"), ("a", b"y")), "is in it twice"),
        (zipped((link(), b"/etc/passwd")), "is a link or a folder"),
        (zipped(("a", b"0" * 10_000_000), how=zipfile.ZIP_DEFLATED), "packed to less than a 50th"),
        (zipped(*((f"{n}", b"") for n in range(1001))), "1001 members, at most 1000"),
        (zipped(*((f"{n:0200}", b"") for n in range(5000))), "one of more members than an archive has"),
        (zip64(), "one of more members than an archive has"),
        (zipped(("a", b"x")), "README.txt, manifest.txt, report.json, surface.txt is not in it"),
    ],
)
def test_hostile_files_end_in_a_message(tmp_path: Path, data: bytes, told: str) -> None:
    (tmp_path / "a.zip").write_bytes(data)
    result = run("verify", tmp_path / "a.zip")
    assert result.exit_code == 2
    assert told in result.output
    assert "Traceback" not in result.output


def test_a_truncated_archive_and_none_at_all(kept: Path, tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes((kept / "dunlin.zip").read_bytes()[:-200])
    assert "cannot be read as a zip" in run("verify", tmp_path / "a.zip").output
    assert "no such file" in run("verify", tmp_path / "b.zip").output


def test_text_gives_back_the_same_bits() -> None:
    for body in (draft("dunlin").body, draft("whimbrel").body, fin_draft("dunlin-side").body):
        again = body_of(surface_text(body))
        assert (again.end, again.wall_corner) == (body.end, body.wall_corner)
        for one, other in ((body.port, again.port), (body.starboard, again.starboard)):
            if one is None or other is None:
                assert one is other
                continue
            assert all(
                np.array_equal(a, b)
                for a, b in ((one.knots_u, other.knots_u), (one.knots_v, other.knots_v), (one.net, other.net))
            )
    with pytest.raises(SurfaceTextError, match="line 1"):
        body_of("something else")


def test_a_derived_board_is_kept_with_the_board_that_it_is_from(tmp_path: Path) -> None:
    text = 'edition = 2\nname = "Long Dunlin"\n[from]\nboard = "dunlin.toml"\nlength = "1950 mm"\n'
    spec = changed(tmp_path, "long", text)
    result = run("archive", spec, "-o", tmp_path / "kept")
    assert result.exit_code == 0, result.output
    with zipfile.ZipFile(tmp_path / "kept" / "long-dunlin.zip") as archive:
        assert {"spec/boards/long.toml", "spec/boards/dunlin.toml"} <= set(archive.namelist())
    result = run("verify", tmp_path / "kept" / "long-dunlin.zip")
    assert result.exit_code == 0, result.output
