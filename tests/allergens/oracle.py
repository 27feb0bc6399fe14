"""A second way to the same answers: no code of the engine, everything written out.

Reads the law, catalogue and taxonomy files and the kitchen's texts with plain YAML,
expands every recipe into its full list of ingredients again and again, and keeps
sets of (node, state, form).  Slow and simple on purpose.  The one thing it shares
with the engine is the meaning of the files, which ``platecard/data/README.md`` says.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from itertools import product
from pathlib import Path

import yaml

CONTAINS, MAY, UNKNOWN, ABSENT = "contains", "may_contain", "not_established", "not_among_ingredients"
STRENGTH = {CONTAINS: 3, UNKNOWN: 2, MAY: 1, ABSENT: 0}
DATA = Path(__file__).parents[2] / "platecard" / "data"
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read(text: str):
    return yaml.load(text, Loader=_LOADER)


@lru_cache(maxsize=50_000)
def plain(word: str) -> str:
    """A name without case, accents, marks and plural endings."""
    bare = "".join(
        c
        for c in unicodedata.normalize("NFKD", word.lower().replace("œ", "oe").replace("'", ""))
        if not unicodedata.combining(c)
    )
    return " ".join(_one(w) for w in re.findall(r"[a-z0-9]+", bare))


def _one(word: str) -> str:
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")) else word


# --------------------------------------------------------------------------- the books


@cache
def taxonomy() -> dict:
    return read((DATA / "taxonomy.yaml").read_text(encoding="utf-8"))


@cache
def parents() -> dict[str, str]:
    return {n["id"]: n.get("under", "") for n in taxonomy()["nodes"]}


@cache
def up(node: str) -> tuple[str, ...]:
    """The node and all above it."""
    return (node, *up(parents()[node])) if node else ()


@cache
def node_words() -> dict[str, str]:
    found: dict[str, str] = {}
    for n in taxonomy()["nodes"]:
        for word in (n["id"].replace("_", " "), *n["name"].values(), *n.get("also", ())):
            found.setdefault(plain(word), n["id"])
    return found


@cache
def guests() -> dict:
    return read((DATA / "guests.yaml").read_text(encoding="utf-8"))


@cache
def sayings() -> dict[str, dict]:
    return {plain(word): row for row in guests()["sayings"] for word in row["say"]}


@cache
def names() -> dict[str, str]:
    """What else guests call a saying, a kind or an allergen."""
    made = read((DATA / "guest-names.yaml").read_text(encoding="utf-8"))["names"]
    return {plain(word): plain(target) for target, row in made.items() for words in row.values() for word in words}


@cache
def food() -> dict[str, dict]:
    return {k["id"]: k for k in read((DATA / "kinds.yaml").read_text(encoding="utf-8"))["kinds"]}


@cache
def food_words() -> dict[str, str]:
    found: dict[str, str] = {}
    for k in food().values():
        for word in (k["id"].replace("_", " "), k.get("name", ""), *k.get("also", ())):
            found.setdefault(plain(word), k["id"])
    return found


@cache
def over(kind: str) -> frozenset[str]:
    """A food kind with all that it is one of."""
    return frozenset({kind}).union(*(over(k) for k in listed(food()[kind].get("under"))))


@cache
def from_(kind: str) -> frozenset[str]:
    """A food kind with all that it is one of or made from."""
    return frozenset({kind}).union(
        *(from_(k) for k in listed(food()[kind].get("under")) + food()[kind].get("made_of", []))
    )


@cache
def under(kind: str) -> frozenset[str]:
    return frozenset(k for k in food() if kind in from_(k))


@cache
def is_group(kind: str) -> bool:
    return any(kind in listed(k.get("under")) for k in food().values())


@cache
def entries() -> tuple[dict, ...]:
    return tuple(
        e for f in sorted((DATA / "catalogue").glob("*.yaml")) for e in read(f.read_text(encoding="utf-8"))["entries"]
    )


@cache
def entry_of() -> dict[str, dict]:
    return {plain(name): e for e in entries() for name in (e["name"], *e.get("also", ()))}


def every_law() -> set[str]:
    """The keys of all laws on file."""
    return {path.stem for path in (DATA / "laws").glob("*.yaml")}


@cache
def law(key: str) -> dict:
    book = read((DATA / "laws" / f"{key}.yaml").read_text(encoding="utf-8"))
    if "exceptions_of" in book:
        others = law(book["exceptions_of"]["law"])["exemptions"]
        book["exemptions"] = [{**e, "effect": "unsettled", "mark": book["exceptions_of"]["mark"]} for e in others]
    return book


def near(one: str, other: str) -> bool:
    """Whether one node is the other, or one of its kinds, or what it is a kind of."""
    return one in up(other) or other in up(one)


def required(key: str, in_force: list[str]) -> set[str]:
    """What a label printed for a law has to name: what that law makes mandatory, and not from memory alone.

    Sulphites that are only named where they were added do not answer a law that counts natural ones too.
    """
    book = law(key)
    counts_natural = any(not law(k)["sulphites"]["only_added"] for k in in_force if "sulphites" in law(k))
    has_rule = "sulphites" in book and not (book["sulphites"]["only_added"] and counts_natural)
    found = {"sulphite"} if has_rule else set()
    for g in book["groups"]:
        if g.get("level", "mandatory") == "mandatory":
            marks = g.get("marks", {})
            found |= {n for n in g["nodes"] if marks.get(n, g.get("mark", book["mark"])) != "memory"}
    return found


# --------------------------------------------------------------------------- the kitchen


class Kitchen:
    """The texts of a library and of a menu (key → spec), read plainly."""

    def __init__(self, files: dict[str, str], menu: dict[str, str]):
        self.settings = read(files["shared/kitchen.yaml"])
        self.recipes = {Path(p).stem: read(t) for p, t in files.items() if "/recipes/" in p}
        self.products = read(files["shared/pantry.yaml"])["products"]
        self.menu = {k: read(t) for k, t in menu.items()}
        self._traces: dict[str, set[tuple[str, str, str]]] = {}

    @property
    def laws(self) -> list[str]:
        return self.settings["laws"]

    @property
    def printed_for(self) -> list[str]:
        """The laws that labels are printed for if they do not say."""
        return listed(self.settings.get("labels_printed_for")) or self.laws[:1]

    # ----- what a source is, expanded to its last ingredient

    def leaf(self, kind: str, name: str) -> tuple:
        """("entry", e), ("product", p, e or None) or ("unknown",)."""
        if kind == "ingredient":
            same = [
                k
                for k, p in self.products.items()
                if plain(name) in {plain(n) for n in (k, p["called"], *p.get("also", ()))}
            ]
            if len(same) == 1:
                return self.leaf("product", same[0])
            e = entry_of().get(plain(name))
            return ("entry", e) if e and not same else ("unknown",)
        p = self.products.get(name)
        if p is None or ("is" in p and plain(p["is"]) not in entry_of()):
            return ("unknown",)
        return ("product", p, entry_of()[plain(p["is"])] if "is" in p else None)

    def leaves(self, source: dict, inside: tuple[str, ...] = ()) -> list[tuple]:
        """(leaf, name as written) of everything that ends up in ``source``."""
        kind, name = said(source)
        if kind != "recipe":
            return [(self.leaf(kind, name), name)]
        if name not in self.recipes or name in inside:
            return [(("unknown",), name)]
        return [x for line in self.recipes[name]["ingredients"] for x in self.leaves(line, (*inside, name))]

    def nodes_in(self, source: dict) -> set[tuple[str, str, str]]:
        return {s for one, _ in self.leaves(source) for s in states(one) | self.unsaid(one)}

    def unsaid(self, one: tuple) -> set[tuple[str, str, str]]:
        """What a law in force lists, the laws that a label was printed for do not require, and the food leaves open.

        Nor do they require what they may exempt in the form in which the food may hold it.
        """
        if one[0] != "product" or "label" not in one[1]:
            return set()
        printed = listed(one[1]["label"].get("printed_for")) or self.printed_for
        must = {n for key in printed for n in required(key, self.laws)}
        asked = {n for key in self.laws for g in law(key)["groups"] for n in g["nodes"]}
        if level(one[1]["label"]) is None and any("sulphites" in law(key) for key in self.laws):
            asked.add("sulphite")
        open_ = ["any"] if one[2] is None else listed(one[2].get("depends"))
        forms = (one[2] or {}).get("form", {})
        let_off = {
            (n, UNKNOWN, f)
            for n, f in forms.items()
            if n not in one[2].get("contains", ())
            and ("any" in open_ or n in open_)
            and any(near(n, m) for m in asked)
            and not any(
                any(near(n, m) for m in required(key, self.laws)) and not exemption(law(key), n, f) for key in printed
            )
        }
        return let_off | {
            (n, UNKNOWN, "")
            for n in asked
            if not any(a in must for a in up(n))
            and not any(n in up(m) for m in must)
            and any(d == "any" or d in up(n) or n in up(d) for d in open_)
        }

    def through(self, component: dict) -> list[tuple[str, dict]]:
        """(equipment, what goes through it) of a component and of each recipe in it."""
        found = [(e, component) for e in listed(component.get("equipment"))]
        todo = [component]
        while todo:
            kind, name = said(todo.pop())
            if kind == "recipe" and name in self.recipes:
                found += [(e, {"recipe": name}) for e in listed(self.recipes[name].get("equipment"))]
                todo += self.recipes[name]["ingredients"]
        return found

    @cached_property
    def offered(self) -> list[tuple[str, str, dict]]:
        """(dish, component, what it is made of) over the menu, with what may stand in for it, for some other guest."""
        found = []
        for dish, spec in self.menu.items():
            for name, usual in spec["components"].items():
                rest = {k: v for k, v in usual.items() if k not in ("recipe", "product", "ingredient")}
                offered = usual.get("swap", [])
                found += [
                    (dish, name, c)
                    for c in (
                        usual,
                        *({**rest, **s["use"]} for s in (offered if isinstance(offered, list) else [offered])),
                    )
                ]
        return found

    @cached_property
    def carried(self) -> set[tuple[str, str]]:
        """(from, to) wherever something on the menu goes through one piece of equipment with what it has from another.

        A recipe has been through its own equipment before it goes into anything, and has none of what comes later.
        """
        found = set()
        for _, _, component in self.offered:
            for to, thing in self.through(component):
                found |= {(e, to) for e, _ in self.through(thing)}
        return found

    # ----- a plate: key → component, as written or changed for a guest

    def plate(self, key: str) -> dict[str, dict]:
        return self.menu[key]["components"]

    def shares(self, key: str, plate: dict[str, dict]) -> list[tuple[str, str, dict]]:
        """(dish, component, thing) of everything that shares equipment with the plate, or with what has been there
        before, to the end.

        A component hands nothing on to itself; what is served in its place is another thing.
        """
        found = []
        for part, component in plate.items():
            mine: set[str] = set()
            more = {e for e, _ in self.through(component)}
            while more:
                mine |= more
                more = {e for e, to in self.carried if to in mine} - mine
            for other, name, theirs in self.offered:
                if (other, name) != (key, part) or said(theirs) != said(component):
                    found += [(other, name, thing) for e, thing in self.through(theirs) if e in mine]
        return found

    def traces(self, key: str, plate: dict[str, dict] | None = None) -> set[tuple[str, str, str]]:
        if plate is None:
            if key not in self._traces:
                self._traces[key] = self.traces(key, self.plate(key))
            return self._traces[key]
        own = {s for c in plate.values() for s in self.nodes_in(c)}
        handed = {
            (n, UNKNOWN if s == UNKNOWN else MAY, f)
            for _, _, thing in self.shares(key, plate)
            for n, s, f in self.nodes_in(thing)
            if n != "sulphite"
        }
        return own | handed

    # ----- grams

    def batch_grams(self, name: str) -> Fraction | None:
        """The finished batch's mass where somebody has said it."""
        made = amount(self.recipes[name].get("makes"))
        return grams(made, number(self.recipes[name].get("density")))

    def balance(self, name: str) -> tuple[Fraction, bool, Fraction]:
        """(the most a batch can weigh, whether what it is said to make is borne out, the most by what is weighed): it
        takes up to twenty times its weight of water.
        """
        r = self.recipes[name]
        lines = [
            (line, amount(line.get("amount")), *self.used(line, amount(line.get("amount"))))
            for line in r["ingredients"]
        ]
        weighed = sum((mass for _, _, mass, _ in lines if mass is not None), Fraction(0))
        most = weighed
        for line, how_much, mass, share in lines:
            if mass is None and "recipe" in line and share is not None:
                most += share * self.balance(line["recipe"])[0]
            elif mass is None:
                one = self.leaf(*said(line)) if "recipe" not in line else ("unknown",)
                liquid = one[0] != "unknown" and one[-1] is not None and one[-1].get("liquid")
                open_end = max(weighed * (10 if liquid else 1), 250)
                most += (
                    2 * how_much[1]
                    if how_much and how_much[0] == "ml"
                    else 10000 * how_much[1]
                    if how_much
                    else open_end
                )
        water = Fraction(101, 100) * (20 if r.get("takes_up_water") else 1)
        made = self.batch_grams(name)
        if made is not None and made <= weighed * water:
            return made, True, made
        return most * water, made is None, weighed * water

    def used(self, source: dict, how_much) -> tuple[Fraction | None, Fraction | None]:
        """(grams, share of the batch) of ``how_much`` of a source."""
        kind, name = said(source)
        if kind == "recipe" and name in self.recipes:
            r = self.recipes[name]
            made, mass = amount(r.get("makes")), grams(how_much, number(r.get("density")))
            share = how_much[1] / made[1] if made and how_much and made[0] == how_much[0] else None
            whole = self.batch_grams(name)
            if share is None and mass is not None and whole:
                share = mass / whole
            if mass is None and share is not None and whole is not None:
                mass = share * whole
            return mass, share
        one = self.leaf(kind, name) if kind != "recipe" else ("unknown",)
        return grams(how_much, density(one)), None

    def served(self, key: str) -> dict[str, tuple[Fraction | None, Fraction | None]]:
        """component → (grams on one plate, share of its batch)."""
        found: dict = {}
        spec = self.menu[key]
        for part, component in spec["components"].items():
            total, whole = Fraction(0), Fraction(0)
            for step in (
                s for section in ("plating", "garnish", "at_table") for s in spec.get(section, ()) if s["put"] == part
            ):
                mass, share = self.on_plate(component, step)
                total = None if total is None or mass is None else total + mass
                whole = None if whole is None or share is None else whole + share
            found[part] = (total, whole)
        return found

    def on_plate(self, component: dict, step: dict) -> tuple[Fraction | None, Fraction | None]:
        if "amount" in step:
            return self.used(component, amount(step["amount"]))
        count, weight = step.get("count", 1), amount(step["piece"].get("weight"))
        mass = weight[1] * count if weight else None
        kind, name = said(component)
        made = amount(self.recipes[name].get("makes")) if kind == "recipe" and name in self.recipes else None
        if made and made[0] == "pieces":
            fits = weight is None or weight[1] * made[1] <= self.balance(name)[2]
            return mass, Fraction(count) / made[1] if fits else None
        return (mass, self.used(component, ("g", mass))[1]) if mass is not None else (None, None)

    # ----- sulphites

    def loads(
        self, source: dict, mass: Fraction | None, share: Fraction | None, inside: tuple[str, ...] = ()
    ) -> list[tuple[Fraction | None, bool, bool]]:
        """(mg or None where a figure is missing, natural, a ceiling) of all sulphited in ``source``."""
        kind, name = said(source)
        if kind == "recipe":
            if name not in self.recipes or name in inside:
                return []
            found = []
            share = share if self.balance(name)[1] else None
            for line in self.recipes[name]["ingredients"]:
                inner = self.used(line, amount(line.get("amount")))
                found += [
                    (None if mg is None or share is None else mg * share, nature, ceiling)
                    for mg, nature, ceiling in self.loads(line, *inner, (*inside, name))
                ]
            return found
        there, level, nature, ceiling = sulphites_of(self.leaf(kind, name), self.printed_for)
        return [] if not there else [(None if level is None or mass is None else level * mass / 1000, nature, ceiling)]

    def levels(self, key: str, only_added: bool, ceilings: bool = True) -> dict[str, tuple[bool, Fraction | None]]:
        """ "" (the plate) and each component with sulphites → (any that count, mg/kg or None)."""
        served = self.served(key)
        every = {part: self.loads(c, *served[part]) for part, c in self.plate(key).items()}
        known = sum((m for m, _ in served.values() if m is not None), Fraction(0))
        groups = {
            "": ([x for found in every.values() for x in found], known),
            **{part: (found, served[part][0]) for part, found in every.items() if found},
        }
        levels = {}
        for where, (found, mass) in groups.items():
            counted = [
                None if ceiling and not ceilings else mg for mg, nature, ceiling in found if not (only_added and nature)
            ]
            missing = not mass or None in counted
            levels[where] = (
                bool(counted),
                Fraction(0) if not counted else None if missing else sum(counted) * 1000 / mass,
            )
        return levels if levels[""][0] or any(every.values()) else {}

    # ----- one law

    def declared(self, key: str, law_key: str) -> dict[str, tuple[str, frozenset[str]]]:
        """Row of the law → (presence, nodes that decided); a bare group only where it was found."""
        book, found = law(law_key), self.traces(key)
        answer = {}
        for row in rows(law_key):
            heard = [x for t in found for x in speaks(law_key, row["head"], t)]
            top = max((s for s, _ in heard), key=STRENGTH.get, default=ABSENT)
            if top != ABSENT or not (row["bare"] or row["statement"]):
                answer[row["head"]] = (top, frozenset(n for s, n in heard if s == top and n))
        if "sulphites" in book:
            answer["sulphite"] = (self.sulphite_presence(key, book, found), frozenset())
        return answer

    def sulphite_presence(self, key: str, book: dict, found: set) -> str:
        rule = book["sulphites"]
        # What was not read in the law itself takes nothing away: no amount is then too small.
        was_read = rule.get("mark", book["mark"]) == "seen"
        limit = Fraction(str(rule["limit"])) if was_read else Fraction(0)
        above = rule["declared_when"] == "above" or not was_read
        levels = self.levels(key, was_read and rule["only_added"] is True, rule.get("ceilings") is True)
        for counted, level in levels.values():
            if counted and (level is None or (level > limit if above else level >= limit)):
                return CONTAINS
        states = {s for n, s, _ in found if n == "" or (n == "sulphite" and s != CONTAINS)}
        return UNKNOWN if UNKNOWN in states else MAY if MAY in states else ABSENT

    def beside(self, key: str, law_key: str) -> dict[str, str]:
        """What is on the plate and stands nowhere in the law: node → strongest state."""
        book, found = law(law_key), {}
        for n, s, f in self.traces(key):
            if n == "sulphite" and "sulphites" not in book:
                found.setdefault(n, set()).add(s)
            elif n and n != "sulphite" and exemption(book, n, f) != "exempt":
                state = UNKNOWN if exemption(book, n, f) and s == CONTAINS else s
                for m in (book.get("reads_as") or {}).get(n, [n]):
                    if not any(speaks(law_key, row["head"], (m, state, "")) for row in rows(law_key)):
                        found.setdefault(m, set()).add(state)
        return {n: max(s, key=STRENGTH.get) for n, s in found.items()}

    def exempted(self, key: str, law_key: str) -> set[str]:
        return {
            n for n, _, f in self.traces(key) if n and n != "sulphite" and exemption(law(law_key), n, f) == "exempt"
        }

    # ----- the guest

    def met(self, key: str, plate: dict[str, dict], avoid: dict) -> set[str]:
        """The states in which something avoided is met on the plate."""
        found, eaten_too = set(), set()
        inside = {
            n
            for n in parents()
            if any(w in up(n) for w in avoid["nodes"]) and not any(b in up(n) for b in avoid["but"])
        }
        above = {a for n in avoid["nodes"] for a in up(n)}
        for n, s, _ in self.traces(key, plate):
            if n in inside:
                found.add(s)
            elif n == "" or n in above:
                found.add(MAY if s == MAY else UNKNOWN)
            if any(w in up(n) for w in avoid["settle"]["nodes"]):
                eaten_too.add(s)
        own = [leaf for c in plate.values() for leaf in self.leaves(c)]
        handed = [leaf for _, _, thing in self.shares(key, plate) for leaf in self.leaves(thing)]
        if any(self.silent(one, avoid["nodes"]) for one, _ in own + handed):
            found.add(UNKNOWN)
        for leaves, changed in ((own, {}), (handed, {CONTAINS: MAY})):
            found |= {
                changed.get(s, s)
                for one, _ in leaves
                for s in self.of_kind(one, avoid["kinds"], avoid["words"], avoid["entry"])
            }
            eaten_too |= {
                changed.get(s, s) for one, _ in leaves for s in self.of_kind(one, avoid["settle"]["kinds"], [], None)
            }
        # What the word does not count waits for the guest's word, as do foods that set off the same guests.
        found |= {MAY if s == MAY else UNKNOWN for s in eaten_too}
        for row in guests()["reactions"]:
            concerned = row.get("stops") and any(n in inside or n in above for n in row["reacts"])
            if concerned and any(is_food(one, row["food"]) for one, _ in own):
                found.add(UNKNOWN)
        return found

    def of_kind(self, one: tuple, kinds: list[str], words: list[str], entry: dict | None) -> set[str]:
        """How a leaf stands to a guest who avoids food kinds, or one ingredient by its words."""
        if not kinds and not words:
            return set()
        if one[0] == "unknown":
            return {UNKNOWN}
        e = one[-1]
        state = None if e is None else stands(e, kinds, words, entry)
        if one[0] == "entry":
            return {state} if state else set()
        if state == CONTAINS:
            return {CONTAINS}
        if e is not None and state is None and "any" not in listed(e.get("depends")):
            return set()
        lists = {n for key in self.laws for g in law(key)["groups"] for n in g["nodes"]} | {
            "sulphite" for key in self.laws if "sulphites" in law(key)
        }
        told = {
            b
            for k in food().values()
            if k.get("nodes") and all(lists & set(up(n)) for n in k["nodes"])
            for b in under(k["id"])
        }
        return {UNKNOWN} if words or {b for k in kinds for b in under(k)} - told else set()

    def silent(self, one: tuple, what: list[str]) -> bool:
        """Whether a label's list, written for the laws in force, leaves open what is avoided.

        A list of allergens need not name kiwi or coconut where no law in force lists them.
        """
        if one[0] != "product" or "label" not in one[1] or one[1]["label"].get("text"):
            return False
        lists = {n for key in self.laws for g in law(key)["groups"] for n in g["nodes"]} | {
            "sulphite" for key in self.laws if "sulphites" in law(key)
        }
        asked = [n for n in parents() if any(w in up(n) for w in what) and not any(a in lists for a in up(n))]
        open_ = ["any"] if one[2] is None else listed(one[2].get("depends"))
        return bool(asked) and ("any" in open_ or any(n in up(d) or d in up(n) for d in open_ for n in asked))

    def understood(self, word: str) -> dict:
        """What a guest's word means, with the kin of a species that is asked for by its name."""
        found = self.taken(word)
        if 1 <= len(set(found["nodes"])) <= 2:
            for row in guests()["kin"]:
                if any(n in row["nodes"] for n in found["nodes"]):
                    others = [n for n in row["nodes"] if n not in found["nodes"]]
                    found = {**found, "settle": {**found["settle"], "nodes": found["settle"]["nodes"] + others}}
        return found

    def taken(self, word: str) -> dict:
        """What a guest's word means: nodes, kinds, or one ingredient, and what it leaves to be settled."""
        if plain(word) in names():
            return self.taken(names()[plain(word)])
        row = sayings().get(plain(word))
        if row:
            settle = row.get("settle", {})
            return meaning(
                with_kinds(row), row.get("kinds", []), row.get("but", []), with_kinds(settle), settle.get("kinds", [])
            )
        e = entry_of().get(plain(word))
        name = plain(word) if plain(word) in node_words() or plain(word) in food_words() or not e else plain(e["name"])
        if name in sayings():
            return self.taken(name)
        if name in node_words():
            n = node_words()[name]
            apart = up(n)[-1] in ("regional", "house_note", "tree_nut_other")
            return meaning([n], [food_words()[name]] if apart and name in food_words() else [])
        if name in food_words():
            return of_kinds(food_words()[name])
        if (
            len(e["kind"]) == 1
            and not is_group(e["kind"][0])
            and not e["kind"][0].startswith("other_")
            and "any" not in listed(e.get("depends"))
            and e["kind"][0] not in COMMON
        ):
            return of_kinds(e["kind"][0])
        return meaning([], [], words=[plain(word), plain(e["name"])], entry=e)

    def answers(self, key: str, words: list[str]) -> tuple[str, int, int]:
        """(verdict, changes, avoided things that remain as may contain), by trying every plate."""
        avoids = [self.understood(w) for w in words]
        best = None
        for changes, plate in self.plates(key, avoids):
            states = [self.met(key, plate, a) for a in avoids]
            if plate and all(s <= {MAY} for s in states):
                best = min(best or (99, 99), (changes, sum(MAY in s for s in states)))
        if best is not None:
            return ("changed" if best[0] else "as_is"), *best
        now = [self.met(key, self.plate(key), a) for a in avoids]
        return "cannot" if any(CONTAINS in s for s in now) else "not_established", 0, sum(MAY in s for s in now)

    def plates(self, key: str, avoids: list[dict]):
        """Every plate the spec allows: (number of changes, plate)."""
        ways = []
        for name, c in self.plate(key).items():
            offered = [
                {**{k: v for k, v in c.items() if k not in ("recipe", "product", "ingredient")}, **s["use"]}
                for s in (c["swap"] if isinstance(c.get("swap"), list) else [c["swap"]] if "swap" in c else [])
                if self.meant(s["avoiding"], avoids)
            ]
            ways.append(
                [
                    (0, name, c),
                    *([(1, name, None)] if c.get("may_be_left_off") else []),
                    *((1, name, o) for o in offered),
                ]
            )
        for way in product(*ways):
            yield sum(n for n, _, _ in way), {name: c for _, name, c in way if c is not None}

    def meant(self, avoiding, avoids: list[dict]) -> bool:
        """Whether a swap was offered for something that is avoided."""
        for word in listed(avoiding):
            ours = self.understood(word)
            for theirs in avoids:
                if set(ours["words"]) & set(theirs["words"]) or any(
                    a in up(b) or b in up(a) for a in ours["nodes"] for b in theirs["nodes"]
                ):
                    return True
                if {b for k in ours["kinds"] for b in under(k)} & {b for k in theirs["kinds"] for b in under(k)}:
                    return True
        return False


COMMON = {
    "salt",
    "water",
    "mineral",
    "sugar",
    "oil",
    "vinegar",
    "starch",
    "fermented",
    "culture",
    "yeast",
    "smoked",
    "dried_fruit",
    "cured_fish",
    "nitrite",
    "sprout",
}


def meaning(nodes, kinds, but=(), settle_nodes=(), settle_kinds=(), words=(), entry=None) -> dict:
    return {
        "nodes": list(nodes),
        "kinds": list(kinds),
        "but": list(but),
        "words": list(words),
        "entry": entry,
        "settle": {"nodes": list(settle_nodes), "kinds": list(settle_kinds)},
    }


def with_kinds(row: dict) -> list[str]:
    """The allergens a row names, and those that are of the kinds it names."""
    return row.get("nodes", []) + [
        n for kind in row.get("kinds", []) for k in food() if k in under(kind) for n in food()[k].get("nodes", [])
    ]


def of_kinds(kind: str) -> dict:
    return meaning([n for k in food() if k in under(kind) for n in food()[k].get("nodes", [])], [kind])


def open_kinds(e: dict) -> set[str]:
    left = set(listed(e.get("kind_open")))
    return {"any"} if "any" in left or e.get("depends") == "any" or not e.get("kind") else left


def is_vague(e: dict) -> bool:
    return "any" in open_kinds(e) or any(is_group(k) for k in e.get("kind", []) if k not in COMMON)


def stands(e: dict, kinds: list[str], words: list[str], own: dict | None) -> str | None:
    """What an entry is to a guest who avoids ``kinds``, or the ingredient ``own`` by its ``words``."""
    has, left, found = set(e.get("kind", [])), open_kinds(e), set()
    if kinds:
        inside = {b for k in kinds for b in under(k)}
        above = {a for k in kinds for a in over(k)} - inside
        if has & inside:
            found.add(CONTAINS)
        elif "any" in left or left & inside or (left | has) & above:
            found.add(UNKNOWN)
    if words:
        found.add(same(e, words, own))
    return CONTAINS if CONTAINS in found else UNKNOWN if UNKNOWN in found else None


def same(e: dict, words: list[str], own: dict) -> str | None:
    """Whether an entry is, holds or may be one ingredient."""
    says = {w for w in words if f" {w} " in f" {plain(e['name'])} "}
    if e["name"] == own["name"] or any(f" {w} " in f" {plain(o)} " for w in words for o in e.get("of", ())):
        return CONTAINS
    asked, has = set(own["kind"]) - COMMON, set(e.get("kind", ())) - COMMON
    alike = any(h in under(a) or a in under(h) for a in asked for h in has)
    if says:
        return CONTAINS if alike or len(e.get("kind", ())) != 1 else UNKNOWN
    left = open_kinds(e)
    if "any" in left or left & {g for a in asked for g in over(a)}:
        return UNKNOWN
    if not alike:
        return None
    two_of_a_kind = len(asked) == len(has) == 1 and not is_vague(own) and not is_vague(e)
    single = next(iter(has))
    return None if two_of_a_kind and (is_group(single) or single.startswith("other_")) else UNKNOWN


def is_food(one: tuple, group: dict) -> bool:
    e = one[-1] if one[0] != "unknown" else None
    if e is not None and any(k in under(g) for k in e.get("kind", ()) for g in group.get("kinds", ())):
        return True
    return any(s == CONTAINS and any(g in up(n) for g in group.get("nodes", ())) for n, s, _ in states(one) if n)


def said(source: dict) -> tuple[str, str]:
    return next((k, source[k]) for k in ("recipe", "product", "ingredient") if k in source)


def listed(value) -> list:
    return value if isinstance(value, list) else [] if value is None else [value]


def number(value) -> Fraction | None:
    return None if value is None else Fraction(str(value))


def amount(text) -> tuple[str, Fraction] | None:
    match = re.fullmatch(r"([\d.]+) (g|ml|pieces?)", str(text))
    return (match[2].replace("piece", "pieces").replace("ss", "s"), Fraction(match[1])) if match else None


def grams(how_much, weighs: Fraction | None = None) -> Fraction | None:
    if how_much is None or how_much[0] == "pieces":
        return None
    return how_much[1] if how_much[0] == "g" else None if weighs is None else how_much[1] * weighs


def density(one: tuple) -> Fraction | None:
    if one[0] == "product" and "density" in one[1]:
        return number(one[1]["density"])
    e = one[-1] if one[0] != "unknown" else None
    return number(e.get("density")) if e else None


def from_entry(e: dict, answered: bool) -> set[tuple[str, str, str]]:
    """What an entry brings; ``answered``: a label has settled what is open."""
    there = set(e.get("contains", ())) | (
        {"sulphite"} if "so2" in e and "sulphite" not in listed(e.get("depends")) else set()
    )
    found = {(n, CONTAINS, e.get("form", {}).get(n, "")) for n in there} | {
        (n, MAY, "") for n in e.get("may", ()) if n not in there
    }
    return found if answered else found | {("" if n == "any" else n, UNKNOWN, "") for n in listed(e.get("depends"))}


def states(one: tuple) -> set[tuple[str, str, str]]:
    """(node, state, form) of a leaf; node "" is any of them."""
    if one[0] == "unknown":
        return {("", UNKNOWN, "")}
    if one[0] == "entry":
        return from_entry(one[1], False)
    _, p, e = one
    label = p.get("label")
    found = from_entry(e, label is not None) if e else set()
    if label is None:
        return found if e else {("", UNKNOWN, "")}
    for state, key in ((CONTAINS, "contains"), (MAY, "may_contain")):
        for word in label.get(key, ()):
            n = node_words().get(plain(word))
            found.add((n, state, "") if n else ("", UNKNOWN, ""))
    if level(label):
        found.add(("sulphite", CONTAINS, ""))
    return found


def level(label: dict | None) -> Fraction | None:
    text = (label or {}).get("sulphites")
    return Fraction(text.split()[0]) if text else None


def sulphites_of(one: tuple, printed_for: list[str]) -> tuple[bool, Fraction | None, bool, bool]:
    """Whether a leaf holds sulphites, its upper bound in mg/kg, whether they are natural, whether it is a ceiling.

    ``printed_for``: the laws that a label was printed for if it does not say.
    """
    if one[0] == "unknown":
        return False, None, False, False
    e = one[-1]
    by_entry = e is not None and (
        "sulphite" in e.get("contains", ()) or ("so2" in e and "sulphite" not in listed(e.get("depends")))
    )
    label = one[1].get("label") if one[0] == "product" else None
    by_label = any(node_words().get(plain(w)) == "sulphite" for w in (label or {}).get("contains", ()))
    if not (by_entry or by_label or level(label)):
        return False, None, False, False
    if by_label and level(label) == 0:
        return True, None, False, False
    if level(label) is not None:
        return True, level(label), False, False
    bound = number(e.get("so2")) if e and "so2" in e and sources()[e["so2_source"]]["read"] == "seen" else None
    natural = bool(e and e.get("so2_natural") and not by_label)
    bound_by = (label.get("printed_for") or printed_for) if label is not None else ["eu"]
    if not natural and not any(law(k).get("sulphites", {}).get("ceilings") for k in listed(bound_by)):
        bound = None
    return True, bound, natural, bound is not None and not natural


@cache
def sources() -> dict[str, dict]:
    return read((DATA / "sources.yaml").read_text(encoding="utf-8"))["sources"]


@cache
def rows(law_key: str) -> list[dict]:
    """The declarations of a law: head node, the nodes that fall to it, and whether it is a bare group word."""
    found = []
    for g in law(law_key)["groups"]:
        nodes = list(g["nodes"])
        if g["declares"] != "each":
            found.append({"head": nodes[0], "nodes": nodes, "group": g, "bare": False, "statement": g.get("statement")})
            continue
        bare = [n for n in nodes if not parents()[n] and any(n in up(m)[1:] for m in nodes)]
        for n in nodes:
            if n in bare or not any(a in nodes and a not in bare for a in up(n)[1:]):
                found.append(
                    {
                        "head": n,
                        "nodes": [n] if n in bare else [m for m in nodes if n in up(m)],
                        "group": g,
                        "bare": n in bare,
                        "statement": g.get("statement"),
                    }
                )
    return found


def exemption(book: dict, node: str, form: str) -> str:
    """ "exempt", "unsettled" or "" for a node in a form; what was not read in the law itself is unsettled."""
    return next(
        (
            e["effect"] if e.get("mark", book["mark"]) == "seen" else "unsettled"
            for e in book.get("exemptions") or ()
            if form and e["form"] == form and e["node"] in up(node)
        ),
        "",
    )


@cache
def speaks(law_key: str, head: str, trace: tuple[str, str, str]) -> list[tuple[str, str]]:
    """What one trace says in one row of a law: (state, node)."""
    book, row = law(law_key), next(r for r in rows(law_key) if r["head"] == head)
    node, state, form = trace
    if node == "":
        return [(UNKNOWN, "")]
    effect = exemption(book, node, form)
    if node == "sulphite" or effect == "exempt":
        return []
    if effect and state == CONTAINS:
        state = UNKNOWN
    found = []
    every = [n for g in book["groups"] for n in g["nodes"]]
    for n in (book.get("reads_as") or {}).get(node, [node]):
        taken = next((a for a in up(n) if a in every), None)
        if taken in row["nodes"]:
            found.append((state, n))
            continue
        kind_of_it = taken is None and any(n in up(m) for m in row["nodes"])
        beside_bare = (
            taken == n
            and not row["bare"]
            and (taken in row["group"]["nodes"] or any(n in up(m) for m in row["nodes"]))
            and any(r["bare"] and r["head"] == taken for r in rows(law_key))
        )
        if kind_of_it or beside_bare:
            found.append((MAY if state == MAY else UNKNOWN, n))
    return found


def words_for(row: dict, nodes: frozenset[str]) -> str:
    """The declaration as the law words it (British names of kinds)."""
    g = row["group"]
    listed_ = g["nodes"]
    if g["declares"] == "each":
        hit = {next((a for a in up(n) if a in listed_), row["head"]) for n in nodes}
        return ", ".join(w for n, w in listed_.items() if n in hit) or listed_[row["head"]]
    word, kinds = listed_[row["head"]], [n for n in nodes if parents()[n]]
    if g["declares"] == "group" or all(n in g.get("unsaid", ()) for n in kinds):
        return word
    british = {n["id"]: n["name"]["en-GB"] for n in taxonomy()["nodes"]}
    return f"{word} ({', '.join(sorted({g.get('kind_words', {}).get(n, british[n]) for n in kinds}, key=str.lower))})"


# --------------------------------------------------------------------------- the record of allergen facts


def facts(e: dict) -> list[str]:
    """The allergen facts of one entry, one word each: ``milk``, ``?wheat`` (open), ``~mollusc`` (may contain)."""
    return [
        *sorted(e.get("contains", ())),
        *sorted("?" + n for n in listed(e.get("depends"))),
        *sorted("~" + n for n in e.get("may", ())),
        *sorted(f"{n}={f}" for n, f in e.get("form", {}).items()),
        *(["so2=" + str(e["so2"]) + (" natural" if e.get("so2_natural") else "")] if "so2" in e else []),
    ]
