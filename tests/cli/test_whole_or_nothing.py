"""A board's folder is whole and of one shape, whoever else writes and whatever ends a command, and nobody's is lost.

Processes meet by pipes and by what they print, never by the clock.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import select
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result

from bayloft import build_boards, check_boards
from bayloft.cli import main
from bayloft.cut import cut_boards
from bayloft.errors import OutputError
from bayloft.record.folder import claimed

from .small_board import KNOT

SHOPS = Path(__file__).parents[2] / "specs" / "shop"
PRINTER = SHOPS / "boatshed-printer.toml"
RUN = "from bayloft.__main__ import run; run()"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals")
LONG_S = 60
"""Seconds after which a process that should have ended is taken for one that hangs."""

FIN = 'unit = "mm"\nbase = 90\ndepth = 100\nrake = 40\n'


def spec(folder: Path, *changes: tuple[str, str], file: str = "knot.toml", more: str = "") -> Path:
    """Return a spec of a small board, with some of its text changed and more behind it."""
    text = KNOT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    folder.mkdir(exist_ok=True)
    path = folder / file
    path.write_text(text + more, encoding="utf-8")
    return path


def turned_up(folder: Path) -> Path:
    """Return a spec of the same name with another shape."""
    return spec(folder, ('"50 mm", tail', '"55 mm", tail'), file="turned-up.toml")


def ruff(folder: Path) -> Path:
    """Return a spec of another name."""
    return spec(folder, ("Knot", "Ruff"), file="ruff.toml")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def built(*arguments: str | Path) -> Result:
    done = run(*arguments)
    assert done.exit_code == 0, done.output
    return done


def command(patch: str, *arguments: str | Path) -> list[str | Path]:
    """Return the command line in a process of its own, with some Python run first."""
    return [sys.executable, "-c", patch + "\n" + RUN, *arguments]


def tree(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def said_in(folder: Path) -> dict[str, object]:
    said: dict[str, object] = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    return said


def vouched(folder: Path) -> bool:
    """Whether the files in a folder are those that its reports list, byte for byte."""
    listed = {}
    for report in folder.rglob("report.json"):
        inside = report.parent.relative_to(folder)
        for entry in json.loads(report.read_text(encoding="utf-8"))["files"]:
            listed[(inside / entry["name"]).as_posix()] = entry["sha256"]
    return listed == {name: digest for name, digest in tree(folder).items() if not name.endswith("report.json")}


@pytest.fixture(scope="module")
def once_built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Knot and Ruff, built once; tests have copies."""
    place = tmp_path_factory.mktemp("once")
    spec(place / "specs")
    ruff(place / "specs")
    built("build", place / "specs", "-o", place / "out", "--jobs", "1")
    return place


@pytest.fixture
def there(once_built: Path, tmp_path: Path) -> Path:
    """A folder with `specs` of Knot and Ruff, and with `out`, where both are built."""
    shutil.copytree(once_built, tmp_path, dirs_exist_ok=True)
    return tmp_path


# Two commands at a time

ROUNDS = 40

WRITER = """
import hashlib, json, sys
from pathlib import Path
from bayloft.record.folder import CUT, claimed

folder, shape = Path(sys.argv[1]), sys.argv[2]
for _ in sys.stdin:
    with claimed({folder: "Knot"}, lambda _: None) as (place,):
        inside, mark = "", shape
        if shape == CUT:
            inside, mark = CUT, place.written.shape_sha256 if place.written else "nothing"
        (place.new / inside).mkdir(exist_ok=True)
        for number in range(12):
            (place.new / inside / f"{number}.txt").write_text(mark)
        digest = hashlib.sha256(mark.encode()).hexdigest()
        files = [{"name": f"{number}.txt", "sha256": digest} for number in range(12)]
        said = {"name": "Knot", "shape_sha256": mark, "files": files}
        (place.new / inside / "report.json").write_text(json.dumps(said))
        place.put(inside)
    print("done", flush=True)
"""


def test_many_commands_at_once_never_mix_two_shapes(tmp_path: Path) -> None:
    """Two builds and a cut, let go together forty times: what is there is one shape's, and is what its report says."""
    folder = tmp_path / "out" / "knot"
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, folder, shape], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for shape in ("flat", "high", "cut")
    ]
    shapes = set()
    for _ in range(ROUNDS):
        for writer in writers:
            assert writer.stdin
            writer.stdin.write("go\n")
            writer.stdin.flush()
        for writer in writers:
            assert writer.stdout
            assert writer.stdout.readline() == "done\n"
        marks = {path.read_text(encoding="utf-8") for path in folder.rglob("*.txt")}
        assert len(marks - {"nothing"}) == 1
        assert "nothing" not in marks or not shapes
        assert vouched(folder)
        assert names(folder.parent) == ["knot"]
        shapes |= marks
    for writer in writers:
        writer.communicate()
        assert writer.returncode == 0


def test_two_builds_and_a_cut_at_once(tmp_path: Path) -> None:
    out = tmp_path / "out"
    flat, high = spec(tmp_path / "specs"), turned_up(tmp_path / "specs")
    commands = [("build", flat), ("build", high), ("cut", flat, "--shop", PRINTER)]
    started = [subprocess.Popen(command("", *each, "-o", out), stderr=subprocess.PIPE) for each in commands]
    assert [process.communicate() and process.returncode for process in started] == [0, 0, 0]
    assert vouched(out / "knot")
    reports = [said_in(report.parent) for report in (out / "knot").rglob("report.json")]
    assert len({said["shape_sha256"] for said in reports}) == 1
    assert names(out) == ["knot"]


class Held:
    """A command held up where its first solid is written, until it is let go."""

    def __init__(self, *arguments: str | Path) -> None:
        ready, says = os.pipe()
        waits, go = os.pipe()
        patch = f"""
import os
from bayloft.export import stl
real = stl.write
def held(*given, **more):
    os.write({says}, b"x")
    os.read({waits}, 1)
    return real(*given, **more)
stl.write = held
"""
        self.process = subprocess.Popen(
            command(patch, *arguments),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            pass_fds=(says, waits),
            text=True,
            start_new_session=True,
        )
        os.close(says)
        os.close(waits)
        self.ready, self.go = ready, go

    def reached(self, times: int = 1) -> None:
        for _ in range(times):
            assert os.read(self.ready, 1) == b"x"

    def ended_with_all_workers(self) -> bool:
        """Whether all processes that could still write have ended: none has the pipe open any more."""
        return bool(select.select([self.ready], [], [], LONG_S)[0]) and os.read(self.ready, 1) == b""

    def let_go(self) -> tuple[int, str]:
        os.close(self.go)
        _, said = self.process.communicate()
        os.close(self.ready)
        return self.process.returncode, said


@POSIX
def test_a_second_command_waits_says_so_and_comes_after(tmp_path: Path) -> None:
    flat, high, out = spec(tmp_path / "specs"), turned_up(tmp_path / "specs"), tmp_path / "out"
    first = Held("build", flat, "-o", out)
    first.reached()
    second = subprocess.Popen(command("", "build", high, "-o", out), stderr=subprocess.PIPE, text=True)
    assert second.stderr
    assert second.stderr.readline() == "bayloft: another command has the folder of Knot; waiting until it is done\n"
    assert first.let_go() == (0, "")
    assert second.communicate()[1] == ""
    assert second.returncode == 0
    assert said_in(out / "knot")["shape_sha256"] == check_boards([high])[0].report["shape_sha256"]
    assert vouched(out / "knot")
    assert names(out) == ["knot"]


@POSIX
def test_boards_of_their_own_do_not_wait(tmp_path: Path) -> None:
    first = Held("build", spec(tmp_path / "specs"), "-o", tmp_path / "out")
    first.reached()
    built("build", ruff(tmp_path / "specs"), "-o", tmp_path / "out")
    assert first.let_go() == (0, "")
    assert names(tmp_path / "out") == ["knot", "ruff"]


# What ends a command


@POSIX
@pytest.mark.parametrize(("ending", "jobs"), [("SIGINT", "1"), ("SIGINT", "2"), ("SIGTERM", "2"), ("SIGHUP", "1")])
def test_what_asks_a_command_to_end_leaves_the_former_build(there: Path, ending: str, jobs: str) -> None:
    places, out = there / "specs", there / "out"
    before = tree(out)
    held = Held("build", places, "-o", out, "--jobs", jobs)
    held.reached(int(jobs))
    # As a terminal does it: to the command and to its workers.
    number = signal.Signals[ending]
    os.killpg(held.process.pid, number)
    assert held.ended_with_all_workers()
    assert held.let_go() == (128 + number, "\nbayloft: interrupted; every folder is whole, as it was or made anew\n")
    assert tree(out) == before
    assert names(out) == ["knot", "ruff"]


@POSIX
@pytest.mark.parametrize("module", ["click", "numpy", "bayloft.build", "ezdxf"])
def test_a_key_pressed_during_imports(tmp_path: Path, module: str) -> None:
    patch = f"""
import os, sys
class Pressed:
    def find_spec(self, name, *_):
        if name == "{module}":
            os.kill(os.getpid(), 2)
sys.meta_path.insert(0, Pressed())
"""
    arguments = command(patch, "build", spec(tmp_path / "specs"), "-o", tmp_path / "out")
    done = subprocess.run(arguments, capture_output=True, text=True, check=False)
    assert done.returncode == 130
    assert done.stderr == "\nbayloft: interrupted; every folder is whole, as it was or made anew\n"
    assert not (tmp_path / "out").exists()


@POSIX
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_a_killed_command_takes_its_workers_along_and_is_cleared_away(there: Path, jobs: str) -> None:
    places, out = there / "specs", there / "out"
    before = tree(out)
    held = Held("build", places, "-o", out, "--jobs", jobs)
    held.reached(int(jobs))
    held.process.kill()
    assert held.ended_with_all_workers()
    held.let_go()
    assert {name: digest for name, digest in tree(out).items() if not name.startswith(".")} == before
    assert names(out) != ["knot", "ruff"]
    # The next command that writes into this folder clears up, whatever board it is for.
    built("build", spec(places, ("Knot", "Dunlin"), file="dunlin.toml"), "-o", out)
    assert names(out) == ["dunlin", "knot", "ruff"]
    assert {name: digest for name, digest in tree(out).items() if not name.startswith("dunlin")} == before


KILLED_AFTER_ONE_RENAME = """
import os, pathlib
real = pathlib.Path.rename
def rename(path, target):
    real(path, target)
    os.kill(os.getpid(), 9)
pathlib.Path.rename = rename
"""


@POSIX
@pytest.mark.parametrize("what", ["build", "cut"])
def test_a_command_killed_between_its_two_renames(there: Path, what: str) -> None:
    """The board's folder is away then, but not lost: the next command that writes puts it back, also for another."""
    places, out = there / "specs", there / "out"
    flat = places / "knot.toml"
    built("cut", flat, "--shop", PRINTER, "-o", out)
    before = tree(out)
    more = ("--shop", PRINTER) if what == "cut" else ()
    killed = subprocess.run(command(KILLED_AFTER_ONE_RENAME, what, flat, *more, "-o", out), check=False)
    assert killed.returncode == -signal.SIGKILL
    assert not (out / "knot" / ("cut" if what == "cut" else "")).exists()
    built("build", ruff(places), "-o", out)
    assert names(out) == ["knot", "ruff"]
    assert tree(out) == before


@POSIX
def test_a_worker_that_others_end(tmp_path: Path) -> None:
    places, out = tmp_path / "specs", tmp_path / "out"
    spec(places)
    ruff(places)
    patch = "import os; from bayloft.export import stl; stl.write = lambda *_, **__: os._exit(9)"
    arguments = command(patch, "build", places, "-o", out, "--jobs", "2")
    done = subprocess.run(arguments, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    ended = "a process that worked on a board was ended from outside, perhaps for want of memory: try --jobs 1"
    assert done.stderr == f"bayloft: {ended}\n"
    assert not out.exists()


SLEEPERS = """
import multiprocessing, sys, time
from bayloft.workers import spread
if __name__ == "__main__":
    multiprocessing.set_start_method(sys.argv[1])
    with spread(2, 2) as mapped:
        for _ in mapped(time.sleep, [0, 10_000]):
            print("one", flush=True)
"""


@POSIX
@pytest.mark.parametrize("way", ["fork", "spawn", "forkserver"])
@pytest.mark.parametrize("ending", [signal.SIGKILL, signal.SIGINT], ids=lambda ending: ending.name)
def test_workers_end_with_their_parent_however_they_were_started(
    tmp_path: Path, way: str, ending: signal.Signals
) -> None:
    script = tmp_path / "sleepers.py"
    script.write_text(SLEEPERS, encoding="utf-8")
    parent = subprocess.Popen([sys.executable, script, way], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert parent.stdout
    assert parent.stdout.readline() == b"one\n"
    parent.send_signal(ending)
    # The workers share the pipe: it is at its end when all are.
    assert select.select([parent.stdout], [], [], LONG_S)[0]
    assert parent.communicate()[0] == b""


# Whose folder it is


def test_a_like_named_board_does_not_take_anothers_folder(there: Path) -> None:
    places, out = there / "specs", there / "out"
    before = tree(out)
    for what, more in (("build", ()), ("cut", ("--shop", PRINTER))):
        other = spec(places, ('"Knot"', '"KNOT"'), file="other.toml")
        refused = run(what, other, *more, "-o", out)
        assert refused.exit_code == 2
        assert f'{out / "knot"}: holds the board "Knot", and "KNOT" would take its place; give one' in refused.output
        assert tree(out) == before
    built("build", spec(places, ('"Knot"', '"Knót"'), file="other.toml"), "-o", out)
    assert names(out) == ["knot", "knót", "ruff"]


def test_a_folder_with_cuts_alone_is_its_boards_too(tmp_path: Path) -> None:
    out = tmp_path / "out"
    built("cut", spec(tmp_path / "specs"), "--shop", PRINTER, "-o", out)
    refused = run("build", spec(tmp_path / "specs", ('"Knot"', '"KNOT"'), file="other.toml"), "-o", out)
    assert refused.exit_code == 2
    assert 'holds the board "Knot"' in refused.output
    assert names(out / "knot") == ["cut"]


@pytest.mark.parametrize(("name", "slug"), [("Кулик", "кулик"), ("千鳥", "千鳥"), ("طيطوى", "طيطوى")])
def test_names_in_any_script_go_all_the_way(tmp_path: Path, name: str, slug: str) -> None:
    places, out = tmp_path / "specs", tmp_path / "out"
    places.mkdir()
    (places / "fin.toml").write_text(f'name = "{name} 1"\n{FIN}', encoding="utf-8")
    board = spec(places, ('"Knot"', f'"{name}"'), more='[[fins]]\nfin = "fin.toml"\nfrom_tail = "110 mm"\n')
    built("build", board, "-o", out)
    built("cut", board, "--shop", SHOPS / "boatshed-router.toml", "--parts", "1, 51", "-o", out)
    assert names(out) == [slug]
    assert {f"fins/{slug}-1.dxf", f"solids/{slug}-1.stl", f"solids/{slug}.stl"} <= tree(out / slug).keys()
    assert vouched(out / slug)
    programs = [path.read_bytes() for path in (out / slug / "cut").glob("*.nc")]
    assert programs
    assert all(text.isascii() for text in programs)


@pytest.mark.parametrize("name", ["Knot", "Tail", "Knot with fins"])
def test_a_fin_whose_files_would_have_the_names_of_the_boards(tmp_path: Path, name: str) -> None:
    places = tmp_path / "specs"
    places.mkdir()
    (places / "fin.toml").write_text(f'name = "{name}"\n{FIN}', encoding="utf-8")
    board = spec(places, more='[[fins]]\nfin = "fin.toml"\nfrom_tail = "110 mm"\n')
    refused = run("check", board)
    assert refused.exit_code == 2
    called = name.lower().replace(" ", "-")
    assert f"fins[1].fin: a file of this fin and one of the board would both be called {called}" in refused.output


def test_names_are_told_beside_numbers_that_make_no_fair_line(tmp_path: Path) -> None:
    places = tmp_path / "specs"
    places.mkdir()
    (places / "fin.toml").write_text(f'name = "Knot"\n{FIN}', encoding="utf-8")
    crooked = ('nose_width = "300 mm"', 'nose_width = "395 mm"')
    refused = run("check", spec(places, crooked, more='[[fins]]\nfin = "fin.toml"\nfrom_tail = "110 mm"\n'))
    assert refused.exit_code == 2
    assert "would both be called knot" in refused.output
    assert "outline" in refused.output


def test_fins_whose_files_would_have_the_same_names(tmp_path: Path) -> None:
    places = tmp_path / "specs"
    places.mkdir()
    (places / "side.toml").write_text(f'name = "Side"\n{FIN}', encoding="utf-8")
    (places / "cut.toml").write_text(f'name = "Side cut"\n{FIN}', encoding="utf-8")
    fins = "".join(f'[[fins]]\nfin = "{fin}.toml"\nfrom_tail = "{at} mm"\n' for fin, at in (("side", 60), ("cut", 200)))
    refused = run("build", spec(places, more=fins), "-o", tmp_path / "out")
    assert refused.exit_code == 2
    assert 'a file of this fin and one of the fin "Side" would both be called side-cut' in refused.output


@POSIX
def test_a_linked_folder_stays_linked(tmp_path: Path) -> None:
    out, far, flat = tmp_path / "out", tmp_path / "far", spec(tmp_path / "specs")
    built("build", turned_up(tmp_path / "specs"), "-o", far)
    out.mkdir()
    (out / "knot").symlink_to(far / "knot", target_is_directory=True)
    built("build", flat, "-o", out)
    built("cut", flat, "--shop", PRINTER, "-o", out)
    assert (out / "knot").is_symlink()
    built("build", flat, "-o", tmp_path / "alone")
    built("cut", flat, "--shop", PRINTER, "-o", tmp_path / "alone")
    assert tree(far) == tree(tmp_path / "alone")
    assert names(out) == names(far) == ["knot"]


@POSIX
def test_links_that_others_made_are_not_taken_away(tmp_path: Path) -> None:
    out, flat = tmp_path / "out", spec(tmp_path / "specs")
    built("build", flat, "-o", out)
    (tmp_path / "elsewhere").mkdir()
    (out / "knot" / "cut").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    for arguments in (["build", flat], ["cut", flat, "--shop", PRINTER]):
        refused = run(*arguments, "-o", out)
        assert refused.exit_code == 2
        assert "holds files that bayloft did not write (cut)" in refused.output
        assert (out / "knot" / "cut").is_symlink()


@POSIX
def test_two_boards_that_links_lead_to_one_place(tmp_path: Path) -> None:
    places, out = tmp_path / "specs", tmp_path / "out"
    spec(places)
    ruff(places)
    out.mkdir()
    (out / "ruff").symlink_to(out / "knot", target_is_directory=True)
    refused = run("build", places, "-o", out)
    assert refused.exit_code == 2
    assert "leads to the same place as" in refused.output


def test_folders_of_the_makers_own_stay(tmp_path: Path) -> None:
    out, flat = tmp_path / "out", spec(tmp_path / "specs")
    for name in (".knot.former", ".knot.partial", "knot.former"):
        (out / name).mkdir(parents=True)
        (out / name / "notes.txt").write_text("mine", encoding="utf-8")
    for _ in range(2):
        built("build", flat, "-o", out)
    assert names(out) == [".knot.former", ".knot.partial", "knot", "knot.former"]
    assert all((out / name / "notes.txt").exists() for name in (".knot.former", ".knot.partial", "knot.former"))


def test_a_note_put_into_the_folder_meanwhile_stays(tmp_path: Path) -> None:
    folder = tmp_path / "knot"
    report = '{"name": "Knot", "files": []}'
    with claimed({folder: "Knot"}, print) as (place,):
        (place.new / "report.json").write_text(report, encoding="utf-8")
        place.put()
    with claimed({folder: "Knot"}, print) as (place,):
        (place.new / "report.json").write_text(report, encoding="utf-8")
        (folder / "notes.txt").write_text("sand lightly", encoding="utf-8")
        with pytest.raises(OutputError, match=r"did not write \(notes\.txt\)"):
            place.put()
    assert names(folder) == ["notes.txt", "report.json"]
    assert names(tmp_path) == ["knot"]


# Templates and cuts


def test_templates_of_another_shape_are_made_anew_with_a_cut(tmp_path: Path) -> None:
    flat, high, out, alone = (
        spec(tmp_path / "specs"),
        turned_up(tmp_path / "specs"),
        tmp_path / "out",
        tmp_path / "alone",
    )
    built("build", flat, "-o", out, "--tolerance", "0.1")
    done = built("cut", high, "--shop", PRINTER, "-o", out)
    assert "the board's templates were of another shape: they are made anew with these" in done.output
    built("build", high, "-o", alone, "--tolerance", "0.1")
    assert "made anew" not in built("cut", high, "--shop", PRINTER, "-o", alone).output
    assert tree(out) == tree(alone)
    assert said_in(out / "knot")["shape_sha256"] == said_in(out / "knot" / "cut")["shape_sha256"]


def test_all_files_of_a_folder_have_one_day(tmp_path: Path) -> None:
    flat, out = spec(tmp_path / "specs"), tmp_path / "out"
    built("build", flat, "-o", out)
    done = built("cut", flat, "--shop", PRINTER, "-o", out, "--date", "2026-05-01")
    assert "the board's templates were of another day: they are made anew with these" in done.output
    assert "made anew" not in built("cut", flat, "--shop", PRINTER, "-o", out).output
    assert said_in(out / "knot")["date"] == said_in(out / "knot" / "cut")["date"] == "2026-05-01"
    assert "2026-05-01" in (out / "knot" / "drawing.svg").read_text(encoding="utf-8")
    pages = pypdf.PdfReader(out / "knot" / "cut" / "prints" / "001-half-outline.pdf").pages
    assert any("2026-05-01" in page.extract_text() for page in pages)


@pytest.mark.parametrize(
    ("old", "new", "alike"),
    [
        ('length = "1100 mm"', 'length = "110 cm"', True),
        ('name = "Knot"', 'name = "Knot"\n# a remark', True),
        ('"50 mm", tail', '"51 mm", tail', False),
        ('"18 in"', '"17 in"', False),
    ],
)
def test_the_digest_is_of_what_the_files_are_made_from(tmp_path: Path, old: str, new: str, *, alike: bool) -> None:
    before, after = (
        check_boards([board])[0].report["shape_sha256"]
        for board in (spec(tmp_path / "specs"), spec(tmp_path / "specs", (old, new), file="after.toml"))
    )
    assert (before == after) == alike


def test_the_digest_is_of_the_lofted_net_and_the_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    board = spec(tmp_path / "specs")

    def digest() -> object:
        return check_boards([board])[0].report["shape_sha256"]

    before = digest()
    assert digest() == before
    with monkeypatch.context() as patched:
        patched.setattr("bayloft.build.VERSION", "0.0.1")
        assert digest() != before
    # The same numbers skinned with other spans: another surface.
    monkeypatch.setattr("bayloft.solid.board.SPANS_AT_WALL", 17)
    assert digest() != before


# Places that cannot be written


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "the disk is full; make room on it"),
        (errno.EDQUOT, "your share of the disk is used up; make room in it"),
    ],
)
@pytest.mark.parametrize("wrapped", [False, True])
def test_a_full_disk_is_called_full(
    there: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str, *, wrapped: bool
) -> None:
    flat, out = there / "specs" / "knot.toml", there / "out"
    before = tree(out)

    def full(*_: object, **__: object) -> None:
        try:
            raise OSError(number, os.strerror(number))
        except OSError as error:
            if wrapped:
                raise RuntimeError("the writer of a library gives up") from error
            raise

    monkeypatch.setattr("bayloft.export.pdf.write", full)
    for what, more in (("build", ()), ("cut", ("--shop", PRINTER))):
        refused = run(what, flat, *more, "-o", out)
        assert refused.exit_code == 2
        there = f"bayloft: {out / 'knot'}: cannot write there: {said}; the former files are as they were\n"
        assert refused.output == there
        assert tree(out) == before


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_place_for_what_is_printed() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(command("", "schema"), stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr == "bayloft: while writing the schema: the disk is full; make room on it\n"


def test_a_starter_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real, calls = Path.write_bytes, []

    def full(path: Path, data: bytes) -> int:
        calls.append(path)
        if len(calls) == 3:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(path, data)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_bytes", full)
        refused = run("new", tmp_path / "mine")
    assert refused.exit_code == 2
    assert "the disk is full" in refused.output
    assert names(tmp_path / "mine") == []
    built("new", tmp_path / "mine")


def test_a_file_that_is_open_elsewhere_is_told_by_name(there: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As Windows has it: neither a file that a viewer has open can be renamed, nor a folder around it."""
    flat, out = there / "specs" / "knot.toml", there / "out"
    before = tree(out)
    real = Path.rename
    seen = [out / "knot", out / "knot" / "drawing.pdf"]

    def rename(path: Path, target: Path) -> Path:
        if path in seen:
            raise PermissionError(errno.EACCES, "The process cannot access the file")
        return real(path, target)

    monkeypatch.setattr(Path, "rename", rename)
    refused = run("build", flat, "-o", out)
    assert refused.exit_code == 2
    said = "open in another program: drawing.pdf; close them there and run this again"
    assert refused.output == f"bayloft: {out / 'knot'}: {said}; the former files are as they were\n"
    assert tree(out) == before
    assert names(out) == ["knot", "ruff"]


def test_places_may_be_texts(tmp_path: Path) -> None:
    flat, out = str(spec(tmp_path / "specs")), str(tmp_path / "out")
    (one,) = build_boards(flat, out)
    assert one.folder == tmp_path / "out" / "knot"
    assert check_boards([flat])[0].report["shape_sha256"] == one.report["shape_sha256"]
    (cuts,) = cut_boards([flat], str(PRINTER), out)
    assert cuts.folder == tmp_path / "out" / "knot" / "cut"
