"""A value that a # cuts off is checked like any other: the warning about the # never stands in for an error."""

from __future__ import annotations

import json

import pytest

from platecard import pipeline, yaml_nodes
from tests.kitchens import BEETROOT, LIBRARY, library

# The library and the dish, each value on a line of its own, so that a # can follow it.
FILES = {path: yaml_nodes.plain(yaml_nodes.parse(text, path)[0]) for path, text in LIBRARY.items()}
DISH = yaml_nodes.plain(yaml_nodes.parse(BEETROOT, "specs/asked.yaml")[0])


def values(node, path=()):
    """The place of every value in a file, down to the single words."""
    for key, value in node.items() if isinstance(node, dict) else enumerate(node):
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from values(value, (*path, key))


def block(node, indent: int, put: tuple, path=()) -> str:
    """A file in block style, with ``put[1]`` written as it stands at the place ``put[0]``."""
    rows = []
    for key, value in node.items() if isinstance(node, dict) else enumerate(node):
        here = (*path, key)
        lead = " " * indent + (f"{key}:" if isinstance(node, dict) else "-")
        if here == put[0]:
            rows.append(f"{lead} {put[1]}")
        elif isinstance(value, dict | list) and value:
            rows.append(f"{lead}\n{block(value, indent + 2, put, here)}")
        else:
            rows.append(f"{lead} {json.dumps(value)}")
    return "\n".join(rows)


def is_sound(file: str, place: tuple, written: str) -> bool:
    texts = {p: block(node, 0, (place, written) if p == file else ((), "")) for p, node in FILES.items()}
    spec = block(DISH, 0, (place, written) if file == "spec" else ((), ""))
    world = pipeline.world(library(texts))
    is_known = not any(p.is_error and p.withholds for p in world.problems)
    return is_known and pipeline.prepare(spec, "specs/asked.yaml", "asked", world, []).is_sound


def test_the_kitchen_is_sound_as_it_stands():
    assert is_sound("", (), "")


@pytest.mark.parametrize("word", ["milk", "yes"])
@pytest.mark.parametrize("file", [*FILES, "spec"])
def test_no_value_passes_before_a_hash_that_does_not_pass_alone(file, word):
    passed = [
        place
        for place in values(DISH if file == "spec" else FILES[file])
        if is_sound(file, place, f"{word} #x") and not is_sound(file, place, word)
    ]
    assert passed == []
    assert not all(is_sound(file, place, word) for place in values(DISH if file == "spec" else FILES[file]))


def test_quotes_of_a_word_processor_do_not_hide_what_is_cut_off():
    (told,) = yaml_nodes.parse("dish: “Cured char” #1, fish\n", "d.yaml")[1]
    assert told.slug == "cut-by-a-hash"


@pytest.mark.parametrize("key", ["ingredients", "method", "equipment"])
def test_an_empty_text_where_a_list_belongs_is_told(key):
    text = f'recipe: A\nmakes: 100 g\n{key}: ""\n' + ("" if key == "ingredients" else "ingredients:\n  - salt\n")
    assert any(p.is_error for p in pipeline.world([("shared/recipes/a.yaml", text)]).problems)
