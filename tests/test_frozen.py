"""The quick decorator against the standard library's own, point by point."""

from __future__ import annotations

import copy
import pickle
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard.frozen import frozen


def plain() -> type:
    class Plain:
        """One of each kind of field."""

        name: str
        count: int = 1
        parts: tuple[object, ...] = ()
        open: dict[str, None] = field(default_factory=dict)
        place: str = field(default="", compare=False)
        hidden: list[int] = field(default_factory=list, init=False, repr=False, compare=False)
        doubled: int = field(init=False, default=0)

        def __post_init__(self):
            object.__setattr__(self, "doubled", 2 * self.count)

    return Plain


Ours, Theirs = frozen(plain()), dataclass(frozen=True, slots=True)(plain())


@frozen
class Single:
    """One field, at the top of a module, so that it can be pickled."""

    value: object


@frozen
class Empty:
    """No field at all."""


ARGUMENTS = st.fixed_dictionaries({"name": st.text(max_size=3)}, optional={
    "count": st.integers(), "parts": st.tuples(st.integers() | st.text(max_size=2)), "open": st.dictionaries(st.text(max_size=1), st.none(), max_size=2), "place": st.text(max_size=2)})


@given(ARGUMENTS, ARGUMENTS)
def test_values_are_equal_shown_and_taken_apart_as_the_standard_ones_are(first, second):
    ours, theirs = [[kind(**one) for one in (first, second, first)] for kind in (Ours, Theirs)]
    assert [a == b for a in ours for b in ours] == [a == b for a in theirs for b in theirs]
    assert [repr(a) for a in ours] == [repr(a) for a in theirs]
    assert [asdict(a) for a in ours] == [asdict(a) for a in theirs]
    assert repr(replace(ours[0], name="other")) == repr(replace(theirs[0], name="other"))
    assert ours[0] != theirs[0] and is_dataclass(ours[0])


@given(ARGUMENTS)
def test_equal_values_have_the_same_hash(one):
    hashable = {k: v for k, v in one.items() if k != "open"}
    first, second = (Single(tuple(sorted(hashable.items(), key=str))) for _ in range(2))
    assert hash(first) == hash(second) and len({first, second}) == 1
    with pytest.raises(TypeError):
        hash(Ours(**one))  # a dictionary in it, as with the standard ones
    with pytest.raises(TypeError):
        hash(Theirs(**one))


def test_a_class_may_have_a_hash_of_its_own():
    @frozen
    class Named:
        key: str
        size: int

        def __hash__(self):
            return hash(self.key)

    assert hash(Named("a", 1)) == hash(Named("a", 2)) == hash("a")
    assert Named("a", 1) != Named("a", 2) and len({Named("a", 1), Named("a", 2), Named("a", 1)}) == 2


def test_the_fields_are_the_standard_ones():
    assert [(f.name, f.init, f.repr, f.compare) for f in fields(Ours)] == [(f.name, f.init, f.repr, f.compare) for f in fields(Theirs)]
    assert Ours.__match_args__ == Theirs.__match_args__ and Ours.__slots__ == Theirs.__slots__ and Ours.__doc__ == Theirs.__doc__
    assert Ours("a").open is not Ours("b").open


@pytest.mark.parametrize("kind", [Ours, Theirs])
def test_nothing_can_be_set_added_or_taken_away(kind):
    value = kind("a")
    for change in (lambda: setattr(value, "name", "b"), lambda: delattr(value, "name")):
        with pytest.raises(FrozenInstanceError):
            change()
    with pytest.raises((FrozenInstanceError, AttributeError, TypeError)):
        value.other = 1
    assert not hasattr(value, "__dict__") and value.name == "a"


@pytest.mark.parametrize("wrong", [(), ("a", 1, (), {}, "", 6)])
def test_a_wrong_number_of_arguments_is_refused_alike(wrong):
    for kind in (Ours, Theirs):
        with pytest.raises(TypeError):
            kind(*wrong)
        with pytest.raises(TypeError):
            kind("a", nothing=1)


@pytest.mark.parametrize("value", [Single((1, "x")), Empty()])
def test_values_can_be_copied_and_sent(value):
    assert copy.copy(value) == copy.deepcopy(value) == pickle.loads(pickle.dumps(value)) == value
    assert repr(value).startswith(type(value).__name__)
