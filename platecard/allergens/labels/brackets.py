"""The characters of a label's text to levels: what stands between two brackets, with every character's place."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from platecard.allergens.labels.vocabulary import GROUP, PERCENT

MAX_DEPTH = 12
_PAIRS = {")": "(", "]": "[", "}": "{"}
_SAME = str.maketrans(
    {
        "（": "(",
        "）": ")",
        "［": "[",
        "］": "]",
        "，": ",",
        "；": ";",
        "：": ":",
        "•": ",",
        "|": ",",
        "–": "-",
        "—": "-",
        "’": "'",
        "‘": "'",
        "\n": " ",
        "\r": " ",
        "\t": " ",
        "\xa0": " ",
        GROUP: " ",
        PERCENT: " ",
        '"': " ",
        "“": " ",
        "”": " ",
    }
)
_TOKEN = re.compile(
    r"(?P<percent>(?:[<>≤≥~≈]\s?)?(?:\d{1,3}(?:[.,]\d{1,4})?\s?-\s?)?(?P<number>\d{1,3}(?:[.,]\d{1,4})?)\s?%)"
    r"|(?P<e>(?<!\w)(?:E|INS)[\s-]?(?P<digits>\d{3,4})\s?(?P<letter>[a-hj])?(?:\s?\((?:i{1,3}|iv|vi?)\)|\s?(?:i{1,3}|iv|vi?))?(?!\w))"
    r"|(?P<open>[(\[{])|(?P<close>[)\]}])|(?P<one>.)",
    re.IGNORECASE | re.DOTALL,
)
_STRESS = re.compile(r"([*_]{1,3})(?=[^\s*_])[^*_,;()\[\]{}]{1,80}?(?<=\S)\1")


class Level:
    """The text between two brackets: characters with their places, and the levels within."""

    def __init__(self, at: int = 0):
        self.chars: list[str] = []
        self.at: list[int] = [at]
        self.within: dict[int, Level] = {}
        self.percents: dict[int, Fraction] = {}
        self.text = ""

    def add(self, chars: str, at: int) -> None:
        """Add characters, all of which stand for the text at ``at``."""
        self.at[-1:] = [at] * (len(chars) + 1)
        self.chars += chars

    def close(self) -> None:
        """Join what was added, here and in all brackets within."""
        self.text = "".join(self.chars)
        for level in self.within.values():
            level.close()


def levels(text: str, marked: set[int]) -> tuple[Level, list[tuple[int, str]]]:
    """The brackets as a tree, with their faults and where each is; no character is dropped.

    ``marked`` are the places of characters that stand in stress marks.
    """
    stack, opened, deeper = [Level()], [], 0
    faults: list[tuple[int, str]] = []
    for m in _TOKEN.finditer(text):
        top, at = stack[-1], m.start()
        if m["percent"]:
            top.percents[len(top.chars)] = Fraction(m["number"].replace(",", "."))
            top.add(PERCENT, at)
        elif m["e"]:
            top.add(f"E{m['digits']}{(m['letter'] or '').lower()}", at)
        elif m["open"] and len(stack) > MAX_DEPTH:
            faults += [(at, f"brackets are nested more than {MAX_DEPTH} deep")] if not deeper else []
            deeper += 1
            top.add(",", at)
        elif m["open"]:
            level = Level(at)
            top.within[len(top.chars)] = level
            top.add(GROUP, at)
            stack.append(level)
            opened.append((m["open"], at))
        elif m["close"] and deeper:
            deeper -= 1
            top.add(",", at)
        elif m["close"] and len(stack) == 1:
            faults.append((at, f"'{m['close']}' closes a bracket that was never opened"))
            top.add(",", at)
        elif m["close"]:
            stack.pop()
            sign, where = opened.pop()
            if sign != _PAIRS[m["close"]]:
                faults.append((at, f"'{m['close']}' closes a '{sign}' (character {where + 1})"))
        elif m["one"] in "*_":
            top.add("" if at in marked or m["one"] == "*" else " ", at)
        elif m["one"].isascii() or unicodedata.category(m["one"]) != "Cf":
            top.add(m["one"], at)
    faults += [(at, f"the bracket '{sign}' is never closed") for sign, at in opened]
    stack[0].close()
    return stack[0], faults


def stressed(text: str) -> set[int]:
    """The places of the characters in stress marks, such as ``*milk*``."""
    return {i for m in _STRESS.finditer(text) for i in range(m.start(), m.end())}


def with_plain_signs(text: str) -> str:
    """The text with one sign for each kind of bracket, comma, dash, quote and space; no character moves."""
    return text.translate(_SAME)
