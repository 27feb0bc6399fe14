"""What is left of a name once the words that change nothing in a food are left away.

The words and the foods that they go with are data (``data/plain-foods.yaml``).  ``butter, diced``
leaves ``butter``; ``apricots, dried and chopped`` first leaves ``dried apricot``, so that a food with
a name of its own goes before what is left after more words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import NamedTuple, TypedDict

from platecard.knowledge.names import fold

_BRACKETS = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_AMOUNT = re.compile(r"[1-9]\d*(?:cm|mm|g)?")  # "2 cm"; a nought may say that something was taken out
_SHARE = re.compile(r"[1-9]\d*%")
_NUMBER = re.compile(r"[1-9]\d*")
_LONGEST = 3  # words of a phrase that is left away
_KEPT = 3  # words behind a comma that can belong to the name: "milk, dried, skimmed"
_MOST = 24  # words of a name that is taken apart at all


class Rule(TypedDict):
    """The foods that some words go with, and what a food bought so leaves open.

    ``measures``: it is about a share or an age, which takes nothing away from a food that has more in it.
    """

    measures: bool
    kinds: list[str] | str
    depends: list[str]
    kind_open: list[str]


class Words(TypedDict):
    """``rules``, and for each place the folded words with the rules (from 0) that have them.

    ``never`` are the words that can change what a food is, and ``ages`` the lengths of time, folded.
    ``of_share`` and ``of_age`` are the rules by which a share ("35 %") and an age ("18 months") are left away.
    """

    never: list[str]
    ages: list[str]
    rules: list[Rule]
    of_share: list[int]
    of_age: list[int]
    before: dict[str, list[int]]
    after: dict[str, list[int]]
    done: dict[str, list[int]]
    behind: dict[str, list[int]]


class Left(NamedTuple):
    """A name that may be meant: ``dropped`` has, for each phrase left away, the rules that have it.

    ``turned``: words from behind the comma were set before or behind the food's own.
    """

    name: str
    dropped: tuple[tuple[int, ...], ...]
    turned: bool


# Signs between two foods, and those of them that make no kind of the one before: "oil, olive" but "oil & butter".
_BETWEEN = re.compile(r"[,;()\[\]/+&:|·•*=<>!?–—]|\.(?!\d)|\s-\s")
_TWO_FOODS = re.compile(r"[;/+&:|·•*=<>!?–—]|\.(?!\d)|\s-\s|\bor\b|\boder\b|\bou\b")


def parts(name: str) -> tuple[str, ...]:
    """What stands between the signs of ``name``: commas, brackets, dashes, full stops and the like."""
    return tuple(part for part in _BETWEEN.split(name) if part.strip())


def names_two(name: str) -> bool:
    """Whether a sign or a word between two foods says that they are two: "butter & oil", "oil (or butter)"."""
    return _TWO_FOODS.search(name) is not None


def in_brackets(name: str) -> tuple[str, str]:
    """What stands outside and what stands inside the brackets of ``name``; nothing inside if there are none.

    A decimal comma between two figures becomes a point.
    """
    name = _DECIMAL_COMMA.sub(".", name)
    inside = ", ".join(said for said in _BRACKETS.findall(name) if said.strip())
    return (" ".join(_BRACKETS.sub(" ", name).split()).replace(" ,", ","), inside) if inside else (name, "")


class PlainWords:
    """The words of ``data/plain-foods.yaml``, ready to be taken off a name."""

    def __init__(self, words: Words):
        self.rules, self.never = words["rules"], frozenset(words["never"])
        self._ages = frozenset(words["ages"])
        self._of_share, self._of_age = tuple(words["of_share"]), tuple(words["of_age"])
        self._before, self._after = words["before"], words["after"]
        self._done, self._behind = words["done"], words["done"] | words["behind"]
        self._anywhere = {w: r for w, r in self._before.items() if any(self.rules[i]["kinds"] == "any" for i in r)}

    def left(self, name: str) -> Iterator[list[Left]]:
        """The names that may be meant, those first for which the fewest words are left away."""
        outside, inside = in_brackets(name)
        head, _, rest = outside.partition(",")
        words = tuple(fold(head).split())
        behind = [unit for part in (*rest.split(","), *inside.split(",")) for unit in self._units(fold(part).split())]
        if not words or len(words) + len(behind) > _MOST:
            return
        must = [i for i, unit in enumerate(behind) if not self._is_said(unit)]
        if len(must) > _KEPT:
            return
        free = [i for i, unit in enumerate(behind) if i not in must and unit not in self._done]
        by_count: dict[tuple[int, int], list[Left]] = {}
        heads = self._heads(words)
        for kept in self._kept(free, must):
            said = " ".join(behind[i] for i in kept)
            gone = tuple(self._rules_of(unit) for i, unit in enumerate(behind) if i not in kept)
            many = sum(unit.count(" ") + 1 for i, unit in enumerate(behind) if i not in kept)
            for left, dropped in heads.items():
                food = " ".join(left)
                both = (f"{said} {food}", f"{food} {said}") if said else (food,)
                # The words before the comma name the food, so they are left away last.
                by_count.setdefault((len(words) - len(left), many), []).extend(
                    Left(one, (*dropped, *gone), bool(said)) for one in both
                )
        for _, found in sorted(by_count.items()):
            yield found

    def bare(self, name: str) -> list[str]:
        """The words of ``name``, folded, without those that are left away."""
        outside, inside = in_brackets(name)
        head, _, rest = outside.partition(",")
        behind = (u for part in (*rest.split(","), *inside.split(",")) for u in self._units(fold(part).split()))
        words = tuple(fold(head).split())[:_MOST]
        return [*min(self._heads(words), key=len), *(w for u in behind if not self._is_said(u) for w in u.split())]

    def _kept(self, free: list[int], must: list[int]) -> Iterator[tuple[int, ...]]:
        for more in range(_KEPT - len(must) + 1):
            yield from (tuple(sorted((*must, *some))) for some in combinations(free, more))

    def _is_said(self, unit: str) -> bool:
        return unit in self._behind or _AMOUNT.fullmatch(unit) is not None or bool(self._measured(*unit.split()))

    def _rules_of(self, unit: str) -> tuple[int, ...]:
        return self._measured(*unit.split()) or tuple(self._behind.get(unit, ()))

    def _units(self, words: list[str]) -> Iterator[str]:
        """The words behind a comma, with those taken together that are one phrase."""
        while words:
            longest = range(min(5, len(words)), 1, -1)
            is_one = (n for n in longest if self._measured(*words[:n]) or " ".join(words[:n]) in self._behind)
            many = next(is_one, 1)
            yield " ".join(words[:many])
            words = words[many:]

    def _heads(self, words: tuple[str, ...]) -> dict[tuple[str, ...], tuple[tuple[int, ...], ...]]:
        """What can be left of the words before the comma, with the rules of what is left away."""
        found: dict[tuple[str, ...], tuple[tuple[int, ...], ...]] = {words: ()}
        waiting = [words]
        for one in waiting:
            for rest, rules in self._cuts(one):
                if rest not in found:
                    found[rest] = (*found[one], tuple(rules))
                    waiting.append(rest)
        return found

    def _measured(self, *words: str) -> tuple[int, ...]:
        """The rules by which these words are left away as a share or an age; none if they are neither.

        "70 %", "3.5 %", "24 month", "18 months old".
        """
        match words:
            case (share,) if _SHARE.fullmatch(share):
                return self._of_share
            case (number, "%") if _SHARE.fullmatch(f"{number}%"):
                return self._of_share
            case (whole, part, "%") if _NUMBER.fullmatch(whole) and _SHARE.fullmatch(f"{part}%"):
                return self._of_share
            case (whole, part) if _NUMBER.fullmatch(whole) and _SHARE.fullmatch(part):
                return self._of_share
            case (number, age) | (number, age, "old") if _NUMBER.fullmatch(number) and age in self._ages:
                return self._of_age
        return ()

    def _cuts(self, words: tuple[str, ...]) -> Iterable[tuple[tuple[str, ...], Iterable[int]]]:
        for n in range(1, min(_LONGEST, len(words) - 1) + 1):
            if measured := self._measured(*words[:n]):
                yield words[n:], measured
            if measured := self._measured(*words[-n:]):
                yield words[:-n], measured
        for n in range(min(_LONGEST, len(words) - 1), 0, -1):
            if rules := self._before.get(" ".join(words[:n])):
                yield words[n:], rules
            if rules := self._after.get(" ".join(words[-n:])):
                yield words[:-n], rules
            for at in range(1, len(words) - n):
                if rules := self._anywhere.get(" ".join(words[at : at + n])):
                    yield (*words[:at], *words[at + n :]), rules
