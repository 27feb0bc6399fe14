"""What the YAML parser stumbles over, in a cook's words: where it went wrong, what is wrong there, and what to write.

The parser says where it could not go on.  That is often a line or two below the slip, so the lines
round it are looked at for the slips that people make; only what is none of them keeps the parser's place.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import yaml

from platecard.diagnostics import Problem, Span, error

# What stands for the hyphen of a list where a text was pasted from a word processor.
BULLETS = "–—−•·▪●○◦‣*"


class Place(NamedTuple):
    """A line and a column, both counted from 0, as the parser does."""

    line: int
    column: int


class Told(NamedTuple):
    """One slip: its place, what is wrong and what to do."""

    at: Place
    message: str
    hint: str


def of_parser(exc: yaml.YAMLError, text: str, file: str, loader: type) -> Problem:
    """The parser's error in a cook's words, at the place that helps."""
    said = " ".join(str(s) for s in (getattr(exc, "context", None), getattr(exc, "problem", None)) if s) or str(exc)
    noticed, opened = getattr(exc, "problem_mark", None), getattr(exc, "context_mark", None)
    mark = opened if opened and _OPENED.search(said) else noticed or opened
    span = Span(file, mark.line + 1, mark.column + 1) if mark else Span(file)
    if mark is not None:
        place = Place(mark.line, mark.column)
        end = Place(noticed.line, noticed.column) if noticed else place
        found = _slip(said, _Text(text), place, end, loader)
        if found is not None:
            return error("yaml", Span(file, found.at.line + 1, found.at.column + 1), found.message, found.hint)
    for pattern, message, hint in _REWORD:
        if pattern.search(said):
            return error("yaml", span, message, hint)
    return error(
        "yaml", span, f"this is not valid YAML: {said}", "compare the line with one that is read, and correct it"
    )


# The parser notices these further down; the place that helps is where the bracket, quotation or key begins.
_OPENED = re.compile(r"expected ',' or|quoted scalar|simple key")

# What the parser says about tokens, reworded for a cook: pattern, message, hint.  The first match counts.
_REWORD = (
    (
        re.compile(r"cannot start any token|found character '(.)' that cannot"),
        "this character cannot start a value here",
        "put quotes round the text",
    ),
    (re.compile(r"undefined alias"), "a text that starts with * is read as an alias", "put quotes round the text"),
    (
        re.compile(r"mapping values are not allowed"),
        "a second ': ' on one line, or a line indented too far",
        "put quotes round a text that holds a colon, or line the key up with its neighbours",
    ),
    (
        re.compile(r"could not find expected ':'|did not find expected ':'"),
        "a key without ': ' after it",
        "write 'key: value', with a space after the colon",
    ),
    (
        re.compile(r"expected <block end>|did not find expected key|did not find expected '-' indicator"),
        "the lines do not line up here",
        "give neighbouring keys the same indentation",
    ),
    (
        re.compile(r"expected ',' or"),
        "a list or mapping in brackets is not closed, or a comma is missing",
        "close the bracket that is opened here, or put a comma between its entries",
    ),
    (
        re.compile(r"expected a single document|document start"),
        "a second document starts here",
        "keep one dish to a file; delete the ---",
    ),
    (
        re.compile(r"escape"),
        "\\ inside double quotes starts an escape, and this is not one",
        "use single quotes, or write \\\\",
    ),
    (re.compile(r"quoted scalar"), "a quotation mark is not closed", "close the quotation mark where the text ends"),
    (
        re.compile(r"plain scalar found unexpected ':'"),
        "a colon without a space after it",
        "write 'key: value', or put quotes round a text that holds a colon",
    ),
    (
        re.compile(r"expected node content"),
        "a value is missing here",
        "write one, or remove the bracket, comma or sign",
    ),
    (
        re.compile(r"block scalar"),
        "a text that starts with | or > is read as the start of a longer text",
        "put quotes round the text, or start it on the next line",
    ),
    (
        re.compile(r"block sequence entries"),
        "a '- ' in the middle of a line",
        "start the entry on its own line, or put quotes round the text",
    ),
    (re.compile(r"mapping keys"), "a '? ' where no key can stand", "put quotes round the text"),
    (
        re.compile(r"directive|incompatible"),
        "a line that starts with % is read as an instruction to YAML",
        "put quotes round the text, or delete the line",
    ),
    (re.compile(r"\btag\b"), "a word that starts with ! is read as a tag", "put quotes round the text"),
    (
        re.compile(r"anchor|\balias\b"),
        "a word that starts with & or * is read as an anchor or alias",
        "put quotes round the text",
    ),
    (
        re.compile(r"control characters|special characters|unacceptable character|invalid"),
        "a character that YAML does not allow",
        "delete it",
    ),
)


# --- the slips -----------------------------------------------------------------------------------------------------


class _Text:
    """The rows of a text, with what is asked of them."""

    def __init__(self, text: str):
        self.text = text
        self.rows = text.split("\n")

    def row(self, line: int) -> str:
        return self.rows[line] if 0 <= line < len(self.rows) else ""

    def indent(self, line: int) -> int:
        row = self.row(line)
        return len(row) - len(row.lstrip(" "))

    def is_entry(self, line: int) -> bool:
        """Whether a row begins an entry of a list."""
        return bool(re.match(r" *-(\s|$)", self.row(line)))

    def key_column(self, line: int) -> int:
        """Where the key of a row begins, after the hyphen of a list."""
        match = re.match(r" *(?:- +)?", self.row(line))
        return match.end() if match else 0

    def above(self, line: int) -> int:
        """The next row upwards that holds anything; -1 where none does."""
        line -= 1
        while line >= 0 and (not self.row(line).strip() or self.row(line).lstrip().startswith("#")):
            line -= 1
        return line

    def below(self, line: int) -> int:
        """The next row downwards that holds anything; -1 where none does."""
        for number in range(line + 1, len(self.rows)):
            if self.row(number).strip() and not self.row(number).lstrip().startswith("#"):
                return number
        return -1


def _slip(said: str, text: _Text, at: Place, end: Place, loader: type) -> Told | None:
    if "quoted scalar" in said:
        return _never_closed(text, at) if "end of stream" in said else None
    if "expected ',' or" in said:
        return _in_brackets(text, at, end)
    if "simple key" in said and "expected ':'" in said:
        return _key_without_colon(text, at)
    if bullet := _wrong_hyphen(text, end.line) or _wrong_hyphen(text, at.line):
        return bullet
    if "mapping values" in said:
        return _second_colon(text, at)
    if re.search(r"expected <block end>|expected key|expected '-' indicator", said):
        return _closed_too_early(text, at, loader) or _closes_nothing(text, at) or _out_of_line(text, at)
    return None


def _never_closed(text: _Text, at: Place) -> Told:
    mark = text.row(at.line)[at.column : at.column + 1]
    if text.row(at.line)[at.column + 1 :].rstrip().endswith(mark) and mark == '"':
        return Told(
            at, "a quotation mark is not closed: the \\ before the last one makes it part of the text", "write \\\\"
        )
    return Told(
        at,
        "a quotation mark is not closed",
        f"close the quotation mark with {mark} where the text ends, on the same line; if the text itself begins with"
        f" {mark}, put {_other(mark)} round it",
    )


def _other(mark: str) -> str:
    return "'" if mark == '"' else '"'


def _closed_too_early(text: _Text, at: Place, loader: type) -> Told | None:
    """A quoted text that goes on after its quotation mark, which may have been opened some lines above."""
    last = None
    try:
        for token in yaml.scan(text.text, Loader=loader):
            if (token.start_mark.line, token.start_mark.column) >= at:
                break
            last = token
    except yaml.YAMLError:
        pass
    if not isinstance(last, yaml.ScalarToken) or last.style not in ("'", '"'):
        return None
    begins, ends = last.start_mark, last.end_mark
    if ends.line != at.line or text.row(at.line)[ends.column : at.column].strip():
        return None
    place, mark = Place(begins.line, begins.column), last.style
    if begins.line != ends.line:
        return Told(
            place,
            f"a quotation mark is not closed: the next {mark} is on line {ends.line + 1}",
            f"write {mark} at the end of the text, on the same line",
        )
    inner = text.row(begins.line)[begins.column + 1 :].rstrip().removesuffix(mark)
    other = _other(mark)
    hint = (
        f"write {other}{inner}{other}"
        if other not in inner and "\\" not in inner and not re.search(r"[\]},#]", inner)
        else f"put {other} round the text in place of {mark}"
        if other not in inner
        else "write the whole text without quotation marks"
    )
    return Told(place, f"the text ends at the second {mark}, and more stands behind it", hint)


def _closes_nothing(text: _Text, at: Place) -> Told | None:
    sign = text.row(at.line)[at.column : at.column + 1]
    if sign not in ("]", "}"):
        return None
    return Told(
        at, f"this {sign} closes nothing", f"delete it, or write the {'[' if sign == ']' else '{'} it belongs to"
    )


_PAIRS = {"{": "}", "[": "]"}


def _in_brackets(text: _Text, at: Place, end: Place) -> Told | None:
    row = text.row(at.line)
    sign = row[at.column : at.column + 1]
    if sign not in _PAIRS:
        return None
    inside = row[at.column :]
    cut = re.search(r"(?<=\s)#\S+|(?<=[:,]\s)#", inside)
    if cut and end.line > at.line and _PAIRS[sign] in inside[cut.start() :]:
        word = re.split(r"[,\]}]", cut.group())[0]
        return Told(
            Place(at.line, at.column + cut.start()),
            f"everything from this # on is taken for a comment, the closing {_PAIRS[sign]} too",
            f'put quotes round what begins with it: "{word}"',
        )
    bare = re.sub(r"\"[^\"]*\"|'[^']*'|(?<=\s)#.*", "", inside)
    if sum(bare.count(a) - bare.count(b) for a, b in _PAIRS.items()) > 0:
        return Told(
            at,
            f"the {sign} that is opened here is not closed",
            f"write {_PAIRS[sign]} after its last entry",
        )
    if ";" in bare and end.line == at.line:
        return Told(
            Place(at.line, at.column + inside.index(";")),
            "entries in brackets are parted by commas, not by semicolons",
            "write a comma in place of each ;",
        )
    if end.line == at.line:
        entry = re.split(r"[,{\[]", row[: end.column])[-1]
        start = Place(at.line, end.column - len(entry.lstrip()))
        colon = text.row(end.line)[end.column : end.column + 1] == ":"
        if colon and ": " in entry:
            key, value = entry.strip().split(": ", 1)
            start = Place(at.line, start.column + len(key) + 2)
            *_, word = value.split()
            if word == value.strip():
                return Told(start, "a text with a colon inside brackets", f"put quotes round the whole text of '{key}'")
            return Told(
                Place(at.line, end.column - len(word)),
                f"a comma is missing before '{word}', or quotation marks are, if it belongs to the text",
                f"write a comma before '{word}', or put quotes round the whole text of '{key}'",
            )
        return Told(start, "a comma is missing between two entries", "write a comma between them")
    return None


_WORD_AND_REST = re.compile(r"\s*(?:- +)?([^\s:=]+)\s*(?:[:=]\s*|\s+)?(.*?)\s*\Z")


def _key_without_colon(text: _Text, at: Place) -> Told:
    row = text.row(at.line)[at.column :].split(" #")[0]
    bullet = _wrong_hyphen(text, at.line)
    if bullet is not None:
        return bullet
    match = _WORD_AND_REST.match(row)
    key, rest = match.groups() if match else ("", "")
    if rest and re.fullmatch(r"[\w-]+", key):
        return Told(at, "a key without ': ' after it", f"write '{key}: {rest}', with a colon and a space")
    return Told(
        at,
        f"'{row.strip()}' is neither a key with ': ' after it nor part of a text",
        "write 'key: value', or delete it",
    )


def _wrong_hyphen(text: _Text, line: int) -> Told | None:
    row = text.row(line)
    column = text.indent(line)
    if re.match(rf" *[{re.escape(BULLETS)}]\s", row):
        return Told(
            Place(line, column),
            f"'{row[column]}' does not begin an entry of a list",
            f"write '- ' (a hyphen and a space) in place of '{row[column]}'",
        )
    if re.match(r" *-[^\s\d.-]", row):
        return Told(
            Place(line, column), "a hyphen without a space after it", "write '- ', with a space after the hyphen"
        )
    return None


def _second_colon(text: _Text, at: Place) -> Told | None:
    row = text.row(at.line).split(" #")[0].rstrip()
    begins = text.key_column(at.line)
    first = re.match(r"([^:]+?)\s*:\s+", row[begins:])
    above = text.above(at.line)
    if first is not None and begins + first.end() <= at.column:
        key, rest = first.group(1), row[begins + first.end() :]
        value = Place(at.line, begins + first.end())
        if rest.startswith("(") and rest.endswith(")"):
            return Told(value, "round brackets do not hold keys", f"write {key}: {{{rest[1:-1]}}}")
        if rest.endswith("}") and "{" not in rest:
            return Told(value, "a } without the { that opens it", f"write {key}: {{{rest}")
        quoted = f'"{rest}"' if '"' not in rest and "\\" not in rest else f"'{rest}'" if "'" not in rest else ""
        return Told(
            at,
            "a second ': ' on one line",
            f"if it is part of the text, write {key}: {quoted}; if not, begin a new line with it"
            if quoted
            else "put quotes round the text, or begin a new line with it",
        )
    if above >= 0 and text.indent(at.line) > text.key_column(above):
        return Told(
            Place(at.line, begins),
            "this line is indented further than the line above, which has its value already",
            _indent_like(text, above),
        )
    return None


def _indent_like(text: _Text, line: int) -> str:
    wanted = text.key_column(line)
    return f"begin it below the first letter of line {line + 1}: {_blanks(wanted)}"


def _blanks(number: int) -> str:
    return "no space before it" if not number else f"{number} space{'s' if number != 1 else ''} before it"


def _out_of_line(text: _Text, at: Place) -> Told | None:
    """A line that begins where none of its neighbours does."""
    line, indent = at.line, text.indent(at.line)
    row, above = text.row(at.line), text.above(at.line)
    if at.column != indent or above < 0:
        return None
    # Up to the key that this line and its neighbours belong to, and down to the first of them.
    parent = above
    while parent >= 0 and text.indent(parent) >= indent:
        parent = text.above(parent)
    first = text.below(parent) if parent >= 0 else text.below(-1)
    if text.is_entry(line):
        if text.indent(first) > indent and not text.is_entry(first):
            return Told(
                Place(first, text.indent(first)),
                "the first entry of a list has no hyphen",
                f"write it as '- {text.row(first).strip()}', {_blanks(indent)}",
            )
        if text.is_entry(first):
            return Told(
                at,
                f"this entry does not begin where the one on line {first + 1} does",
                f"begin it below that one: {_blanks(text.indent(first))}",
            )
        return Told(
            at,
            "an entry of a list among keys",
            "write the key that it belongs to above it, for example plating:, or take out its '- '",
        )
    if any(text.is_entry(n) and text.indent(n) == indent for n in range(parent + 1, line)):
        if row.rstrip().endswith(":"):
            return Told(
                at,
                "a key among the entries of a list",
                f"write it where the list's own key begins: {_blanks(text.indent(parent))}",
            )
        return Told(
            at,
            "this line stands where the hyphens of the list do, but has none",
            "write '- ' in front of it if a new entry begins here; if not, " + _indent_like(text, above),
        )
    if text.is_entry(above) and row.lstrip().startswith(("{", "[", '"', "'")):
        return Told(
            at,
            "an entry of a list without its hyphen",
            f"write '- ' in front of it, below the '- ' of line {above + 1}",
        )
    if text.key_column(above) < indent and re.search(r":\s+\S|^\s*-\s+\S", text.row(above)):
        return Told(
            at,
            f"this line is indented below line {above + 1}, which has its value already",
            f"indent line {above + 1} like this one, or this one like line {above + 1}",
        )
    return Told(at, "this line begins where none of its neighbours does", _indent_like(text, above))
