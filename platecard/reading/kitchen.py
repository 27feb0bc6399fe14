"""The library's files to a :class:`~platecard.model.Kitchen`."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from .. import schema
from ..model import Gear, Kitchen, Label, Plate, Product, Recipe, RecipeLine, Settings, Supply
from ..nodes import Mapping, Sequence, parse
from ..problems import Problem, error
from . import finish, supply
from .fields import Fields, checked_date, source_of, spelt_out, unprintable


def kitchen(files: Iterable[tuple[str, str]], folder: str = "shared") -> tuple[Kitchen, tuple[Problem, ...]]:
    """The kitchen's library from its files: pairs of (path shown in messages, text).

    What a file holds is told by its place: ``kitchen.yaml``, ``plates*.yaml``,
    ``pantry*.yaml``, ``recipes/*.yaml``.
    """
    found: list[Problem] = []
    settings = Settings()
    recipes: dict[str, Recipe] = {}
    products: dict[str, Product] = {}
    plates: dict[str, Plate] = {}
    supplies: dict[tuple[str, str], Supply] = {}
    for path, text in files:
        kind = kind_of(path)
        if kind is None:
            continue
        node, problems = parse(text, path)
        found += problems
        if node is None:
            continue
        own = schema.check(node, kind)
        undrawn = unprintable(node)
        found += [*undrawn, *own]
        if not isinstance(node, Mapping) or schema.is_beyond(own):
            continue
        f = Fields(spelt_out(node) if undrawn else node, found)
        if kind == "kitchen":
            if settings.span is not None:
                found.append(error("given-twice", node.span, f"the kitchen is already described at {settings.span}", "keep one of the two files"))
                continue
            settings = _settings(f)
        elif kind == "recipe":
            key = path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
            _add(recipes, key, _recipe(f, key), found)
            if said := supply.read(f):
                supplies.setdefault((kind, key), said)
        elif kind == "plates" and isinstance(f.node.get("plates"), Mapping):
            for key, value in f.node.get("plates").entries.items():
                if plate := _plate(Fields(value, found), key):
                    _add(plates, key, plate, found)
        elif kind == "pantry" and isinstance(f.node.get("products"), Mapping):
            for key, value in f.node.get("products").entries.items():
                _add(products, key, _product(Fields(value, found), key), found)
                if said := supply.read(Fields(value, found)):
                    supplies.setdefault(("product", key), said)
    return Kitchen(settings, recipes, products, plates, folder, supplies), tuple(found)


def kind_of(path: str) -> str | None:
    """Which schema a file of the library follows, by its name; None for a file that is not ours."""
    parts = path.replace("\\", "/").split("/")
    name = parts[-1].lower()
    if not name.endswith((".yaml", ".yml")):
        return None
    if "recipes" in map(str.lower, parts[1:-1]):
        return "recipe"
    stem = name.rsplit(".", 1)[0]
    return "kitchen" if stem == "kitchen" else "plates" if stem.startswith("plates") else "pantry" if stem.startswith("pantry") else None


def _add(where: dict, key: str, value, found: list[Problem]) -> None:
    if key in where:
        found.append(error("given-twice", value.span, f"'{key}' is already given at {where[key].span}", "keep one, or give the other another key"))
    else:
        where[key] = value


def _settings(f: Fields) -> Settings:
    def pairs(key: str) -> tuple[tuple[str, str], ...]:
        node = f.node.get(key)
        if not isinstance(node, Mapping):
            return ()
        inner = f.sub(key)
        return tuple((k, inner.sub(k).text("called", k) if isinstance(v, Mapping) else inner.text(k, k)) for k, v in node.entries.items())

    card, equipment = f.sub("card"), f.sub("equipment")
    age = f.amount("label_age", "time")
    kept = tuple((k, equipment.sub(k).words("only_for"), equipment.node.keys[k]) for k in equipment.node.entries if equipment.sub(k).words("only_for"))
    return Settings(f.text("kitchen", "Kitchen"), f.words("laws") or ("eu",), f.span("laws"), card.text("page", "A5 landscape"),
                    card.text("language", "en-GB"), stations=pairs("stations"), equipment=pairs("equipment"), span=f.node.span,
                    card_allergens=card.text("allergens", "each"), label_days=int(age.mean / 86400) if age else None, only_for=kept,
                    food_code=f.words("food_code"), gear=tuple(_gear(k, equipment.sub(k)) for k in equipment.node.entries),
                    amounts=f.text("amounts", "metric"))


def _gear(key: str, f: Fields) -> Gear:
    return Gear(key, max(1, f.whole("holds", 1)), f.true("own_heat"), not f.false("touches"))


_BOARD_EDGE_MM = 10  # what stays bare at the edge of a board; practice


def _plate(f: Fields, key: str) -> Plate | None:
    form, depth = f.text("form"), f.positive_mm("depth")
    sided = form in ("oval", "rectangle", "board")
    outer = f.sides("outer", sided)
    if form == "board" and "well" not in f and outer is not None:
        well = tuple(max(s - 2 * _BOARD_EDGE_MM, s / 2) for s in outer)
    else:
        well = f.sides("well", sided)
    if outer is None or well is None:
        return None
    if any(w > o for w, o in zip(well, outer)):
        f.problems.append(error("well-over-outer", f.span("well"), f"the well of '{key}' is wider than the plate"))
        return None
    corner = Fraction(0)
    if "corner" in f and form not in ("rectangle", "board"):
        f.problems.append(error("key-not-used", f.span("corner"), f"'corner' means nothing for form: {form}", "it belongs to rectangle, board"))
    elif "corner" in f:
        corner = f.mm("corner") or Fraction(0)
        if corner > min(outer) / 2:
            f.problems.append(error("corner-too-large", f.span("corner"), f"the corners of '{key}' are rounder than the plate is wide",
                                    "at most half the shorter side"))
            corner = min(outer) / 2
    return Plate(key, f.text("called", key), form, outer[0], well[0], f.node.span, depth, f.text("colour"),
                 *((outer[1], well[1]) if sided else (None, None)), corner, f.span("colour"))


def _level(text: str, said: Fields, density: Fraction | None) -> Fraction | None:
    """A level of sulphites as mg/kg; one by the litre needs to know what a litre weighs."""
    match = re.fullmatch(r"(\d{1,5}(?:\.\d{1,6})?)\s*(mg\s*/\s*kg|mg\s*/\s*l|ppm)", text)
    if not match:
        said.problems.append(error("amount", said.span("sulphites"), f"'{text}' is not a level of sulphites", "for example 12 mg/kg"))
        return None
    if not match.group(2).endswith("l"):
        return Fraction(match.group(1))
    if density is None:
        said.problems.append(error("level-by-the-litre", said.span("sulphites"), f"'{text}' is by the litre, and the product has no density",
                                   "give the level in mg/kg, or the product's density"))
        return None
    return Fraction(match.group(1)) / density


def _product(f: Fields, key: str) -> Product:
    label = None
    if isinstance(f.node.get("label"), Mapping):
        said = f.sub("label")
        level = said.text("sulphites")
        mg_kg = _level(level, said, f.number("density")) if level else None
        # Without a list of what it contains, a label settles nothing.
        if isinstance(said.node.get("contains"), Sequence):
            label = Label(said.node.span, checked_date(said, "read"), said.placed_words("contains"), said.placed_words("may_contain"),
                          said.text("text"), said.span("text") if "text" in said else None, mg_kg)
    return Product(key, f.text("called", key), f.node.span, f.text("is"), f.span("is") if "is" in f else None, f.words("also"), label,
                   f.text("supplier"), f.text("code"), f.number("density"), f.grams("piece"), supply.parts(f))


def _recipe(f: Fields, key: str) -> Recipe:
    lines = f.node.get("ingredients")
    supply.check_method(f)
    made = f.amount("makes", "mass", "volume", "count")
    if made is not None and made.mean <= 0:
        f.problems.append(error("makes-nothing", f.span("makes"), f"'{key}' makes nothing", "say the finished yield"))
        made = None
    return Recipe(
        key=key, called=f.text("recipe", key), span=f.node.place("recipe"), makes=made, makes_span=f.span("makes"),
        lines=tuple(_line(Fields(i, f.problems)) for i in (lines.items if isinstance(lines, Sequence) else ()) if isinstance(i, Mapping)),
        method=f.words("method"), station=f.text("station"), equipment=f.words("equipment"), made_ahead=f.text("made_ahead"),
        keeps=f.text("keeps"), density=f.number("density"), takes_up_water=f.true("takes_up_water"), handling=finish.handling(f),
        left_behind=supply.left_behind(f), station_span=f.span("station"), equipment_span=f.span("equipment"))


def _line(f: Fields) -> RecipeLine:
    stays = f.amount("stays", "share")
    if stays and stays.mean > 1:
        f.problems.append(error("share-over-one", f.span("stays"), "more than 100 % cannot stay"))
        stays = None
    return RecipeLine(source_of(f, "this line"), f.node.span, f.amount("amount", "mass", "volume", "count", "unmeasured"),
                      f.span("amount") if "amount" in f else None, stays.mean if stays else Fraction(1), f.text("note"), handling=finish.handling(f),
                      trim_yield=supply.trim_yield(f), reused=f.true("reused"))
