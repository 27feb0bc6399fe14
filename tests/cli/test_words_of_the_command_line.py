"""A command typed in a hurry: what is wrong with it in one sentence, with what to type instead."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    "typed, says",
    [
        ("check betroot", "there is no spec or folder betroot; did you mean 'beetroot'?"),
        ("check specs/betroot.yaml", "there is no spec or folder specs/betroot.yaml; did you mean 'beetroot'?"),
        ("fire betroot=2", "did you mean 'beetroot'?"),
        ("cost betroot", "did you mean 'beetroot'?"),
        ("check --fromat json", "there is no option --fromat here; did you mean '--format'?"),
        ("mat beetroot --papr A4", "there is no option --papr here; did you mean '--paper'?"),
        ("check --format yaml", "there is no --format 'yaml'; write one of: text, json"),
        ("chek", "there is no command 'chek'; did you mean 'check'?"),
        ("guest beetroot", "--avoid is missing; add it"),
        ("guest beetroot --avoid", "nothing stands behind --avoid; write its value after it"),
        ("build --jobs many", "--jobs many: write a whole number"),
        ("schema dishes", "there is no KIND 'dishes'; did you mean 'dish'"),
        ("mat beetroot beetroot", "'beetroot' is more than this command takes; take it out"),
        ("scale --to 2.4", "RECIPE is missing; add it"),
        ("acknowledge beetroot --date 30.10.2026", "'30.10.2026' is not a date; write 2026-10-30"),
        ("compare beetroot --as-of 30.10.2026", "'30.10.2026' is not a date; write 2026-10-30"),
    ],
)
def test_a_slip_on_the_command_line(galley, typed, says):
    done = galley.run(*typed.split())
    assert done.code == 2 and done.out == "" and says in done.err, done.err
    assert "usage:" not in done.err and "argument" not in done.err


@pytest.mark.parametrize(
    "typed, says, hint",
    [
        ("allergens beetroot --why mlik", "--why: 'mlik' is not understood", "did you mean 'milk'?"),
        ("scale dill-oil --to 2", "--to: '2' has no unit", "write 2 g"),
        ("scale dill-oil --to 2,4kg", "has a comma in its number", "write 2.4kg, with a dot"),
        ("prep --covers beetroot=4 --date 30.10.2026", "there is no day '30.10.2026'", "write 2026-10-30"),
    ],
)
def test_a_slip_in_what_is_asked(galley, typed, says, hint):
    done = galley.run(*typed.split())
    assert done.code == 1 and says in done.err and hint in done.err, done.err


@pytest.mark.parametrize("command", [["cost"], ["check"], ["guest", "--avoid", "milk"]])
def test_a_dish_named_by_its_title_is_told_by_its_key(galley, command):
    for title in ("Smoked beetroot, dill oil, seeded crisp", "smoked beetroot dill oil seeded crisp"):
        done = galley.run(*command, title)
        assert done.code == 2 and "did you mean 'beetroot'?" in done.err
    assert "did you mean" not in galley.run(*command, "Smoked beetroot, dill").err


@pytest.mark.parametrize("said, key", [("fish chips", "fish-chips"), ("Lamb & Pea", "lamb-pea"), ("menu", "menu-dish")])
def test_a_new_dish_gets_a_name_that_fits(room, said, key):
    done = room.run("new", said)
    assert done.code == 2 and f"such as {key}" in done.err
    assert room.run("new", key).code == 0
