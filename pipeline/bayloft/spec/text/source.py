"""The text of a spec: its values, and the line of every one of them."""

from __future__ import annotations

import difflib
import os
import re
import stat
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.spec.text.encoding import NOT_ONE_BYTE, SAVE_AS_UTF_8, SAVE_WITH_LF, bare_cr, two_bytes_a_letter
from bayloft.spec.text.kept import keep
from bayloft.tolerances import MAX_SPEC_BYTES, MAX_SPEC_DEPTH
from bayloft.units import length_mm

SHOWN_CHARACTERS = 100
"""As much of a faulty line as a message repeats."""

_PLACE = re.compile(r"(?P<reason>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)", re.DOTALL)
_SETTING = re.compile(r"\s*(?P<key>[\w.-]+)\s*=\s*(?P<value>[^#]*)")
_CLOSING_QUOTE = {'"': '"', "'": "'", "“": "”", "‘": "’", "”": "”", "’": "’"}
_TWICE = "the same key or table is written twice: keep one"
_OPEN_LIST = 'a comma between the entries, ] after the last, and lengths in quotes: [21.5, "21 1/2 in"]'
_OPEN_QUOTE = "the closing quote is missing"
_PLAIN_KEY = "write key = value; a key is one word of letters, digits, _ and -"
_SLIPS = (
    ("twice", _TWICE),
    ("Cannot overwrite", _TWICE),
    ("Cannot mutate", _TWICE),
    ("Duplicate", _TWICE),
    ("Unclosed array", _OPEN_LIST),
    ("Unclosed inline table", "all on one line, a comma between the entries, } after the last, and lengths in quotes"),
    ("at the end of a", "close the name of the table: [outline] or [[fins]]"),
    ("after a key", _PLAIN_KEY),
    ("for a key part", _PLAIN_KEY),
    ("Invalid statement", f"{_PLAIN_KEY}; a table starts with its name: [outline]"),
    ("Unterminated", _OPEN_QUOTE),
    ("Expected \"'", _OPEN_QUOTE),
    ("Illegal character '\\n'", _OPEN_QUOTE),
    ("Illegal character", "delete the invisible character"),
    ("Unescaped", "a text with \\ in it stands in single quotes"),
    ("Invalid hex", "a text with \\ in it stands in single quotes"),
)
"""Parts of tomllib's reasons, and what usually cures them; the first that fits counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A spec as it was read: the file's name as typed, its values, and the line (from 1) of every table, key and entry.

    A key stands on its own line, a table on its header's (a table without one where it is first named), an entry of a
    list where it begins, an entry of an array of tables on its header's. `derived`: the values are those of the board
    that the file's `[from]` names, with its own over them; the lines are those of its own.
    """

    file: str
    values: dict[str, Any]
    lines: Mapping[KeyPath, int]
    derived: bool = False

    def line(self, path: KeyPath) -> int | None:
        """Return the line of a path, or of the nearest table or list around it, or of `[from]` where the value was
        taken from there; None where the file has none of them.
        """
        if self.taken(path):
            return self.lines[("from",)]
        for end in range(len(path), 0, -1):
            if path[:end] in self.lines:
                return self.lines[path[:end]]
        return None

    def taken(self, path: KeyPath) -> bool:
        """Whether the value at a path is not the file's own, but taken from the board that it is derived from."""
        return self.derived and path not in self.lines

    def typed(self, path: KeyPath) -> object:
        """Return what the file has at a path, or None."""
        value: object = self.values
        for step in path:
            if isinstance(value, dict) and isinstance(step, str):
                value = value.get(step)
            elif isinstance(value, list) and isinstance(step, int):
                value = value[step]
            else:
                return None
        return value

    def fault(self, path: KeyPath, value: str, problem: str, allowed: str = "", hint: str = "") -> Fault:
        """Return a fault of this file at a path, with the line looked up; what was typed is made safe to show."""
        safe = tuple(_shown(step) if isinstance(step, str) else step for step in path)
        return Fault(
            file=self.file,
            line=self.line(path),
            path=safe,
            value=_shown(value),
            problem=problem,
            allowed=allowed,
            hint=_printable(_as_row(hint) if self.file.lower().endswith(".csv") else hint),
        )


def _as_row(hint: str) -> str:
    """Return a hint that is a line of TOML as a row of a table with commas says it."""
    line = re.match(r'(?P<key>[\w.]+) = "?(?P<value>[^"#]*[^"# ])"?(?P<rest>.*)', hint)
    return f"{line['key']}, {line['value']}{line['rest']}" if line else hint


def read(file_name: str | os.PathLike[str]) -> Source:
    """Return the values of a TOML file and where they stand.

    Values come from tomllib, lines from the tree-sitter grammar of TOML.

    Raises
    ------
    SpecError : the file is missing, a folder, unreadable, too large, saved in another encoding or with other line ends,
        nested too deep, or not TOML.
    """
    path = Path(file_name)
    return parsed(str(path), text_of(path))


def parsed(file: str, text: str) -> Source:
    """Return the values of a text in TOML and where they stand; `file` is what faults call it. Raises SpecError as
    `read` does.
    """
    tree = Parser(Language(tree_sitter_toml.language())).parse(text.encode()).root_node
    _refuse_deep_nesting(file, tree)
    try:
        values = tomllib.loads(text)
    except RecursionError:
        # Brackets that never close are no nesting to the tree, but they are to tomllib.
        raise _too_deep(file, _first_error_line(tree)) from None
    except ValueError as error:
        raise _not_toml(file, text, tree, str(error)) from error
    return Source(file=file, values=values, lines=_places(tree))


def nearest(key: str, allowed: Iterable[str]) -> str | None:
    """Return the allowed key that was probably meant, letter case aside, or None where none is like it."""
    spellings = {name.lower(): name for name in allowed}
    return next((spellings[name] for name in difflib.get_close_matches(key.lower(), spellings, n=1)), None)


def text_of(path: Path) -> str:
    """Return the text of a file without its byte order mark."""
    file = str(path)
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _refusal(file, "is a folder, not a spec", hint=_neighbours(path / "spec.toml"))
        if not stat.S_ISREG(status.st_mode):
            raise _refusal(file, "is not a file", allowed="a text file in TOML")
        if status.st_size > MAX_SPEC_BYTES:
            limit = f"at most {MAX_SPEC_BYTES} bytes ({MAX_SPEC_BYTES // 2**20} MiB)"
            raise _refusal(file, "is too large for a spec", value=f"{status.st_size} bytes", allowed=limit)
        data = path.read_bytes()
        keep(path, data)
    except (FileNotFoundError, NotADirectoryError):
        raise _refusal(file, "no such file", hint=_neighbours(path)) from None
    except OSError as error:
        raise _refusal(file, f"cannot be read: {error.strerror}") from error
    return _decoded(file, data)


def _decoded(file: str, data: bytes) -> str:
    """Return the text of a file's bytes, or raise SpecError where an editor saved it in another way."""
    if two_bytes_a_letter(data):
        raise _refusal(file, f"not UTF-8, but {NOT_ONE_BYTE}", hint=SAVE_AS_UTF_8)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        unmarked = error.object  # its positions count from behind the byte order mark
        line = unmarked.count(b"\n", 0, error.start) + 1
        # What is not UTF-8 is an older encoding of one byte a letter; in most of them western letters are as in cp1252.
        row = unmarked.split(b"\n")[line - 1].decode("cp1252", errors="replace")
        problem = f"not UTF-8, but an older encoding: byte 0x{unmarked[error.start]:02x}"
        raise _refusal(file, problem, line=line, value=row, hint=SAVE_AS_UTF_8) from None
    if (offset := bare_cr(text)) is not None:
        line = text.count("\n", 0, offset) + 1
        problem = "a line ends with CR alone" if "\n" in text else "its lines end with CR alone"
        raise _refusal(file, problem, line=line, hint=SAVE_WITH_LF)
    return text


def _neighbours(path: Path) -> str:
    """Return a hint that names the files most like `path` beside it, of the same suffix."""
    suffix = path.suffix.lower() or ".toml"
    try:
        names = sorted(entry.name for entry in path.parent.iterdir() if entry.suffix.lower() == suffix)
    except OSError:
        return f"check the folder: {path.parent}"
    close = difflib.get_close_matches(path.name, names, n=3, cutoff=0.0)
    return ", ".join(str(path.with_name(name)) for name in close) or f"there is no {suffix} file in {path.parent}"


def _refuse_deep_nesting(file: str, tree: Node) -> None:
    """Raise SpecError where lists, inline tables and dotted keys stand deeper in one another than a spec may."""
    waiting = [(tree, 0)]
    while waiting:
        node, depth = waiting.pop()
        if depth > MAX_SPEC_DEPTH:
            raise _too_deep(file, _line(node))
        deeper = depth + (node.type in ("array", "inline_table", "dotted_key"))
        waiting.extend((child, deeper) for child in node.children)


def _first_error_line(tree: Node) -> int | None:
    """Return the line where what stays open was opened: the first stretch that the grammar could not place.

    None where it could place none of the file.
    """
    waiting = tree.children[::-1]
    while waiting:
        node = waiting.pop()
        if node.is_error or node.is_missing:
            return _line(node)
        waiting.extend(node.children[::-1])
    return None


def _not_toml(file: str, text: str, tree: Node, message: str) -> SpecError:
    """Return the error for a text that tomllib refused with `message`."""
    # From Python 3.14 the error has lineno and colno too; its message says the same in every version.
    told = _PLACE.fullmatch(message)
    rows = text.split("\n")
    if told is None:
        # The one refusal without a place: Python turns only so many digits into a number.
        line = next((row for row, content in enumerate(rows, 1) if re.search(r"\d[\d_]{1000}", content)), None)
        return _refusal(file, "a number with thousands of digits", line=line)
    if told["line"]:
        line, column = int(told["line"]), f", at column {told['column']}"
    else:
        line, column = _first_error_line(tree) or len(rows), ""
    faulty, reason = rows[line - 1], told["reason"]
    hint = _hint(reason, faulty)
    return _refusal(file, f"not TOML: {_shown(reason)}{column}", line=line, value=faulty, hint=hint)


def _hint(reason: str, faulty: str) -> str:
    """Return what usually cures a line that tomllib refused with `reason`."""
    if setting := _SETTING.match(faulty):
        value = setting["value"].strip()
        if length := _quoted_length(value):
            return f"{setting['key']} = {length}"
        if re.fullmatch(r"-?\d+,\d+", value):
            return f"{setting['key']} = {value.replace(',', '.')}"
    for part, hint in _SLIPS:
        if part in reason:
            return hint
    if faulty.count("[") > faulty.count("]"):
        return _OPEN_LIST
    return """texts stand in quotes: "round"; numbers have a decimal point; yes and no are true and false"""


def _quoted_length(value: str) -> str | None:
    """Return a length without quotes, or in quotes it breaks, as TOML takes it; None for a good value or no length."""
    bare = value
    if value[:1] in _CLOSING_QUOTE:
        bare = value[1:].removesuffix(_CLOSING_QUOTE[value[0]])
    try:
        length_mm(bare, "mm")
    except ValueError:
        return None
    try:
        tomllib.loads(f"value = {value}")
    except tomllib.TOMLDecodeError:
        # An inch mark would end the text; after feet nobody misses it.
        inch = "" if re.search("['′’]", bare) else " in"
        return '"' + re.sub(r'\s*["″”]', inch, bare) + '"'
    return None


def _places(tree: Node) -> dict[KeyPath, int]:
    """Return the line of every table, key and entry of a valid document."""
    lines: dict[KeyPath, int] = {}
    entries: dict[KeyPath, int] = {}  # how many [[...]] headers each array of tables has had so far
    for node in tree.named_children:
        table: KeyPath = ()
        if node.type in ("table", "table_array_element"):
            *parents, last = _keys(node.named_children[0])
            for key in parents:
                table = (*table, key)
                lines.setdefault(table, _line(node))
                if table in entries:
                    table = (*table, entries[table] - 1)
            table = (*table, last)
            if node.type == "table_array_element":
                lines.setdefault(table, _line(node))
                entries[table] = entries.get(table, 0) + 1
                table = (*table, entries[table] - 1)
            lines[table] = _line(node)
        for pair in [node] if node.type == "pair" else node.named_children:
            if pair.type == "pair":
                for path, line in _pair_places(pair, table):
                    lines.setdefault(path, line)
    return lines


def _pair_places(pair: Node, table: KeyPath) -> Iterator[tuple[KeyPath, int]]:
    """Yield the line of a key, of the tables its dots name, and of all inside its value."""
    key, value = pair.named_children[:2]  # a comment behind the value may follow
    path = table
    for part in _keys(key):
        path = (*path, part)
        yield path, _line(key)
    yield from _inner_places(value, path)


def _inner_places(value: Node, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
    """Yield the line of everything inside a list or an inline table."""
    inside = [node for node in value.named_children if node.type != "comment"]
    if value.type == "array":
        for index, entry in enumerate(inside):
            yield (*path, index), _line(entry)
            yield from _inner_places(entry, (*path, index))
    elif value.type == "inline_table":
        for pair in inside:
            yield from _pair_places(pair, path)


def _keys(node: Node) -> tuple[str, ...]:
    """Return the parts of a key."""
    if node.type == "dotted_key":
        return tuple(key for part in node.named_children for key in _keys(part))
    text = (node.text or b"").decode()
    return tuple(tomllib.loads(f"{text} = 0")) if node.type == "quoted_key" else (text,)


def _line(node: Node) -> int:
    return node.start_point.row + 1


def _too_deep(file: str, line: int | None) -> SpecError:
    allowed = f"at most {MAX_SPEC_DEPTH} lists, inline tables and dotted keys inside one another"
    return _refusal(file, "nested too deep", line=line, allowed=allowed)


def _refusal(
    file: str, problem: str, *, line: int | None = None, value: str = "", allowed: str = "", hint: str = ""
) -> SpecError:
    fault = Fault(file=file, line=line, path=(), value=_shown(value), problem=problem, allowed=allowed, hint=hint)
    return SpecError((fault,))


def _shown(text: str) -> str:
    """Return a text as one message may repeat it: trimmed, cut, and without characters that steer a terminal."""
    plain = _printable(text.strip())
    return plain if len(plain) <= SHOWN_CHARACTERS else plain[:SHOWN_CHARACTERS] + " ..."


def _printable(text: str) -> str:
    spaced = text.replace("\t", " ")
    return "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in spaced)
