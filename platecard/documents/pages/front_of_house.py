"""The page for front of house: one HTML file that answers a guest in ten seconds.

In: prepared dishes.  Out: the page in pieces of text.  It needs no other file and no
network.  Without its script it reads as a list of declarations; with it, it answers for any
set of allergens.  The answer for one allergen is that of ``platecard guest``; for several,
the page only combines answers where that is safe, and otherwise sends the guest's question
to the kitchen.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from html import escape

from platecard import fingerprint
from platecard.allergens import acknowledgement
from platecard.allergens.guests.answers import CHANGED, OPEN, Answer, Asked, Avoid
from platecard.allergens.guests.requests import NotUnderstood, understand
from platecard.allergens.statement import ABSENT, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.text import guest_languages, wording
from platecard.knowledge import languages
from platecard.knowledge.languages import Language
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy
from platecard.package_data import read_text
from platecard.prepared import Prepared, World

# What is answered about one dish, by allergen.
Answers = dict[str, dict[str, object]]


def page(menu: Sequence[Prepared], mark: str, known: Mapping[str, Answers] | None = None) -> Iterator[str]:
    """The whole page, in pieces because that of a long menu is long; ``mark`` is the menu's code.

    ``known`` are the :func:`answers` of dishes, by their keys, as far as they have been worked out.
    """
    world = menu[0].world
    settings, tree = world.kitchen.settings, world.tracer.taxonomy
    roots = _roots(world, {f.group for p in menu for s in p.statements for f in s.findings})
    more = _more(roots, tree)
    choices = _choices(roots, world, world.languages)
    if more:
        choices += (
            '\n<p class="more">Listed by no law in force here, for guests who'
            f" ask:</p>\n{_choices(more, world, world.languages)}"
        )
    values = {
        "language": (settings.language,),
        "kitchen": (escape(settings.called),),
        "laws": (escape("; ".join(f"{law.name}: {law.act}" for law in world.laws)),),
        "duty": (escape(" ".join(wording.duty(law, settings.place) for law in world.laws)),),
        "caution": (escape(wording.CAUTION),),
        "spoken": (
            f'\n<p class="language">{line}</p>'
            for line in guest_languages.introductions(
                world.languages, languages.declared(world.laws), tree, settings.language, is_html=True
            )
        ),
        "choices": (choices,),
        "dishes": (_dish(p) + "\n" for p in menu),
        "code": (escape(mark),),
        "answers": _all_answers(menu, _named((*roots, *more), world), known or {}),
    }
    # Filled in one pass, so that nothing in a value is taken for a placeholder of the template.
    for i, piece in enumerate(re.split("@([a-z]+)@", read_text("front-of-house.html"))):
        if i % 2 == 0:
            yield piece
        else:
            yield from values[piece]


def _all_answers(menu: Sequence[Prepared], names: dict[str, str], known: Mapping[str, Answers]) -> Iterator[str]:
    for i, p in enumerate(menu):
        told = known.get(p.key) or _answers(p, names)
        data = json.dumps({p.key: {root: told[root] for root in names}}, ensure_ascii=False, separators=(",", ":"))
        # Escaped, so that nothing in the data can end the script element.
        yield ("," if i else "{") + data[1:-1].replace("<", "\\u003c")
    yield "}"


def answers(prepared: Prepared) -> Answers:
    """The answers of a dish for each allergen that the page of any menu of its kitchen may offer."""
    tree = prepared.world.tracer.taxonomy
    roots = _roots(prepared.world)
    return _answers(prepared, _named((*roots, *_more(roots, tree)), prepared.world))


def _named(roots: Iterable[str], world: World) -> dict[str, str]:
    tree, language = world.tracer.taxonomy, world.kitchen.settings.language
    return {root: tree.name(root, language) for root in roots}


def _roots(world: World, told: Collection[str] | None = None) -> tuple[str, ...]:
    """The allergens to choose from: those of the laws in force, each once.

    ``told`` are the groups that the menu's dishes tell of, without which a group of statements offers none;
    None for all that there could be.
    """
    tree = world.tracer.taxonomy
    found: dict[str, None] = {}
    for law in world.laws:
        for group in (g for g in law.groups if told is None or not g.is_statement or g.heading in told):
            found.update(
                dict.fromkeys(
                    (
                        tree.lineage(n)[-1]
                        if tree.lineage(n)[-1] not in ("regional", "house_note", "tree_nut_other")
                        else n
                    )
                    for n in group.nodes
                )
            )
        if law.sulphites:
            found[SULPHITE] = None
    return tuple(found)


def _more(roots: tuple[str, ...], tree: Taxonomy) -> tuple[str, ...]:
    """The allergens that only laws not in force here list: a guest can still ask about them."""
    groups = (
        n for n, kind in tree.kinds.items() if not kind.under and n not in ("regional", "house_note", "tree_nut_other")
    )
    return tuple(n for n in groups if n not in roots)


def _choices(roots: Iterable[str], world: World, spoken: Sequence[Language]) -> str:
    return "\n".join(
        f'<label><input type="checkbox" value="{escape(root)}">'
        f" {guest_languages.name_of(root, name, spoken)}{_beyond(root, name, world)}</label>"
        for root, name in _named(roots, world).items()
    )


def _beyond(root: str, name: str, world: World) -> str:
    """What the word does not cover and the guest has to be asked about, in small type."""
    beyond = _meant(root, name, world).beyond
    return f"<small>{escape(beyond)}: ask</small>" if beyond else ""


def _answers(prepared: Prepared, names: dict[str, str]) -> Answers:
    """The answer for each allergen by itself."""
    if not prepared.is_sound or prepared.resolved is None:
        return {root: {"answer": OPEN, "changes": [], "may": [], "swaps": False} for root in names}
    world = prepared.world
    asked = Asked(
        prepared.resolved,
        world.pantry,
        world.tracer,
        prepared.shared,
        dict(world.kitchen.settings.equipment),
        acknowledgement.traces(prepared.statements),
    )
    return {root: _data(asked.answer((_meant(root, name, world),)), name) for root, name in names.items()}


def _meant(root: str, name: str, world: World) -> Avoid:
    """What a guest means who names an allergen: all that the word means when it is typed.

    Whoever says "nuts" may mean pine nuts, coconut and peanut too, which are no nuts in law.
    """
    try:
        meant = understand(name, world.tracer.taxonomy, world.pantry.catalogue)
    except NotUnderstood:
        return Avoid(name, (root,))
    return meant if root in meant.nodes else Avoid(name, (root,))


def _data(answer: Answer, name: str) -> dict[str, object]:
    changes = []
    for c in answer.changes if answer.answer == CHANGED else ():
        changes.append(
            f"leave off {c.component.called}" if c.swap is None else f"{c.swap.called} in place of {c.component.called}"
        )
    return {
        "answer": answer.answer,
        "changes": changes,
        "may": [name] if answer.remaining else [],
        "swaps": any(c.swap for c in answer.changes),
    }


def _dish(p: Prepared) -> str:
    title = escape(p.dish.title if p.dish else p.key)
    said = ", ".join(filter(None, (p.dish.menu_line, wording.shared(p.dish)))) if p.dish else ""
    line = f'<p class="line">{escape(said)}</p>' if said else ""
    which = [f"Revision {p.dish.revision.number}, {escape(p.dish.revision.date)}"] if p.dish and p.dish.revision else []
    which += [f"code {fingerprint.of(p)}"] if p.is_sound else []
    revision = f"<p>{', '.join(which)}</p>" if which else ""
    if p.is_sound:
        body = (
            '<div class="laws">\n'
            + "\n".join(_law(s, p.world.languages) for s in p.statements)
            + "\n</div>"
            + "".join(f"\n<p>{escape(says)}.</p>" for says in p.told)
        )
    else:
        body = (
            '<dl><dt class="not_established">Not established</dt><dd>The spec or the kitchen\'s library has errors. Do'
            " not serve on this page.</dd></dl>"
        )
    return (
        f'<article id="dish-{escape(p.key)}">\n<h2>{title}</h2>\n{line}\n<div'
        f' class="answer"></div>\n{body}\n{revision}\n</article>'
    )


def _law(s: Statement, spoken: Sequence[Language]) -> str:
    rows = []
    for presence, word in ((CONTAINS, "Contains"), (UNKNOWN, "Not established"), (MAY, "May contain")):
        found = s.with_presence(presence)
        if found:
            named = (guest_languages.named(f, spoken) for f in found)
            words = wording.every_other(s) if presence == UNKNOWN and s.all_open else ", ".join(named)
            said = guest_languages.said(word, guest_languages.PRESENCE[presence], spoken)
            rows.append(f'<dt class="{presence}">{said}</dt><dd>{words}</dd>')
    below = [f for f in s.with_presence(ABSENT) if f.note]
    rows += [
        f"<dt>{wording.LEFT_OUT.get(f.left_out, 'in it, not declared').capitalize()}</dt>"
        f"<dd>{escape(f.declared_as)}: {escape(f.note)}</dd>"
        for f in below
    ]
    rest = (
        ""
        if s.all_open
        else (
            "Every other group of this law: not among the ingredients entered."
            if rows
            else "No group of this law is among the ingredients entered."
        )
    )
    rest = f"<p>{rest}</p>" if rest else ""
    also = escape(", ".join(wording.outside(s)))
    outside = f"<p>For guests who ask, not listed by this law: {also}.</p>" if also else ""
    sentences = (
        *wording.open_over((s,)),
        *wording.came_over((s,)),
        *wording.relies_on_cleaning((s,)),
        *filter(None, (wording.from_memory(s), wording.not_read(s.not_read, s.is_of_several))),
    )
    over = "".join(f"<p>{escape(words)}</p>" for words in sentences)
    told = (f for f in s.findings if f.presence != ABSENT and not (s.all_open and f.presence == UNKNOWN))
    why = "\n".join(
        f"<p>{escape(f.declared_as)}: {escape(wording.chain(f.reasons[0][1:]) if f.reasons else f.note)}</p>"
        for f in told
    )
    reasons = f"<details><summary>Where each one comes from</summary>\n{why}\n</details>" if why else ""
    return (
        f"<section>\n<h3>{escape(s.law.name)}</h3>\n<dl>{''.join(rows)}</dl>\n"
        f"{over}{rest}\n{outside}\n{reasons}\n</section>"
    )
