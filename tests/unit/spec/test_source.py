"""The values of a spec, the line of every one of them, and every way a file can fail to be one."""

import json
import os
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayloft.errors import SpecError
from bayloft.spec.text.encoding import SAVE_AS_UTF_8, SAVE_WITH_LF
from bayloft.spec.text.source import SHOWN_CHARACTERS, nearest, read
from bayloft.tolerances import MAX_SPEC_BYTES, MAX_SPEC_DEPTH

WHIMBREL = r"""
# Saltmarsh Boatshed
name = "Whimbrel"
tail.kind = "round"
tail . "tip \"radius\"" = 40
'a.b'."\u00bd" = 1

[outline]
widths = [
    # station, width
    { at = "12 in", width = 390 },
    { at = "1.1 m", width.value = 545, width.list = [1, [2,
        3]] }, # wide point
]

[[fins]]
name = "single"
note = \"""
[fins]
name = 1
\"""

[fins.foil]
thickness = 9.5

[[fins.plies]]
cloth = 7.5

[[fins.plies]]
cloth = 6

[[fins]]
name = "spare"

[[fins.plies]]
cloth = 4

[glass.deck]
cloth = 6

[glass]
laps = [] # none
3.14 = true
""".replace('\\"""', '"""')

WHIMBREL_LINES = {
    ("name",): 3,
    ("tail",): 4,
    ("tail", "kind"): 4,
    ("tail", 'tip "radius"'): 5,
    ("a.b",): 6,
    ("a.b", "½"): 6,
    ("outline",): 8,
    ("outline", "widths"): 9,
    ("outline", "widths", 0): 11,
    ("outline", "widths", 0, "at"): 11,
    ("outline", "widths", 0, "width"): 11,
    ("outline", "widths", 1): 12,
    ("outline", "widths", 1, "at"): 12,
    ("outline", "widths", 1, "width"): 12,
    ("outline", "widths", 1, "width", "value"): 12,
    ("outline", "widths", 1, "width", "list"): 12,
    ("outline", "widths", 1, "width", "list", 0): 12,
    ("outline", "widths", 1, "width", "list", 1): 12,
    ("outline", "widths", 1, "width", "list", 1, 0): 12,
    ("outline", "widths", 1, "width", "list", 1, 1): 13,
    ("fins",): 16,
    ("fins", 0): 16,
    ("fins", 0, "name"): 17,
    ("fins", 0, "note"): 18,
    ("fins", 0, "foil"): 23,
    ("fins", 0, "foil", "thickness"): 24,
    ("fins", 0, "plies"): 26,
    ("fins", 0, "plies", 0): 26,
    ("fins", 0, "plies", 0, "cloth"): 27,
    ("fins", 0, "plies", 1): 29,
    ("fins", 0, "plies", 1, "cloth"): 30,
    ("fins", 1): 32,
    ("fins", 1, "name"): 33,
    ("fins", 1, "plies"): 35,
    ("fins", 1, "plies", 0): 35,
    ("fins", 1, "plies", 0, "cloth"): 36,
    ("glass",): 41,
    ("glass", "deck"): 38,
    ("glass", "deck", "cloth"): 39,
    ("glass", "laps"): 42,
    ("glass", "3"): 43,
    ("glass", "3", "14"): 43,
}


@pytest.fixture
def spec(tmp_path, monkeypatch):
    """Write bytes or text to whimbrel.toml in the working folder and return its path as typed."""
    monkeypatch.chdir(tmp_path)

    def written(content):
        path = Path("whimbrel.toml")
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return written


def only_fault(path):
    with pytest.raises(SpecError) as refusal:
        read(path)
    (fault,) = refusal.value.faults
    assert fault.file == str(path)
    assert fault.path == ()
    return fault


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "marked"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n"], ids=["LF", "CRLF"])
def test_every_table_key_and_entry_has_its_line(spec, mark, line_end):
    source = read(spec(mark + WHIMBREL.replace("\n", line_end).encode()))
    assert source.file == "whimbrel.toml"
    assert source.values == tomllib.loads(WHIMBREL)
    assert source.lines == WHIMBREL_LINES


def test_a_path_without_a_line_has_that_of_what_is_around_it(spec):
    source = read(spec(WHIMBREL))
    assert source.line(("outline", "widths", 1, "at")) == 12
    assert source.line(("outline", "widths", 1, "thickness", "unit")) == 12
    assert source.line(("outline", "length")) == 8
    assert source.line(("fins", 7)) == 16
    assert source.line(("rocker",)) is None
    assert source.line(()) is None


def test_blanks_behind_a_line_ending_backslash_move_nothing(spec):
    source = read(spec('note = """a \\ \t\n   b"""\n"c\\\\" = 1 # \\ \nd = 2\n'))
    assert source.values == {"note": "a b", "c\\": 1, "d": 2}
    assert source.lines == {("note",): 1, ("c\\",): 3, ("d",): 4}


def test_an_empty_file_is_an_empty_spec(spec):
    source = read(spec(""))
    assert (source.values, source.lines) == ({}, {})


def test_the_deepest_nesting_allowed_is_read(spec):
    depth = MAX_SPEC_DEPTH
    source = read(spec("a = " + "[" * depth + "]" * depth + f"\n[{'.'.join('b' * depth)}]\n"))
    assert source.line(("a", *[0] * (depth - 1))) == 1
    assert source.line(("b",) * depth) == 2


# A small writer of TOML that knows where it puts everything.

KEYS = st.sampled_from(["length", "width", "at", "a-b", "7", "true", 'in "quotes"', "it's", ""]) | st.text(
    # json.dumps escapes as TOML does but for pairs of surrogates and for DEL.
    st.characters(max_codepoint=0xFFFF, exclude_categories=["Cs"], exclude_characters="\x7f"),
    max_size=5,
)
SCALARS = st.sampled_from([True, 0, -7, 54.5, "7'4", 'say "7\'4"', "two\nlines", "# none", "[t]", "a = 1", ""])
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3))
DOCUMENTS = st.dictionaries(KEYS, VALUES, max_size=5)


class Writer:
    def __init__(self, draw):
        self.draw = draw
        self.text = ""
        self.lines = {}

    def chance(self):
        return self.draw(st.booleans())

    def put(self, text, path=None):
        if path is not None:
            self.lines.setdefault(path, self.text.count("\n") + 1)
        self.text += text

    def gap(self):
        if self.chance():
            self.put(self.draw(st.sampled_from(["\n", " # [x]\n", "\n# a = \"'\n\n", "\n \t\n"])))

    def key(self, key, path):
        if re.fullmatch("[A-Za-z0-9_-]+", key) and self.chance():
            self.put(key, path)
        elif "'" not in key and key.isprintable() and self.chance():
            self.put(f"'{key}'", path)
        else:
            self.put(json.dumps(key), path)

    def value(self, value, path):
        if isinstance(value, dict):
            self.put("{ ")
            for place, (key, inner) in enumerate(value.items()):
                self.put(", " if place else "")
                self.pair(key, inner, path)
            self.put(" }")
        elif isinstance(value, list):
            self.put("[")
            for place, inner in enumerate(value):
                self.gap()
                self.put("", (*path, place))
                self.value(inner, (*path, place))
                self.put(",")
                self.gap()
            self.put("]")
        elif isinstance(value, str) and self.chance():
            self.put('"""\n' + value.replace('"', '\\"') + '"""')
        else:
            self.put(json.dumps(value))

    def pair(self, key, value, table):
        """Write ``key = value``, or ``key.inner = value`` for a table of one key."""
        path = (*table, key)
        self.key(key, path)
        if isinstance(value, dict) and len(value) == 1 and self.chance():
            self.put(" . ")
            self.pair(*next(iter(value.items())), path)
        else:
            self.put(" = ")
            self.value(value, path)

    def table(self, values, path, header):
        """Write the pairs of a table, then the tables in it that get headers of their own."""
        later = []
        for key, value in values.items():
            is_array = isinstance(value, list) and value and all(isinstance(entry, dict) for entry in value)
            if (isinstance(value, dict) or is_array) and self.chance():
                later.append((key, value))
            else:
                self.pair(key, value, path)
                self.put("\n")
                self.gap()
        for key, value in later:
            inner = (*path, key)
            name = [*header, json.dumps(key)]
            if isinstance(value, dict):
                self.put(f"[{'.'.join(name)}]\n", inner)
                self.table(value, inner, name)
            else:
                self.lines[inner] = self.text.count("\n") + 1
                for place, entry in enumerate(value):
                    self.put(f"[[ {' . '.join(name)} ]] # entry\n", (*inner, place))
                    self.table(entry, (*inner, place), name)


@settings(deadline=None)
@given(DOCUMENTS, st.booleans(), st.data())
def test_lines_are_those_the_writer_wrote_on(tmp_path_factory, document, crlf, data):
    writer = Writer(data.draw)
    writer.table(document, (), [])
    path = tmp_path_factory.getbasetemp() / "written.toml"
    path.write_bytes(writer.text.replace("\n", "\r\n" if crlf else "\n").encode())
    source = read(path)
    assert source.values == document
    assert source.lines == writer.lines


# Files that are no spec.


@settings(deadline=None)
@given(
    st.lists(st.sampled_from(["a", " = ", "[", "]", "{", "}", '"', "'", "7'4", "\n", ".", ",", "#", "\\", "é", "\r"]))
)
def test_any_text_is_values_or_faults_with_a_line_of_the_file(tmp_path_factory, pieces):
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_bytes("".join(pieces).encode())
    rows = "".join(pieces).count("\n") + 1
    try:
        lines = set(read(path).lines.values())
    except SpecError as refusal:
        lines = {fault.line for fault in refusal.faults}
    assert lines <= set(range(1, rows + 1))


def test_a_missing_file_names_its_neighbours(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("specs").mkdir()
    for name in ("whimbrel.toml", "turnstone.TOML", "dunlin.toml", "avocet.toml", "wimbrel.txt"):
        Path("specs", name).touch()
    fault = only_fault(Path("specs/wimbrel.toml"))
    assert (fault.line, fault.problem) == (None, "no such file")
    assert fault.hint.startswith(f"{Path('specs/whimbrel.toml')}, ")
    assert fault.hint.count(",") == 2
    assert "txt" not in fault.hint
    assert only_fault(Path("specs/dunlin")).hint.startswith(str(Path("specs/dunlin.toml")))
    assert only_fault(Path("specs/whimbrel.stl")).hint == "there is no .stl file in specs"
    assert only_fault(Path("spec/whimbrel.toml")).hint == "check the folder: spec"
    assert only_fault(Path("specs/avocet.toml/whimbrel.toml")).problem == "no such file"


def test_a_folder_names_the_specs_in_it(spec):
    spec("")
    fault = only_fault(Path())
    assert (fault.problem, fault.hint) == ("is a folder, not a spec", "whimbrel.toml")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    assert only_fault(tmp_path / "pipe.toml").problem == "is not a file"


def test_a_file_that_may_not_be_read(spec, monkeypatch):
    def refuse(_):
        raise PermissionError(13, "Permission denied")

    path = spec(WHIMBREL)
    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert only_fault(path).problem == "cannot be read: Permission denied"


def test_a_name_that_no_file_can_have(tmp_path):
    assert only_fault(tmp_path / ("w" * 5000 + ".toml")).problem.startswith("cannot be read: ")


def test_the_size_is_looked_at_before_the_file_is_read(spec, monkeypatch):
    path = spec("#" * MAX_SPEC_BYTES)
    assert read(path).values == {}
    spec("#" * (MAX_SPEC_BYTES + 1))
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("was read"))
    fault = only_fault(path)
    assert (fault.value, fault.allowed) == ("1048577 bytes", "at most 1048576 bytes (1 MiB)")


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "marked"])
def test_bytes_that_are_not_utf8(spec, mark):
    fault = only_fault(spec(mark + b'name = "Whimbrel"\r\nby = "Kn\xf6t"\r\n'))
    assert (fault.line, fault.problem, fault.value) == (
        2,
        "not UTF-8, but an older encoding: byte 0xf6",
        'by = "Knöt"',
    )
    assert fault.hint == SAVE_AS_UTF_8


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_two_bytes_a_letter(spec, encoding):
    fault = only_fault(spec('name = "Whimbrel"\n'.encode(encoding)))
    assert (fault.line, fault.problem) == (None, "not UTF-8, but UTF-16 or UTF-32, two bytes or more a letter")
    assert fault.hint == SAVE_AS_UTF_8


@pytest.mark.parametrize(
    ("text", "line", "problem"),
    [
        ('name = "Whimbrel"\rlength = 7\r', 1, "its lines end with CR alone"),
        ('# board\nname = "Whimbrel"\rlength = 7\r\n', 2, "a line ends with CR alone"),
        ('# board\r\nname = "Whimbrel"\r\r\nlength = 7\r\r\n', 2, "a line ends with CR alone"),
    ],
)
def test_line_ends_that_are_cr_alone(spec, text, line, problem):
    fault = only_fault(spec(text))
    assert (fault.line, fault.problem, fault.hint) == (line, problem, SAVE_WITH_LF)


@pytest.mark.parametrize(
    "text",
    [
        "\na = " + "[" * (MAX_SPEC_DEPTH + 1) + "]" * (MAX_SPEC_DEPTH + 1),
        "\na = " + "{a=" * (MAX_SPEC_DEPTH + 1) + "1" + "}" * (MAX_SPEC_DEPTH + 1),
        "\n" + ".".join("a" * (MAX_SPEC_DEPTH + 2)) + " = 1",
        "\n[" + ".".join("a" * 200_000) + "]",
        "\na = " + "[" * 300_000 + "]" * 300_000,
    ],
    ids=["lists", "inline tables", "dotted key", "header", "very deep"],
)
def test_nesting_too_deep(spec, text):
    fault = only_fault(spec(text))
    assert (fault.line, fault.problem) == (2, "nested too deep")
    assert fault.allowed == "at most 32 lists, inline tables and dotted keys inside one another"


def test_nesting_too_deep_for_tomllib_that_is_never_closed(spec):
    fault = only_fault(spec("first = 1\na = " + "[" * 300_000))
    assert (fault.line, fault.problem) == (None, "nested too deep")


LIST_HINT = 'a comma between the entries, ] after the last, and lengths in quotes: [21.5, "21 1/2 in"]'
TWICE_HINT = "the same key or table is written twice: keep one"
QUOTE_HINT = "the closing quote is missing"
KEY_HINT = "write key = value; a key is one word of letters, digits, _ and -"
PLAIN_HINT = 'texts stand in quotes: "round"; numbers have a decimal point; yes and no are true and false'

SLIPS = {
    "length = 7'4": 'length = "7\'4"',
    "length = 7'4\" # long": 'length = "7\'4"',
    "length = '7'4'": 'length = "7\'4"',
    'length = "7\'4""': 'length = "7\'4"',
    "length = \"7'4": 'length = "7\'4"',
    "length = “7'4”": 'length = "7\'4"',
    "length = -7'4": 'length = "-7\'4"',
    "length = 7'": 'length = "7\'"',
    'width = 21 1/2"': 'width = "21 1/2 in"',
    'width = "21 1/2""': 'width = "21 1/2 in"',
    "width = 21 1/2": 'width = "21 1/2"',
    "wide.width = 21½": 'wide.width = "21½"',
    "width = 545 mm": 'width = "545 mm"',
    "width = 54,5": "width = 54.5",
    "widths = [21 1/2, 22]": LIST_HINT,
    "widths = [1, 2": LIST_HINT,
    "widths = [": LIST_HINT,
    "widths = { nose = 390": "all on one line, a comma between the entries, } after the last, and lengths in quotes",
    "name = 'Dunlin": QUOTE_HINT,
    'name = "Dunlin': QUOTE_HINT,
    'name = """Dunlin': QUOTE_HINT,
    "name = '''Dunlin": QUOTE_HINT,
    '"name = 4': QUOTE_HINT,
    "first = 2": TWICE_HINT,
    "closed.b = 1": TWICE_HINT,
    "a = { b = 1, b = 2 }": TWICE_HINT,
    "[table]": TWICE_HINT,
    "[outline": "close the name of the table: [outline] or [[fins]]",
    "[[fins]": "close the name of the table: [outline] or [[fins]]",
    "[]": KEY_HINT,
    "length": KEY_HINT,
    "wide point = 3": KEY_HINT,
    "= 3": f"{KEY_HINT}; a table starts with its name: [outline]",
    "länge = 3": KEY_HINT,
    'note = "a\\q"': "a text with \\ in it stands in single quotes",
    'note = "a\\u12"': "a text with \\ in it stands in single quotes",
    'note = "a\0b"': "delete the invisible character",
    "kind = round": PLAIN_HINT,
    "hard = yes": PLAIN_HINT,
    "a = 1 b": PLAIN_HINT,
}


@pytest.mark.parametrize("behind", ["", "\n\n# the end\n", "\r\n"], ids=["last", "followed", "CRLF"])
@pytest.mark.parametrize(("row", "hint"), SLIPS.items())
def test_usual_slips_have_their_line_and_their_cure(spec, row, hint, behind):
    fault = only_fault(spec(f"first = 1\nclosed = {{ a = 1 }}\n{'[table]' if row == '[table]' else ''}\n{row}{behind}"))
    assert fault.problem.startswith("not TOML: ")
    assert (fault.line, fault.value) == (4, row.replace("\0", "\N{REPLACEMENT CHARACTER}"))
    assert fault.hint == hint


def test_the_cure_of_a_length_is_toml():
    for row, hint in SLIPS.items():
        if row.startswith(("length =", "width =", "wide.width =")):
            assert tomllib.loads(hint)


def test_the_whole_message(spec):
    with pytest.raises(SpecError) as refusal:
        read(spec("name = 'Whimbrel'\nlength = 7'4\n"))
    assert str(refusal.value) == (
        "whimbrel.toml:2: not TOML: Expected newline or end of document after a statement, at column 11\n"
        "    found:   length = 7'4\n"
        '    try:     length = "7\'4"\n'
        "1 fault in the spec; nothing was written"
    )


def test_a_number_with_more_digits_than_python_reads(spec):
    fault = only_fault(spec("a = 1\nb = 1" + "0" * 5000))
    assert (fault.line, fault.problem) == (2, "a number with thousands of digits")


def test_long_lines_and_terminal_controls_are_not_repeated(spec):
    fault = only_fault(spec("\ta =\t\x1b[31m" + "x" * 100_000))
    assert fault.value == "a = \N{REPLACEMENT CHARACTER}[31m" + "x" * (SHOWN_CHARACTERS - 9) + " ..."
    assert len(only_fault(spec(f"[{'x' * 1000}]\n[{'x' * 1000}]")).problem) < 200


@pytest.mark.parametrize(
    ("key", "expected"),
    [("lenght", "length"), ("Length", "length"), ("WIDE_POINT", "wide-point"), ("tow", "toe"), ("colour", None)],
)
def test_the_key_that_was_probably_meant(key, expected):
    assert nearest(key, {"length", "wide-point", "toe"}) == expected


def test_the_nearest_key_does_not_depend_on_the_order_of_the_allowed_ones():
    assert nearest("fin", ["fin2", "fin1"]) == nearest("fin", ["fin1", "fin2"])
