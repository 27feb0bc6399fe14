"""A protected designation never stands for another food, and a document prints the word the cook wrote.

The designations are from memory: protected names of the EU, the UK, Switzerland, Mexico, the US, Turkey and Japan.
"""

from __future__ import annotations

import pytest

from platecard.allergens.traces import Tracer
from platecard.knowledge import catalogue, taxonomy
from platecard.knowledge.names import fold

CATALOGUE = catalogue.load()[0]

# What a designation may be called besides; every other name in an entry that it heads has the designation in it.
DESIGNATIONS: dict[str, tuple[str, ...]] = {
    "Champagne": (),
    "Prosecco": (),
    "Cava": (),
    "Franciacorta": (),
    "Cognac": (),
    "Armagnac": (),
    "Calvados": (),
    "grappa": (),
    "Scotch": (),
    "Irish whiskey": (),
    "bourbon": (),
    "tequila": (),
    "mezcal": (),
    "ouzo": (),
    "pisco": (),
    "cachaça": (),
    "sherry": ("Jerez", "Xérès", "fino", "manzanilla", "oloroso", "amontillado", "palo cortado"),
    "Pedro Ximénez": (),
    "Montilla": (),
    "port": ("porto", "Portwein"),
    "Madeira": ("Sercial", "Bual", "Malmsey", "Madère"),
    "Marsala": (),
    "Parmigiano Reggiano": ("parmigiano",),
    "Grana Padano": (),
    "gorgonzola": (),
    "taleggio": (),
    "fontina": (),
    "asiago": (),
    "montasio": (),
    "Castelmagno": (),
    "pecorino Romano": (),
    "pecorino Sardo": (),
    "fiore sardo": (),
    "pecorino Toscano": (),
    "Roquefort": (),
    "Comté": (),
    "Reblochon": (),
    "Beaufort": (),
    "Munster": (),
    "Ossau-Iraty": (),
    "Époisses": (),
    "Stilton": (),
    "feta": (),
    "halloumi": ("haloumi", "hellim", "hallumi", "halumi", "Cypriot grilling cheese"),
    "manchego": (),
    "cabrales": (),
    "idiazabal": (),
    "São Jorge": ("queijo da ilha",),
    "Serra da Estrela": (),
    "Greek yoghurt": (),
    "Parma ham": ("prosciutto di Parma",),
    "San Daniele": (),
    "culatello": (),
    "Bayonne": (),
    "Westphalian": ("westfälischer Schinken",),
    "Black Forest": ("Schwarzwälder Schinken",),
    "Ardennes": (),
    "Nürnberger": ("Nuremberg",),
    "Bresse": (),
    "Kobe": (),
    "lardo di Colonnata": (),
    "Padrón": (),
    "Espelette": ("piment d'Espelette",),
    "Kampot": (),
    "Sarawak": ("Tellicherry",),
    "Champagne vinegar": ("vinaigre de Champagne",),
    "Banyuls": (),
    "sherry vinegar": ("vinagre de Jerez", "Xérès", "Sherryessig"),
    "Arbroath smokie": ("smokie", "smokies"),
    "Brie de Meaux": (),
    "Brie de Melun": (),
}


def words(text: str) -> str:
    return f" {fold(text)} "


@pytest.mark.parametrize("designation", sorted(DESIGNATIONS))
def test_an_entry_that_a_designation_heads_holds_no_other_food(designation):
    known = [words(designation), *map(words, DESIGNATIONS[designation])]
    others = [d for d in DESIGNATIONS if d != designation and words(designation) in words(d)]
    wrong = [
        (entry.name, name)
        for entry in CATALOGUE
        if words(designation) in words(entry.name) and not any(words(o) in words(entry.name) for o in others)
        for name in CATALOGUE.names_of(entry)
        if not any(k in words(name) for k in known)
    ]
    assert wrong == []


@pytest.mark.parametrize(
    "one, other",
    [
        ("applejack", "Calvados"),
        ("shishito", "Padrón pepper"),
        ("Basque chilli powder", "Espelette pepper"),
        ("port vinegar", "Banyuls vinegar"),
        ("muenster", "Munster"),
        ("flamengo cheese", "São Jorge"),
        ("fiore sardo", "pecorino Sardo"),
        ("Montilla-Moriles", "sherry"),
        ("grana cheese", "Grana Padano"),
        ("Urfa pepper", "Aleppo pepper"),
        ("French mustard", "Dijon mustard"),
        ("Timut pepper", "Kampot pepper"),
    ],
)
def test_foods_that_stood_under_anothers_designation_have_entries_of_their_own(one, other):
    first, second = CATALOGUE.find(one).entry, CATALOGUE.find(other).entry
    assert first is not None and second is not None and first.id != second.id


@pytest.mark.parametrize("written", ["Cava", "Sekt", "mezcal", "ouzo", "marc de Bourgogne", "Tennessee whiskey"])
def test_a_reason_prints_the_word_that_the_cook_wrote(written):
    entry = CATALOGUE.find(written).entry
    assert entry is not None
    shown = entry.as_written(written)
    assert shown.shown == written and shown.id == entry.id
    chains = [link.words for t in Tracer(taxonomy.load()[0]).thing(shown) for link in t.chain]
    assert all(written in text for text in chains)


def test_feta_may_hold_up_to_thirty_per_cent_of_goats_milk():
    """Regulation (EC) No 1829/2002 and the file of the name: up to 30 % goat's milk (from memory)."""
    feta = CATALOGUE.find("feta").entry
    assert feta is not None and {"sheep_milk", "goat_milk"} <= set(feta.contains) and "30 %" in feta.note
