"""What a card says of the laid plate: which pieces bear which, how wide the gaps are; and that nothing said is lost."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import fingerprint, pipeline
from platecard.allergens.statement import Also
from platecard.allergens.traces import UNKNOWN, Link
from platecard.diagnostics import has_errors
from platecard.documents.diagram import plate as plate_drawing
from platecard.documents.diagram import side_view
from platecard.documents.kit import allergen_block, part_labels, part_rows
from platecard.documents.pages import pass_card, service_sheet
from platecard.documents.text import placement_text, wording
from platecard.drawing import pdf
from platecard.drawing.scene import Circle, Group, Text
from platecard.layout.arrange import place
from platecard.layout.footprint import clock_of
from platecard.layout.regions import borne
from platecard.prepared import Prepared
from tests.documents.test_pass_card import check_pages
from tests.kitchens import prepared
from tests.laid import dish, piece, plate, step

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def menu() -> dict[str, Prepared]:
    library = [
        (str(p.relative_to(ROOT)), p.read_text(encoding="utf-8")) for p in sorted((ROOT / "shared").rglob("*.yaml"))
    ]
    world = pipeline.world(library)
    texts = [
        (p.read_text(encoding="utf-8"), f"specs/{p.name}", p.stem) for p in sorted((ROOT / "specs").glob("*.yaml"))
    ]
    return {d.key: d for d in pipeline.prepare_menu(texts, world)}


@pytest.fixture(scope="module")
def cards(menu):
    """Every demo card: its pages as scenes."""
    return {key: pages_of(d) for key, d in menu.items()}


def pages_of(one: pipeline.Prepared):
    return pass_card.compose(one, plate_drawing.number_of(one.dish), fingerprint.of(one))


_READ: dict[int, tuple] = {}  # what was read back of the pages that tests share, by their identity


def read_back(pages) -> list[str]:
    """The words of each page, out of the PDF."""
    if id(pages) not in _READ:
        _READ[id(pages)] = pages, _words(pages)
    return _READ[id(pages)][1]


def _words(pages) -> list[str]:
    return [words_of(p.extract_text()) for p in pypdf.PdfReader(io.BytesIO(pdf.write(pages, title="x"))).pages]


def words_of(text: str) -> str:
    return " ".join(text.split())


def sizes(page) -> list[tuple[str, float]]:
    """(text, size in pt) as the PDF sets them."""
    found = []

    def visit(text, cm, tm, font, size):
        if text.strip():
            found.append((text.strip(), size * math.hypot(tm[0], tm[1]) * math.hypot(cm[0], cm[1])))

    page.extract_text(visitor_text=visit)
    return found


def letters(text: str) -> str:
    """Without blanks: a line may break anywhere between words, and a long word within."""
    return "".join(text.split())


# --------------------------------------------------------------------------- which pieces bear which


def laid_on(count: int, *hosts, **more):
    """The words for ``count`` small pieces on the hosts."""
    d = dish(
        *hosts, step("x", piece=piece("dot", 4), count=count, on=tuple(dict.fromkeys(h.put for h in hosts)), **more)
    )
    arrangement, problems = place(d, plate(outer=320, well=300))
    assert not has_errors(problems)
    return placement_text.on(d.steps[-1], d, arrangement)


def arc(n: int, **more):
    return step(
        "a", piece=piece("slice", 18, 14), count=n, arrange="arc", start="8:00, 90 mm", end="1:00, 90 mm", **more
    )


@pytest.mark.parametrize(
    "count, hosts, words",
    [
        (3, 3, "on a: one on each"),
        (6, 3, "on a: two on each"),
        (2, 3, "on a: one each on the first and third slice, counted clockwise from 8:00"),
        (1, 1, ""),
        (4, 1, "on a: four, spread as drawn"),
        (3, 7, "on a: one on every second slice from the second on, counted clockwise from 8:00"),
        (4, 7, "on a: one on every second slice from the first on, counted clockwise from 8:00"),
        (5, 7, "on a: one on each slice but the second and sixth, counted clockwise from 8:00"),
        (4, 3, "on a: two on the second slice, one on each of the others, counted clockwise from 8:00"),
        (5, 3, "on a: one on the second slice, two on each of the others, counted clockwise from 8:00"),
        (3, 2, "on a: two on the second slice, one on the other, counted clockwise from 8:00"),
    ],
)
def test_which_bears_which(count, hosts, words):
    assert laid_on(count, arc(hosts) if hosts > 1 else step("a", piece=piece("disc", 40), at="centre")) == words


def test_the_row_is_counted_the_way_it_is_laid():
    assert laid_on(
        2,
        step(
            "a",
            piece=piece("slice", 18, 14),
            count=3,
            arrange="arc",
            start="1:00, 90 mm",
            end="8:00, 90 mm",
            anticlockwise=True,
        ),
    ).endswith("counted anticlockwise from 1:00")
    for start, end, way in (
        ("9:00, 80 mm", "3:00, 80 mm", "left"),
        ("3:00, 80 mm", "9:00, 80 mm", "right"),
        ("12:00, 80 mm", "6:00, 80 mm", "far side"),
        ("6:00, 80 mm", "12:00, 80 mm", "side of the guest"),
    ):
        assert laid_on(2, step("a", piece=piece("disc", 20), count=3, arrange="line", start=start, end=end)).endswith(
            f"counted from the {way}"
        )
    assert laid_on(4, step("a", piece=piece("bar", 90, 30), at="centre")) == "on a: four, evenly along it"


def test_strewn_bearers_are_named_by_their_places():
    d = dish(
        step("a", piece=piece("disc", 18), count=7, arrange="scatter"),
        step("x", piece=piece("dot", 4), count=5, on="a"),
    )
    arrangement, _ = place(d, plate())
    said = placement_text.on(d.steps[-1], d, arrangement)
    bare = [host for host, n in borne(d.steps[-1], d.steps, arrangement.footprints) if n == 0]
    assert len(bare) == 2 and said.startswith("on a: one on each disc but those at ")
    hours = [int(h) * 30 + int(m) / 2 for h, m in re.findall(r"at (\d+):(\d\d)", said)]
    for host, hour in zip(bare, hours, strict=True):
        assert abs((clock_of(*host.centre) - hour + 180) % 360 - 180) <= 1.3


def test_two_components_bear_each_their_share():
    hosts = (
        step("a", piece=piece("disc", 20), at="9:00, 60 mm"),
        step("b", piece=piece("disc", 20), count=2, arrange="line", start="1:00, 60 mm", end="5:00, 60 mm"),
    )
    assert laid_on(3, *hosts) == "on a: one; on b: one on each"


@settings(max_examples=80)
@given(st.integers(2, 24), st.integers(1, 12), st.sampled_from(["arc", "ring", "scatter"]))
def test_the_words_hold_for_the_laid_pieces(count, hosts, way):
    """Every piece is told, and told to lie where it lies: the words are read back and laid again."""
    more = {"arc": {"start": "8:00, 110 mm", "end": "5:00, 110 mm"}, "ring": {"out": "110 mm"}, "scatter": {}}[way]
    if hosts == 1:
        way, more = "one", {"at": "centre"}
    d = dish(
        step("a", piece=piece("disc", 12), count=hosts, arrange=way, **more),
        step("x", piece=piece("dot", 3), count=count, on="a"),
    )
    arrangement, _ = place(d, plate(outer=320, well=300))
    shares = borne(d.steps[-1], d.steps, arrangement.footprints)
    assert sum(n for _, n in shares) == count
    for host, n in shares:
        near = [f for f in arrangement.of("x") if math.dist(f.centre, host.centre) < 6.0]
        assert len(near) == n
    said = placement_text.on(d.steps[-1], d, arrangement).removeprefix("on a: ")
    if "as drawn" in said:
        assert hosts == 1 or way == "scatter"
        return
    assert told(said, [host for host, _ in shares]) == [n for _, n in shares]


NUMBER = {w: i for i, w in enumerate("zero one two three four five six seven eight nine ten eleven twelve".split())}
ORDINAL = {
    w: i
    for i, w in enumerate(
        "zeroth first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth".split()
    )
}


def told(said: str, hosts) -> list[int]:
    """A cook's reading of the words: how many on each of the bearers, in their order."""

    def number(word: str) -> int:
        return NUMBER[word] if word in NUMBER else int(word)

    def named(text: str) -> list[int]:
        if " at " in f" {text}":
            found = []
            for hour, minute, far in re.findall(r"at (\d+):(\d\d)(?: \((\d+) mm out\))?", text):
                angle = int(hour) * 30 + int(minute) / 2
                fit = [
                    i
                    for i, h in enumerate(hosts)
                    if abs((clock_of(*h.centre) - angle + 180) % 360 - 180) <= 1.3
                    and (not far or abs(math.hypot(*h.centre) - int(far)) <= 0.6)
                ]
                assert len(fit) == 1, "the words name one piece alone"
                found += fit
            return found + [i for i, h in enumerate(hosts) if "in the centre" in text and math.hypot(*h.centre) < 5]
        return [ORDINAL[w] - 1 for w in re.findall("[a-z]+", text) if w in ORDINAL]

    said = re.sub(r", counted .*", "", said)
    if m := re.fullmatch(r"(\w+) on each", said):
        return [number(m[1])] * len(hosts)
    if m := re.fullmatch(r"(\w+) on every (\w+) disc from the (\w+) on", said):
        return [
            number(m[1]) if i >= ORDINAL[m[3]] - 1 and (i - ORDINAL[m[3]] + 1) % ORDINAL[m[2]] == 0 else 0
            for i in range(len(hosts))
        ]
    if m := re.fullmatch(r"(\w+) on each disc but (.*)", said):
        return [0 if i in named(m[2]) else number(m[1]) for i in range(len(hosts))]
    if m := re.fullmatch(r"(\w+)(?: each)? on (.*), (\w+) on (?:each of the others|the other)", said):
        return [number(m[1]) if i in named(m[2]) else number(m[3]) for i in range(len(hosts))]
    m = re.fullmatch(r"(\w+)(?: each)? on (.*)", said)
    return [number(m[1]) if i in named(m[2]) else 0 for i in range(len(hosts))]


# --------------------------------------------------------------------------- gaps of graded pieces


def graded(**more) -> str:
    d = dish(step("a", piece=piece("dot", 12, last=more.pop("last", 6)), count=more.pop("count", 4), **more))
    return placement_text.gaps(d.steps[0], place(d, plate(outer=320, well=300))[0])


def test_gaps_of_graded_dots():
    # From middle to middle 90 mm; three dots of 12, 9 and 6 mm take 12 / 2 + 9 + 6 / 2 = 18 of them: two gaps of 36.
    assert (
        graded(count=3, arrange="line", start="9:00, 45 mm", end="3:00, 45 mm") == "gaps even, 36 mm from edge to edge"
    )
    assert (
        graded(count=3, arrange="line", start="9:00, 11 mm", end="3:00, 11 mm") == "gaps even, 2 mm from edge to edge"
    )
    assert graded(count=3, arrange="line", start="9:00, 9 mm", end="3:00, 9 mm") == "edge to edge, no gaps"
    assert graded(count=3, arrange="line", start="9:00, 5 mm", end="3:00, 5 mm") == "overlapping as drawn"
    assert re.fullmatch(
        r"gaps grow from \d+ to \d+ mm, edge to edge", graded(arrange="arc", start="8:00, 40 mm", end="2:00, 110 mm")
    )
    assert re.fullmatch(
        r"gaps shrink from \d+ to \d+ mm, edge to edge", graded(arrange="arc", start="8:00, 110 mm", end="2:00, 40 mm")
    )


def test_pieces_of_one_size_need_no_words_for_their_gaps():
    d = dish(step("a", piece=piece("dot", 12), count=4, arrange="line", start="9:00, 45 mm", end="3:00, 45 mm"))
    assert placement_text.gaps(d.steps[0], place(d, plate())[0]) == ""


# --------------------------------------------------------------------------- the demo cards, read back


def test_the_cards_say_which_bear_which(menu, cards):
    told_of = {
        (
            "char-cucumber",
            "crisp",
        ): "on char: one on every second slice from the second on, counted clockwise from 5:00",
        (
            "garden-plate",
            "crisp",
        ): "on salt-baked beetroot: one each on the first and third wedge, counted clockwise from 7:40",
        (
            "courgette-flower",
            "basil",
        ): "on courgette flower: one on the second portion, two on each of the others, counted from the left",
        ("courgette-flower", "honey"): "gaps even, 13 mm from edge to edge",
    }
    for (key, part), words in told_of.items():
        assert menu[key].dish.component(part)
        assert letters(words) in letters(" ".join(read_back(cards[key])))
    for key, pages in cards.items():
        assert "spread as drawn" not in " ".join(read_back(pages)), key


def test_every_front_has_names_sides_acceptances_and_checks_and_every_back_the_stations(menu, cards):
    for key, one in menu.items():
        front, back = (letters(page) for page in read_back(cards[key]))
        for s in one.dish.steps:
            assert letters(wording.called(s.put, one.dish)) in front, (key, s.put)
            assert letters(wording.seen_leeway(s)) in front and letters(wording.counts(s)) in front, (key, s.put)
            assert letters(s.facing.up) in front, (key, s.put)
            assert letters(wording.leeway(s)) in back, (key, s.put)
        for component in one.dish.components:
            assert one.world.kitchen.settings.station(component.station).replace(" ", "") in back, (key, component.key)
        for check in one.dish.expo_checks:
            assert letters(check) in front, (key, check)
        assert letters("Counts are exact unless stated. A plate outside what is accepted goes back.") in front


@pytest.mark.parametrize(
    "said, shown",
    [
        ("at the table", "at the table"),
        ("poured at the table", "at the table"),
        ("at the table, from the jug", "at the table; from the jug"),
        ("from the jug", "at the table; from the jug"),
    ],
)
def test_what_is_poured_at_the_table_says_so_once(said, shown):
    move = step("sauce", arrange="pool", across_mm=60, section="at_table", poured=said)
    assert move.at_table and part_labels.words((move,), "all alike") == shown


def test_how_far_out_an_end_lies_is_not_read_on_to_the_other():
    for arrange in ("arc", "line"):
        move = step("a", arrange=arrange, piece=piece("disc", 9), start="12:40, 42 mm", end="2:00, 53 mm", count=3)
        assert "from 12:40 (42 mm out) to 2:00 (53 mm out)" in wording.where(move, dish(move))
        scene = plate_drawing.draw(place(dish(move), plate())[0], dish(move))
        assert "from 12:40 (42 mm out) to 2:00 (53 mm out)" in scene.description


@pytest.fixture(scope="module")
def set_in(cards) -> dict[str, list[list[tuple[str, float]]]]:
    """What is set in which size on each page of every demo card."""
    return {
        key: [sizes(page) for page in pypdf.PdfReader(io.BytesIO(pdf.write(pages, title="x"))).pages]
        for key, pages in cards.items()
    }


def test_names_on_every_front_are_eleven_and_a_half_points_or_more(menu, set_in):
    for key, one in menu.items():
        names = {c.called for c in one.dish.components}
        found = [
            (text, size)
            for text, size in set_in[key][0]
            if len(text) > 3 and size > 9.0 and any(text.split("×")[-1].strip() in n for n in names)
        ]
        assert len(found) >= len(one.dish.components) / 2, (key, found)
        assert min(size for _, size in found) >= 11.49, (key, found)


def test_no_words_of_a_card_run_into_each_other(cards):
    for pages in cards.values():
        check_pages(pages)


def test_nothing_on_a_card_is_smaller_than_eight_points(set_in):
    for key, pages in set_in.items():
        assert all(min(size for _, size in page) >= 7.99 for page in pages), key


def items_of(items):
    for item in items:
        yield item
        if isinstance(item, Group):
            yield from items_of(item.items)


def test_what_comes_at_the_table_says_so_and_has_an_open_disc(menu, cards):
    for key, one in menu.items():
        late = {s.put for s in one.dish.steps if s.section == "at_table"}
        now = {s.put for s in one.dish.steps if s.section != "at_table"}
        labels = {
            g.about.component: g
            for g in items_of(cards[key][0].items)
            if isinstance(g, Group) and g.about and g.about.role == "callout"
        }
        assert set(labels) == late | now
        for put, label in labels.items():
            disc = next(i for i in label.items if isinstance(i, Circle))
            only_late = put in late - now
            assert bool(disc.style.dash) == only_late and (disc.style.fill == "#ffffff") == only_late, (key, put)
            assert ("at the table" in " ".join(texts_of(label.items))) == (put in late), (key, put)


def test_a_clock_position_is_explained_where_the_plate_is_not_round(menu, cards):
    for key, one in menu.items():
        said = letters(" ".join(read_back(cards[key])))
        assert (letters(part_rows.NOT_ROUND) in said) == (not one.resolved.plate.is_round), key


def test_the_service_sheet_has_the_cautions_the_fire_times_the_note_and_the_reasons(menu, cards):
    for key, one in menu.items():
        pages = service_sheet.compose(one, "ab")
        check_pages(pages)
        said = letters(" ".join(read_back(pages)))
        card = letters(" ".join(read_back(cards[key])))
        for c in one.cautions:
            assert letters(c.topic) in said and letters("CAUTIONS") in card, key
        assert (letters(one.world.cautioner.rules.general) in said) == bool(one.cautions), key
        assert ("FIRE" in said) == (one.schedule is not None), key
        assert letters(one.dish.note) in said, key
        for s in one.statements:
            for f in (*s.with_presence("contains"), *s.with_presence("may_contain")):
                assert letters(f.in_full) in said and letters(f.reasons[0][-1].words) in said, (key, f.in_full)


# --------------------------------------------------------------------------- no word is lost


INGREDIENTS = (
    "butter",
    "cod",
    "hazelnut",
    "celery",
    "mustard seed",
    "wheat flour",
    "hen egg",
    "sesame seed",
    "mussel",
    "prawn",
    "almond",
    "walnut",
    "rye flour",
    "potato",
    "apple",
    "beef",
    "sunflower oil",
    "oats",
)
LAWS = ("eu", "uk", "us", "ca", "au-nz", "jp", "codex", "ch", "kr", "sg", "hk")


@settings(max_examples=40)
@given(
    st.lists(st.sampled_from(INGREDIENTS), min_size=1, max_size=12, unique=True),
    st.lists(st.sampled_from(LAWS), min_size=1, max_size=5, unique=True),
    st.lists(st.sampled_from(["milk", "peanut", "wheat", "fish"]), max_size=2, unique=True),
    st.sampled_from(["A5 landscape", "A4 portrait", "Letter landscape"]),
    st.integers(0, 3),
    st.integers(0, 1),
)
def test_no_word_of_the_statements_is_lost(ingredients, laws, may, page, late, same):
    """Every allergen under its law as what it is, and what stands outside a law named with that law."""
    components = "".join(
        f"  c{i}: {{ingredient: {name}, called: part {i}{' of a longer name' * (i % 2)}, station:"
        f" {'larder' if i % 2 else 'sauce'}}}\n"
        for i, name in enumerate(ingredients)
    )
    components += "  bought: {product: crisp}\n"
    names = [f"c{i}" for i in range(len(ingredients))] + ["bought"]
    moves = [
        f"  - {{put: {n}, piece: {{shape: disc, size: 9 mm, weight: 1 g}}, at: {{right: {-80 + 13 * i} mm, away: 0"
        f" mm}}, accept: {{{'' if i % 3 else 'place: 5 mm, '}words: fit {i * same}}}}}\n"
        for i, n in enumerate(names)
    ]
    late = min(late, len(moves) - 1)
    spec = (
        "dish: A dish\nrevision: {number: 1, date: 2026-01-31}\nplate:"
        f" wide\ncomponents:\n{components}plating:\n{''.join(moves[: len(moves) - late])}"
    )
    spec += f"at_table:\n{''.join(moves[len(moves) - late :])}" if late else ""
    files = {
        "shared/kitchen.yaml": (
            f"kitchen: Test\nlaws: [{', '.join(laws)}]\ncard: {{page: {page}}}\nstations: {{larder: Larder, sauce:"
            " Sauce and roast}\n"
        ),
        "shared/pantry.yaml": (
            "products:\n  crisp: {called: A crisp, is: potato, label: {read: 2026-01-02, contains: [], may_contain:"
            f" [{', '.join(may)}]}}}}\n"
        ),
    }
    one = prepared(spec, files)
    assert one.dish is not None and one.arrangement is not None
    pages = pages_of(one)
    check_pages(pages)
    whole = letters(" ".join(read_back(pages)))
    for s in one.statements:
        for f in s.findings:
            if f.presence != "not_among_ingredients":
                assert letters(f.declared_as) in whole, (s.law.key, f.declared_as)
        for a in s.also:
            assert letters(a.name) in whole, (s.law.key, a.name)
        assert letters(s.law.name) in whole
    blocks = [g for scene in pages for g in items_of(scene.items) if isinstance(g, Group) and g.title == "Allergens"]
    assert len(blocks) in (1, 2)
    # What is certain stands in other letters than what may be.
    for s in one.statements:
        for presence, word in (("contains", "CONTAINS"), ("may_contain", "MAY CONTAIN")):
            if s.with_presence(presence):
                assert any(t.text == word for b in blocks for t in items_of(b.items) if isinstance(t, Text))
    for step_ in one.dish.steps:
        assert letters(step_.accept.words) in whole
    if len(one.statements) > 2:
        check_table(one.statements, [t for b in blocks for t in items_of(b.items) if isinstance(t, Text)])
        return
    shared = allergen_block._shared(one.statements, established=all(s.established for s in one.statements))
    assert all(letters(line) in whole for line in shared)
    if len(one.statements) > 1:
        check_shared(one.statements, [line for line in shared if line.startswith("For guests who ask")])


def check_table(statements, words: list[Text]) -> None:
    """What stands outside a law has a word of its own in the column of that law, without a box."""
    unboxed = [t for t in words if t.anchor == "middle" and t.face == "regular" and t.text in ("yes", "may", "open")]
    told = [len(s.also) for s in statements if s.also]
    columns = sorted({round(t.x, 3) for t in unboxed})
    assert [sum(round(t.x, 3) == x for t in unboxed) for x in columns] == told


def check_shared(statements, lines: list[str]) -> None:
    """What stands outside each law is said of that law and of no other."""
    chunks = [
        chunk.rsplit(": ", 1)
        for line in lines
        for chunk in re.split(
            r"; not listed by ", line.removeprefix("For guests who ask, not listed by ").removesuffix(".")
        )
    ]
    outside = {
        s.law.name: [
            a.name + {"may_contain": " (may contain)", "not_established": " (not established)"}.get(a.presence, "")
            for a in s.also
        ]
        for s in statements
    }
    everything = {name for names in outside.values() for name in names}
    assert everything or not lines
    for law, names in outside.items():
        mine = [
            text
            for laws, text in chunks
            if laws == "these laws" or re.search(rf"(^|, | and ){re.escape(law)}(, | and | law)", laws)
        ]
        for name in everything:
            is_said = any(re.search(rf"(^|, ){re.escape(name)}(, |$)", text) for text in mine)
            assert is_said == (name in names), (law, name, lines)


def test_the_view_from_the_side_stands_on_the_back_where_there_is_room(menu, cards):
    shown = set()
    for key, one in menu.items():
        pages = pass_card.compose(
            one,
            plate_drawing.number_of(one.dish),
            fingerprint.of(one),
            side=lambda width, height, one=one: side_view.draw(one.arrangement, one.dish, room=(width, height)),
        )
        assert texts_of(pages[0].items) == texts_of(cards[key][0].items), f"{key}: the front stays as it is"
        if any("seen from the guest" in t for t in texts_of(pages[1].items)):
            shown.add(key)
        assert min(t.size_pt for page in pages for t in all_texts(page.items)) >= 8.0 - 1e-9, key
    assert shown == set(menu), "the plate gives it room on every card of the demo kitchen"


def all_texts(items) -> list[Text]:
    return [
        t for i in items for t in ([i] if isinstance(i, Text) else all_texts(i.items) if isinstance(i, Group) else [])
    ]


def texts_of(items) -> list[str]:
    return [t.text for t in all_texts(items)]


def test_what_no_law_lists_and_is_not_established_is_said_to_be_so():
    """Celery stands outside the law of the United States; a doubt about it may not read as if it were not there."""
    spec = (
        "dish: A dish\nrevision: {number: 1, date: 2026-01-31}\nplate: wide\ncomponents:\n"
        "  a: {ingredient: potato}\nplating:\n"
        "  - {put: a, piece: {shape: disc, size: 9 mm, weight: 1 g}, at: centre}\n"
    )
    law, *_ = prepared(spec).statements
    doubted = law._replace(also=(Also("celery", "celery", UNKNOWN, ()),))
    assert wording.outside(doubted) == ("celery (not established)",)
    block = allergen_block.block((doubted,), 80.0)
    assert "celery (not established)" in " ".join(texts_of(block.items))


def test_a_chain_of_reasons_names_each_thing_once():
    def said(*words: str) -> str:
        return wording.chain(tuple(Link(w, None) for w in words))

    assert said("crisp", "Rye crisp", "180 g Rye flour, light", "Rye flour, light", "rye flour (source: EU-A2)") == (
        "crisp > Rye crisp > 180 g Rye flour, light > rye flour (source: EU-A2)"
    )
    assert said("rye crisp", "Rye crisp", "100 g Butter", "butter (source: US-NE)") == (
        "Rye crisp > 100 g butter (source: US-NE)"
    )
    # Only an amount may stand before the name: neither a dish nor a longer word is the thing that it ends with.
    assert said("buttermilk", "milk") == "buttermilk > milk"
    assert said("Pork, black pudding", "black pudding") == "Pork, black pudding > black pudding"
