"""The library's files to a :class:`~platecard.model.Kitchen`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import TypeVar

from platecard import schema
from platecard.diagnostics import Problem, error, warning
from platecard.knowledge import claims, taxonomy
from platecard.model import Cleaned, Gear, Kitchen, Label, Plate, Product, Recipe, RecipeLine, Settings, Supply, Written
from platecard.quantities import shelf_life
from platecard.reading import finish, supply
from platecard.reading.fields import Fields, checked_date, source_of, spelt_out, unprintable
from platecard.reading.written import words
from platecard.schema_words import as_name
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence, parse

Noun = TypeVar("Noun", Recipe, Product, Plate)


def kitchen(files: Iterable[tuple[str, str]], folder: str = "shared") -> tuple[Kitchen, tuple[Problem, ...]]:
    """The kitchen's library from its files: pairs of (path as messages show it, text).

    A file's place says what it holds: ``kitchen.yaml``, ``plates*.yaml``,
    ``pantry*.yaml``, ``recipes/*.yaml``.
    """
    found: list[Problem] = []
    settings = Settings()
    recipes: dict[str, Recipe] = {}
    products: dict[str, Product] = {}
    plates: dict[str, Plate] = {}
    supplies: dict[tuple[str, str], Supply] = {}
    written: list[Written] = []
    unread: set[tuple[str, str]] = set()
    kinds: set[str] = set()
    for path, text in files:
        kind = kind_of(path)
        if kind is None:
            continue
        kinds.add(kind)
        node, problems = parse(text, path)
        found += problems
        if node is None:
            unread.add(_not_read(kind, path))
            continue
        own = schema.check(node, kind, problems)
        undrawn = unprintable(node)
        found += [*undrawn, *own]
        if not isinstance(node, Mapping) or schema.is_beyond(own):
            unread.add(_not_read(kind, path))
            continue
        if kind in _LISTED and not isinstance(node.get(f"{_LISTED[kind]}s"), Mapping):
            unread.add((_LISTED[kind], ""))
        f = Fields(spelt_out(node) if undrawn else node, found)
        if kind != "pantry":
            written += words(
                node, path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0] if kind == "recipe" else ""
            )
        if kind == "kitchen":
            if settings.span is not None:
                found.append(
                    error(
                        "given-twice",
                        node.span,
                        f"the kitchen is already described at {settings.span}",
                        "keep one of the two files",
                    )
                )
                continue
            settings = _settings(f)
        elif kind == "recipe":
            key = path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
            _add(recipes, key, _recipe(f, key), found)
            if said := supply.read(f):
                supplies.setdefault((kind, key), said)
        elif kind == "plates" and isinstance(listed := f.node.get("plates"), Mapping):
            unread |= {("plate", as_name(key)) for key in listed.entries}
            for key, value in listed.entries.items():
                if plate := _plate(Fields(value, found), key):
                    _add(plates, key, plate, found)
                else:
                    unread.add(("plate", key))
        elif kind == "pantry" and isinstance(listed := f.node.get("products"), Mapping):
            unread |= {("product", as_name(key)) for key in listed.entries}
            for key, value in listed.entries.items():
                _add(products, key, _product(Fields(value, found), key), found)
                if said := supply.read(Fields(value, found)):
                    supplies.setdefault(("product", key), said)
    made = Kitchen(
        settings, recipes, products, plates, folder, supplies, tuple(written), frozenset(unread), frozenset(kinds)
    )
    return made, tuple(found)


# What the files of these kinds list.
_LISTED = {"plates": "plate", "pantry": "product"}


def _not_read(kind: str, path: str) -> tuple[str, str]:
    """What a file that could not be read may hold: one recipe, or any number of plates or products."""
    if kind == "recipe":
        return kind, path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
    return _LISTED.get(kind, kind), ""


def kind_of(path: str) -> str | None:
    """Which schema a file of the library follows, by its name; None for a file that is not the kitchen's."""
    parts = path.replace("\\", "/").split("/")
    name = parts[-1].lower()
    if not name.endswith((".yaml", ".yml")):
        return None
    if "recipes" in map(str.lower, parts[1:-1]):
        return "recipe"
    stem = name.rsplit(".", 1)[0]
    return (
        "kitchen"
        if stem == "kitchen"
        else "plates"
        if stem.startswith("plates")
        else "pantry"
        if stem.startswith("pantry")
        else None
    )


def _add(where: dict[str, Noun], key: str, value: Noun, found: list[Problem]) -> None:
    if key in where:
        found.append(
            error(
                "given-twice",
                value.span,
                f"'{key}' is already given at {where[key].span}",
                "keep one, or give the other another key",
            )
        )
    else:
        where[key] = value


def _settings(f: Fields) -> Settings:
    def pairs(key: str) -> tuple[tuple[str, str], ...]:
        node = f.node.get(key)
        if not isinstance(node, Mapping):
            # The schema has reported it; its words are still the names that recipes use.
            return tuple((word, word) for said in f.words(key) for word in re.split(r",\s*", said))
        inner = f.sub(key)
        return tuple(
            (k, inner.sub(k).text("called", k) if isinstance(v, Mapping) else inner.text(k, k))
            for k, v in node.entries.items()
        )

    card, equipment = f.sub("card"), f.sub("equipment")
    age = f.amount("label_age", "time")
    kept = tuple(
        (k, equipment.sub(k).words("only_for"), equipment.node.keys[k])
        for k in equipment.node.entries
        if equipment.sub(k).words("only_for")
    )
    return Settings(
        f.text("kitchen", "Kitchen"),
        _laws(f) or ("eu",),
        f.span("laws"),
        card.text("page", "A5 landscape"),
        card.text("language", "en-GB"),
        stations=pairs("stations"),
        equipment=pairs("equipment"),
        span=f.node.span,
        card_allergens=card.text("allergens", "each"),
        label_days=int(age.mean / 86400) if age else None,
        only_for=kept,
        food_code=f.words("food_code"),
        gear=tuple(_gear(k, equipment.sub(k)) for k in equipment.node.entries),
        amounts=f.text("amounts", "metric"),
        labels_printed_for=f.words("labels_printed_for"),
        labels_printed_for_span=f.span("labels_printed_for") if "labels_printed_for" in f else None,
        guest_languages=f.words("guest_languages"),
        guest_languages_span=f.span("guest_languages") if "guest_languages" in f else None,
        place=f.text("place"),
        place_span=f.span("place") if "place" in f else None,
        laws_checked=f.text("laws_checked"),
        laws_checked_span=f.span("laws_checked") if "laws_checked" in f else None,
    )


def _laws(f: Fields) -> tuple[str, ...]:
    """The laws in force; those of a text that should have been a list, which the schema has reported, too."""
    said = f.node.get("laws")
    return (
        tuple(re.split(r"[,;\s]+", f.text("laws"))) if isinstance(said, Scalar) and f.text("laws") else f.words("laws")
    )


def _gear(key: str, f: Fields) -> Gear:
    return Gear(key, max(1, f.whole("holds", 1)), f.true("own_heat"), not f.false("touches"), _cleaned(f))


def _cleaned(f: Fields) -> Cleaned | None:
    """Cleaning between uses; None unless it is stated in full, which the schema has asked for."""
    if not isinstance(f.node.get("cleaned"), Mapping):
        return None
    said = f.sub("cleaned")
    how, by, checked = said.text("how"), said.text("by"), checked_date(said, "checked")
    is_a_day = re.fullmatch(r"\d{4}-\d{2}-\d{2}", checked) and not any(
        p.span == said.span("checked") for p in f.problems
    )
    is_whole = said.text("between") == "each use" and how and by and is_a_day
    return Cleaned(how, by, checked, f.node.keys["cleaned"]) if is_whole else None


_BOARD_EDGE_MM = 10  # what stays bare at the edge of a board; practice


def _plate(f: Fields, key: str) -> Plate | None:
    form, depth = f.text("form"), f.positive_mm("depth")
    sided = form in ("oval", "rectangle", "board")
    outer = f.sides("outer", sided)
    if form == "board" and "well" not in f and outer is not None:
        wide, far = (max(s - 2 * _BOARD_EDGE_MM, s / 2) for s in outer)
        well: tuple[Fraction, Fraction] | None = (wide, far)
    else:
        well = f.sides("well", sided)
    if outer is None or well is None:
        return None
    if any(w > o for w, o in zip(well, outer)):
        f.problems.append(
            error(
                "well-over-outer",
                f.span("well"),
                f"the well of '{key}' is wider than the plate",
                "measure both again: well is the flat part inside the rim, outer goes from rim to rim",
            )
        )
        return None
    corner = Fraction(0)
    if "corner" in f and form not in ("rectangle", "board"):
        f.problems.append(
            error(
                "key-not-used",
                f.span("corner"),
                f"'corner' is not used with form: {form}",
                "use it with form: rectangle or form: board",
            )
        )
    elif "corner" in f:
        corner = f.mm("corner") or Fraction(0)
        if corner > min(outer) / 2:
            f.problems.append(
                error(
                    "corner-too-large",
                    f.span("corner"),
                    f"the corners of '{key}' are rounder than the plate is wide",
                    "make it at most half the shorter side",
                )
            )
            corner = min(outer) / 2
    return Plate(
        key,
        f.text("called", key),
        form,
        outer[0],
        well[0],
        f.node.span,
        depth,
        f.text("colour"),
        outer[1] if sided else None,
        well[1] if sided else None,
        corner,
        f.span("colour"),
    )


def _level(text: str, said: Fields, density: Fraction | None) -> Fraction | None:
    """A level of sulphites in mg/kg; one given by the litre needs the product's density."""
    match = re.fullmatch(r"(\d{1,5}(?:\.\d{1,6})?)\s*(mg\s*/\s*kg|mg\s*/\s*l|ppm)", text)
    if not match:
        said.problems.append(
            error("amount", said.span("sulphites"), f"'{text}' is not a level of sulphites", "write it as in 12 mg/kg")
        )
        return None
    if not match.group(2).endswith("l"):
        return Fraction(match.group(1))
    if density is None:
        said.problems.append(
            error(
                "level-by-the-litre",
                said.span("sulphites"),
                f"'{text}' is per litre, and the product has no density",
                "give the level in mg/kg, or the product's density",
            )
        )
        return None
    return Fraction(match.group(1)) / density


def _product(f: Fields, key: str) -> Product:
    either = f.placed_words("either")
    for other in ("is", "label") if either else ():
        if other in f:
            f.problems.append(
                error(
                    "either-or",
                    f.span(other),
                    f"'{key}' may be any of several products, so '{other}' belongs to each of them",
                    "move it to each of the products named under 'either'",
                )
            )
    called = f.text("called", key)
    density, piece = f.density("density"), f.positive_grams("piece", "piece")
    parts, unread = supply.parts(f, piece, density)
    label = _label(f, key, density)
    return Product(
        key,
        called,
        f.node.span,
        f.text("is"),
        f.span("is") if "is" in f else None,
        f.words("also"),
        label,
        f.text("supplier"),
        f.text("code"),
        density,
        piece,
        parts,
        unread,
        claims.shown(called) if claims.find(called, as_name=True) else "",
        either,
        # A label that is there and was not read has been reported, as have its keys where they are not its own.
        label is None and any(k in f for k in ("label", "contains", "may_contain")),
    )


def _words_of_lists(label: Node) -> Iterator[Scalar]:
    """The words of a label's two lists."""
    for key in ("contains", "may_contain"):
        listed = label.get(key) if isinstance(label, Mapping) else None
        yield from (item for item in listed.items if isinstance(item, Scalar)) if isinstance(listed, Sequence) else ()


def _names_more(comment: str, label: Node) -> bool:
    """Whether a word of a comment names an allergen that the label's lists do not."""
    tree = taxonomy.load()[0]
    listed = {node for word in _words_of_lists(label) if (node := tree.find(word.text))}
    named = {node for word in re.findall(r"[^\W\d_]+", comment) if (node := tree.find(word))}
    return any(not any(tree.is_under(one, node) or tree.is_under(node, one) for one in listed) for node in named)


def _label(f: Fields, key: str, density: Fraction | None) -> Label | None:
    """The label of a product; a label with neither a list of what it contains nor its text settles nothing."""
    if not isinstance(f.node.get("label"), Mapping):
        return None
    said = f.sub("label")
    level = said.text("sulphites")
    mg_kg = _level(level, said, density) if level else None
    is_unread = mg_kg is None and bool(said.written_as("sulphites"))
    lists = tuple(k for k in ("contains", "may_contain") if isinstance(said.node.get(k), Sequence))
    text, whole = said.text("text"), said.true("read_whole")
    written = said.node.get("text")
    for word in _words_of_lists(said.node):
        if _names_more(word.comment, said.node):
            said.problems.append(
                error(
                    "label-cut-off",
                    word.span,
                    f"an allergen stands in a comment beside '{word.text}': '{word.comment}' is not read",
                    "write it into the list, or put the comment on a line of its own",
                )
            )
            return None
    if (
        isinstance(written, Scalar)
        and written.comment
        and (not written.quoted or _names_more(written.comment, said.node))
    ):
        said.problems.append(
            error(
                "label-cut-off",
                written.span,
                f"the label's text ends before the #: '{written.comment}' is taken for a comment and would not be read",
                "put the whole text in quotes",
            )
        )
        return None
    if "contains" not in lists and not text and said.written_as("contains"):
        return None  # what it contains is written, but not as a list, which has been reported
    if "contains" not in lists and not text:
        said.problems.append(
            error(
                "label-says-nothing",
                said.node.span,
                f"the label of '{key}' has neither a list of what it contains nor its text",
                "add text: with the ingredients as printed, or contains: [...]",
            )
        )
        return None
    if whole and "contains" not in lists:
        said.problems.append(
            error(
                "read-whole-without-list",
                said.span("read_whole"),
                "'read_whole' lets the label's lists decide, but it has none",
                "add contains: [...], with [] if the label states none",
            )
        )
        whole = False
    return Label(
        said.node.span,
        checked_date(said, "read"),
        said.placed_words("contains"),
        said.placed_words("may_contain"),
        text,
        said.span("text") if text else None,
        mg_kg,
        is_unread,
        lists,
        said.placed_words("means_nothing"),
        whole,
        said.words("printed_for"),
        said.span("printed_for") if "printed_for" in said else None,
        checked_date(said, "maker_asked") if "maker_asked" in said else "",
    )


def _is_amount_lost(line: Fields) -> bool:
    """Whether a line states an amount that could not be read: that is told, and nothing is worked out without it."""
    if "amount" not in line:
        return False
    place = line.span("amount")
    return any(p.is_error and p.span is not None and p.span[:3] == place[:3] for p in line.problems)


def _recipe(f: Fields, key: str) -> Recipe:
    lines = f.node.get("ingredients")
    supply.check_method(f)
    made = f.amount("makes", "mass", "volume", "count")
    if made is not None and made.low <= 0:
        f.problems.append(
            error(
                "makes-nothing",
                f.span("makes"),
                f"'{key}' makes {'perhaps ' if made.high else ''}nothing",
                "give the finished yield",
            )
        )
        made = None
    each = f.positive_grams("each", "piece")
    if each is not None and made is not None and made.kind != "count":
        f.problems.append(
            error(
                "key-not-used",
                f.span("each"),
                f"'each' is the weight of one piece, but '{key}' makes {made.text}",
                "write how many it makes, for example makes: 12 pieces; or delete it",
            )
        )
    return Recipe(
        key=key,
        called=f.text("recipe", key),
        span=f.node.place("recipe"),
        makes=made,
        makes_span=f.span("makes"),
        lines=tuple(
            _line(Fields(i, f.problems))
            for i in (lines.items if isinstance(lines, Sequence) else ())
            if isinstance(i, Mapping)
        ),
        method=f.words("method"),
        station=f.text("station"),
        equipment=f.words("equipment"),
        made_ahead=f.text("made_ahead"),
        keeps=f.text("keeps"),
        density=f.density("density"),
        takes_up_water=f.true("takes_up_water"),
        handling=finish.handling(f),
        left_behind=supply.left_behind(f),
        station_span=f.span("station"),
        equipment_span=f.span("equipment"),
        each_g=each,
        ahead=_lasting(f, "made_ahead"),
        keeping=_lasting(f, "keeps"),
        only_named=f.placed_words("only_named"),
        is_whole=isinstance(lines, Sequence)
        and all(isinstance(i, Mapping) and not _is_amount_lost(Fields(i, f.problems)) for i in lines.items),
    )


def _lasting(f: Fields, key: str) -> shelf_life.Lasting:
    """How far ahead it is made, or how long it keeps; what could not be read is reported, and counts against the food.

    The schema has reported a key that is misspelt or holds no text; it still counts as something said.
    """
    given = f.written_as(key)
    if not given:
        return shelf_life.NOT_SAID
    said = shelf_life.read(f.text(given) or "not stated", key)
    if said.unread and f.text(given) and not any(p.span == f.span(given) for p in f.problems):
        f.problems.append(
            warning(
                f"{key.replace('_', '-')}-unread",
                f.span(given),
                f"'{given}': '{said.unread}' could not be read, so it counts as the longest time, "
                "and as neither dry nor frozen",
                shelf_life.FORMS[key],
                "put anything else into the method",
            )
        )
    return said


def _line(f: Fields) -> RecipeLine:
    stays = f.amount("stays", "share")
    if stays and stays.mean > 1:
        f.problems.append(error("share-over-one", f.span("stays"), "no more than 100 % can stay"))
        stays = None
    return RecipeLine(
        source_of(f, "this line"),
        f.node.span,
        f.amount_above_zero("amount", "mass", "volume", "count", "unmeasured"),
        f.span("amount") if "amount" in f else None,
        stays.mean if stays else Fraction(1),
        f.text("note"),
        handling=finish.handling(f),
        trim_yield=supply.trim_yield(f),
        reused=f.true("reused"),
    )
