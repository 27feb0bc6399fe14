"""YAML text as nodes that know their line and column.

What a cook writes stays as typed: ``2:30``, ``no``, ``012``, ``½`` and ``45 x 20 mm``
are text.  Only ``true`` and ``false``, an empty value (also ``~`` and ``null``) and plain
decimal numbers become anything else.  A file is data only: tags, anchors and aliases
are refused, a repeated key is an error, and size and depth are bounded.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import yaml

from platecard import yaml_faults
from platecard.diagnostics import Problem, Span, error, warning

if TYPE_CHECKING:
    _Parser = yaml.SafeLoader
else:
    # The C parser is much faster, but not every build of the library has it.
    _Parser = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

MAX_BYTES = 2_000_000
MAX_NODES = 200_000
MAX_DEPTH = 40
MAX_SCALAR = 20_000
MAX_PROBLEMS = 200

# People write these files, so bidi controls and other invisible characters are never intended,
# and they could make a card read differently from its spec.
_FORBIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff\ufffe\uffff\ud800-\udfff]"
)
# Blanks of other widths, which a word processor writes where a space was typed.
_BLANKS = dict.fromkeys(
    map(ord, "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"), " "
)
# The quotation marks of a word processor, round a whole text; YAML takes them for letters.
_CURLY = re.compile('[“”„]([^“”„"]+)[“”]|[‘‚]([^‘’‚]+)[’‘]|«\\s*([^«»]+?)\\s*»')
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,15})(\.[0-9]{1,12})?\Z")


class Scalar(NamedTuple):
    """A single value; ``text`` is what was typed, ``comment`` what stands behind a # on the line on which it ends."""

    value: str | int | float | bool | None
    text: str
    span: Span
    quoted: bool = False
    comment: str = ""


class Mapping(NamedTuple):
    """Keys with values, in the order of the file; ``keys`` has the place of each key itself."""

    entries: dict[str, Node]
    keys: dict[str, Span]
    span: Span

    def get(self, key: str) -> Node | None:
        """The value of a key, or None if the key is missing."""
        return self.entries.get(key)

    def place(self, key: str) -> Span:
        """The place of a key, or of the whole mapping if the key is missing."""
        return self.keys.get(key, self.span)


class Sequence(NamedTuple):
    """A list."""

    items: tuple[Node, ...]
    span: Span


Node = Scalar | Mapping | Sequence


def plain(node: Node | None) -> object:
    """The node as dictionaries, lists and plain values, without places."""
    if isinstance(node, Mapping):
        return {k: plain(v) for k, v in node.entries.items()}
    if isinstance(node, Sequence):
        return [plain(v) for v in node.items]
    return node.value if node is not None else None


def at(node: Node, path: Iterable[str | int]) -> Node:
    """The node at ``path``; if it leads nowhere, the deepest node on the way."""
    for step in path:
        if isinstance(node, Mapping) and isinstance(step, str) and step in node.entries:
            node = node.entries[step]
        elif isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
            node = node.items[step]
        else:
            break
    return node


# --------------------------------------------------------------------------- bytes to text


# What other programs' files begin with.
_NOT_TEXT = (
    (b"PK\x03\x04", "a word processor's document or an archive"),
    (b"\xd0\xcf\x11\xe0", "a word processor's document"),
    (b"{\\rtf", "a word processor's document"),
    (b"%PDF-", "a PDF"),
    (b"<!DOCTYPE", "a web page"),
    (b"<html", "a web page"),
)


def decode(data: bytes, file: str) -> tuple[str | None, tuple[Problem, ...]]:
    """UTF-8 bytes as NFC text with LF line ends; a byte order mark is accepted.

    Returns ``(None, problems)`` if the file is too large or is not UTF-8.
    """
    if len(data) > MAX_BYTES:
        size = f"{len(data) / 1e6:.1f} MB"
        return None, (
            error("file-too-large", Span(file), f"the file has {size}; the limit is {MAX_BYTES // 1_000_000} MB"),
        )
    what = next((words for begins, words in _NOT_TEXT if data.startswith(begins)), "")
    if what:
        return None, (
            error(
                "not-plain-text",
                Span(file),
                f"this is {what}, not plain text",
                "copy what it says into a plain text file, and save that as UTF-8 under this name",
            ),
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        column = exc.start - (data.rfind(b"\n", 0, exc.start) + 1) + 1
        return None, (
            error(
                "not-utf-8",
                Span(file, line, column),
                f"byte 0x{data[exc.start]:02x} is not UTF-8 text",
                "save the file with the encoding UTF-8",
            ),
        )
    return unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n")), ()


# --------------------------------------------------------------------------- text to nodes


class _TooDeep(Exception):
    """Stops composing nodes; carries the mark of the first one that is nested too deep."""

    def __init__(self, mark: yaml.Mark):
        self.mark = mark


class _UntypedLoader(_Parser):
    """A loader without the rules that guess the type of a value."""

    yaml_implicit_resolvers: dict[str, object] = {}

    def resolve(self, kind: type[yaml.Node], value: object, implicit: object) -> str:
        """The tag that says no more than what kind of node it is; asked for every node, so kept short."""
        tag: str = (
            self.DEFAULT_SCALAR_TAG
            if kind is yaml.ScalarNode
            else self.DEFAULT_SEQUENCE_TAG
            if kind is yaml.SequenceNode
            else self.DEFAULT_MAPPING_TAG
        )
        return tag

    # The parser calls these two around every node.  Nesting is stopped here, before there is a tree, because
    # some versions of the parser recurse once per level and would crash the program.
    depth = 0

    def descend_resolver(self, current_node: yaml.Node, current_index: object) -> None:
        self.depth += 1
        if self.depth > MAX_DEPTH + 2:
            raise _TooDeep(current_node.start_mark)

    def ascend_resolver(self) -> None:
        self.depth -= 1


class _Refused(Exception):
    """Stops the walk over a tree that must not be read further; carries the reason."""

    def __init__(self, problem: Problem):
        self.problem = problem


@dataclass(slots=True)
class _Walk:
    """A walk over the parser's nodes that turns them into ours and collects the problems."""

    file: str
    lines: list[str]
    problems: list[Problem] = field(default_factory=list)
    seen: set[int] = field(default_factory=set)
    count: int = 0

    def report(self, problem: Problem) -> None:
        """Keep a problem; give up on the file once there are too many."""
        if len(self.problems) >= MAX_PROBLEMS:
            raise _Refused(
                error(
                    "too-many-problems",
                    problem.span,
                    f"more than {MAX_PROBLEMS} problems; the rest of the file is not read",
                )
            )
        self.problems.append(problem)

    def span(self, node: yaml.Node) -> Span:
        start, end = node.start_mark, node.end_mark
        line, column = start.line, start.column
        length = end.column - column if end.line == line else 1
        return Span(self.file, line + 1, column + 1, length if length > 1 else 1)

    def node(self, node: yaml.Node, depth: int) -> Node:
        span = self.span(node)
        self.count += 1
        # A node met a second time is an alias; stopping here also stops alias bombs and loops.
        if id(node) in self.seen:
            raise _Refused(
                error(
                    "alias",
                    span,
                    "anchors and aliases (& and *) are not used here",
                    "write the value out where it is needed, or make it a recipe in shared/",
                )
            )
        self.seen.add(id(node))
        if depth > MAX_DEPTH:
            raise _Refused(error("too-deep", span, f"nested more than {MAX_DEPTH} levels deep"))
        if self.count > MAX_NODES:
            raise _Refused(error("too-many-values", span, f"more than {MAX_NODES} values in one file"))
        if isinstance(node, yaml.ScalarNode):
            return self.scalar(node, span)
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, span, depth)
        return Sequence(tuple(self.node(item, depth + 1) for item in self.entries_of(node)), span)

    def mapping(self, node: yaml.MappingNode, span: Span, depth: int) -> Mapping:
        entries: dict[str, Node] = {}
        keys: dict[str, Span] = {}
        for key_node, value_node in _with_decimal_commas(node):
            key_span = self.span(key_node)
            if not isinstance(key_node, yaml.ScalarNode):
                self.report(
                    error(
                        "key-not-a-word",
                        key_span,
                        "a key should be a single word or phrase",
                        "write a word in its place, or put quotes round it",
                    )
                )
                self.node(value_node, depth + 1)
                continue
            key = self.scalar(key_node, key_span).text
            self.count += 1
            value = self.node(value_node, depth + 1)
            if key in entries:
                self.report(
                    error(
                        "repeated-key",
                        key_span,
                        f"'{key}' is given twice, first on line {keys[key].line}",
                        "keep one of the two",
                    )
                )
                continue
            entries[key], keys[key] = value, key_span
        return Mapping(entries, keys, span)

    def entries_of(self, node: yaml.Node) -> Iterator[yaml.Node]:
        """The entries of a list; one that begins again where its hyphen is missing is taken apart, with an error."""
        for item in node.value:
            rows = item.value if isinstance(item, yaml.MappingNode) and not item.flow_style else []
            names = [k.value if isinstance(k, yaml.ScalarNode) else None for k, _ in rows]
            cuts = [i for i, name in enumerate(names) if i and name is not None and name == names[0]]
            if not cuts:
                yield item
                continue
            for begins, ends in zip([0, *cuts], [*cuts, len(rows)]):
                first = rows[begins][0]
                if begins:
                    self.report(
                        error(
                            "repeated-key",
                            self.span(first),
                            f"'{first.value}' is given twice in one entry, first on line"
                            f" {rows[0][0].start_mark.line + 1}",
                            f"write '- ' in front of it, as in '- {first.value}: ...', if a new entry begins here;"
                            " if not, keep one of the two",
                        )
                    )
                yield yaml.MappingNode(item.tag, rows[begins:ends], first.start_mark, item.end_mark, item.flow_style)

    def scalar(self, node: yaml.ScalarNode, span: Span) -> Scalar:
        text: str = node.value
        if len(text) > MAX_SCALAR:
            raise _Refused(
                error("text-too-long", span, f"a single text of {len(text)} characters; the limit is {MAX_SCALAR}")
            )
        bad = _FORBIDDEN.search(text)
        if bad:
            self.report(
                error(
                    "forbidden-character",
                    span,
                    f"the character U+{ord(bad.group()):04X} cannot be printed on a card",
                    "delete it; it is invisible in most editors",
                )
            )
            text = _FORBIDDEN.sub("", text)
        quoted = bool(node.style)
        comment, is_beside = self.comment_after(node)
        if not quoted and (inner := _CURLY.fullmatch(text)):
            text, quoted = inner.group(1) or inner.group(2) or inner.group(3), True
        if is_beside and not node.style and comment[1:2].strip() and re.search(r"[^\W\d_]", text):
            self.report(
                warning(
                    "cut-by-a-hash",
                    span,
                    f"'{text}' ends before the #: '{comment}' is taken for a comment",
                    "put quotes round the text if the # belongs to it; begin a comment with a # and a blank",
                )
            )
        value: str | float | bool | None = text
        if not quoted:
            if text in ("", "~", "null"):
                value = None
            elif text in ("true", "false"):
                value = text == "true"
            elif match := _NUMBER.match(text):
                value = float(text) if match.group(1) else int(text)
        return Scalar(value, text, span, quoted, comment)

    def comment_after(self, node: yaml.ScalarNode) -> tuple[str, bool]:
        """What stands behind a # on the line on which a value ends, and whether nothing but blanks is between them.

        The comment is empty if there is none; commas and brackets may stand before it.
        """
        end = node.end_mark
        behind = self.lines[end.line][end.column :] if end.line < len(self.lines) else ""
        comment = behind.lstrip(" \t,]}")
        return (comment.strip(), behind.lstrip().startswith("#")) if comment.startswith("#") else ("", False)


def parse(text: str, file: str) -> tuple[Node | None, tuple[Problem, ...]]:
    """One YAML document as nodes, with all the problems found.

    ``file`` is the name shown in messages.  The node is None if nothing could be
    read; otherwise reading goes on after a problem, so that all of them are reported.
    """
    # What looks like a blank is one, so that columns and keys are what the cook sees.
    text = text.translate(_BLANKS)
    for number, row in enumerate(text.split("\n") if "\t" in text else (), 1):
        indent = row[: len(row) - len(row.lstrip(" \t"))]
        if "\t" in indent and row.strip():
            return None, (
                error(
                    "tab",
                    Span(file, number, indent.index("\t") + 1),
                    "a tab in the indentation",
                    "use spaces in place of it; most editors can convert tabs",
                ),
            )
    # The C parser refuses these too, but does not say usefully where they are.
    bad = _FORBIDDEN.search(text)
    if bad:
        line = text.count("\n", 0, bad.start()) + 1
        column = bad.start() - (text.rfind("\n", 0, bad.start()) + 1) + 1
        return None, (
            error(
                "forbidden-character",
                Span(file, line, column),
                f"the character U+{ord(bad.group()):04X} cannot be printed on a card",
                "delete it; it is invisible in most editors",
            ),
        )
    try:
        marked = _tags_and_anchors(text, file)
        loader = _UntypedLoader(text)
        try:
            root = loader.get_single_node()
        finally:
            loader.dispose()
    except _TooDeep as deep:
        place = Span(file, deep.mark.line + 1, deep.mark.column + 1)
        return None, (error("too-deep", place, f"nested more than {MAX_DEPTH} levels deep"),)
    except yaml.YAMLError as exc:
        return None, (_too_deep_or_reworded(exc, text, file),)
    except (RecursionError, MemoryError):
        return None, (error("too-deep", Span(file), f"nested more than {MAX_DEPTH} levels deep"),)
    if root is None:
        return None, (error("empty-file", Span(file), "the file is empty", "start from what 'platecard new' writes"),)
    walk = _Walk(file, text.split("\n"), list(marked))
    try:
        node = walk.node(root, 0)
    except _Refused as refused:
        return None, (*walk.problems, refused.problem)
    return node, tuple(walk.problems)


def _with_decimal_commas(node: yaml.MappingNode) -> list[tuple[yaml.Node, yaml.Node]]:
    """The keys and values of a mapping, with a figure in braces that a decimal comma cut in two put together again.

    ``{height: 2,5 mm}`` is one entry for a cook, and two for YAML.  Whoever reads the figure refuses its comma.
    """
    rows: list[tuple[yaml.Node, yaml.Node]] = []
    for key, value in node.value:
        before = rows[-1][1] if rows and node.flow_style else None
        if (
            isinstance(before, yaml.ScalarNode)
            and isinstance(key, yaml.ScalarNode)
            and not (before.style or key.style)
            and isinstance(value, yaml.ScalarNode)
            and not (value.value or value.style)
            and re.search(r"\d\Z", before.value)
            and re.match(r"\d", key.value)
            and (before.end_mark.line, before.end_mark.column + 1) == (key.start_mark.line, key.start_mark.column)
        ):
            text = f"{before.value},{key.value}"
            whole = yaml.ScalarNode(before.tag, text, before.start_mark, key.end_mark, before.style)
            rows[-1] = (rows[-1][0], whole)
        else:
            rows.append((key, value))
    return rows


def _tags_and_anchors(text: str, file: str) -> tuple[Problem, ...]:
    """Problems for ``!tags`` and ``&anchors``, which make the parser lose words silently.

    The composed nodes no longer show them, so the text is parsed once more into events,
    but only if it contains one of the two characters at all.
    """
    if "&" not in text and "!" not in text:
        return ()
    found = []
    for event in yaml.parse(text, Loader=_UntypedLoader):
        if not isinstance(event, yaml.NodeEvent) or event.start_mark is None:
            continue
        span = Span(file, event.start_mark.line + 1, event.start_mark.column + 1)
        if getattr(event, "tag", None):
            found.append(
                error(
                    "tag",
                    span,
                    "a word that starts with ! is read as a tag and lost",
                    "put quotes round the text if the ! belongs to it",
                )
            )
        if event.anchor and not isinstance(event, yaml.AliasEvent):
            found.append(
                error(
                    "anchor",
                    span,
                    f"'&{event.anchor}' is read as an anchor and lost",
                    "put quotes round the text if the & belongs to it",
                )
            )
        if len(found) >= 20:
            break
    return tuple(found)


def _too_deep_or_reworded(exc: yaml.YAMLError, text: str, file: str) -> Problem:
    problem = yaml_faults.of_parser(exc, text, file, _UntypedLoader)
    # Some versions of the parser have a limit of their own, far above ours.
    if "nesting depth" in str(exc):
        return error("too-deep", problem.span, f"nested more than {MAX_DEPTH} levels deep")
    return problem


def unsure(node: Scalar) -> tuple[str, ...]:
    """Hints about an unquoted text that other YAML readers would take for something else."""
    text = node.text
    if node.quoted:
        return ()
    if node.value is None:
        return ("nothing is written here; is there an unquoted # or & ?",)
    if re.fullmatch(r"-?0[0-9]+", text):
        return ("a number does not start with 0",)
    if re.fullmatch(r"-?[0-9]+,[0-9]+", text):
        return ("write the decimal point as a dot",)
    if re.fullmatch(r"-?[0-9][0-9_]*_[0-9]+", text):
        return ("write the number without _",)
    if text.lower() in ("yes", "no", "on", "off"):
        return ("write true or false",)
    return ()


__all__ = ["Mapping", "Node", "Scalar", "Sequence", "at", "decode", "parse", "plain", "unsure"]
