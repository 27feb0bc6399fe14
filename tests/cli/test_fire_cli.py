"""``platecard fire`` and ``platecard cautions`` as they are called, and where their answers stand on paper."""

from __future__ import annotations

from xml.etree import ElementTree

import pypdf
import pytest

from tests.kitchens import KITCHEN, kitchen
from tests.service.test_fire import DUCK

GEAR = (
    "equipment: {oven: {called: Oven, holds: 4, touches: false}, pan: {called: Pans, holds: 4, own_heat: true, touches:"
    " false}, burner: {called: Burners, holds: 4, touches: false}, smoker: Smoker}\n"
)


@pytest.fixture
def hot(room):
    """A kitchen with the worked example and a cold dish."""
    files = kitchen()
    files[KITCHEN] = (
        "kitchen: The Test Galley\nlaws: [eu, us]\nlabels_printed_for: [eu, us]\nfood_code: [us]\nstations: {roast:"
        " Roast, garnish: Garnish, sauce: Sauce, larder: Larder}\n" + GEAR
    )
    files["specs/duck.yaml"] = DUCK
    return room.write(files)


def test_the_words(hot):
    done = hot.run("fire", "duck", "--at", "20:00")
    assert done.code == 0, done.err
    assert "fire at 19:31:00, plate leaves at 20:00:00 (29 min)" in done.out
    assert "19:11:00    20:00     ahead  Roast" in done.out
    assert (
        "nothing to spare: duck: render > duck: oven > duck: rest > duck: flash > duck: slice > plate > wipe and check"
        in done.out
    )


def test_a_call_says_when_the_plate_leaves(hot):
    assert "plate leaves at 20:04:00" in hot.run("fire", "duck", "--called", "19:35").out


def test_data_with_stable_keys(hot):
    data = hot.run("fire", "duck", "--at", "20:00", "--format", "json").data
    assert list(data) == ["dishes", "at", "fire", "lead_s", "whole_s", "nothing_to_spare", "steps", "problems"]
    assert data["lead_s"] == 1740 and data["whole_s"] == 2940 and data["fire"] == "19:31:00" and not data["problems"]
    step = next(s for s in data["steps"] if s["step"] == "duck/duck.oven")
    assert step == {
        "step": "duck/duck.oven",
        "dish": "duck",
        "component": "duck",
        "called": "duck",
        "do": "oven",
        "station": "Roast",
        "plates": 1,
        "on": ["oven"],
        "at_c": 200,
        "core_c": 52,
        "takes_s": 300,
        "start_s": -1020,
        "end_s": -720,
        "start": "19:43:00",
        "in_hand_s": 0,
        "nothing_to_spare": True,
        "ahead": False,
        "rest": False,
        "after": ["duck/duck.render"],
        "file": "specs/duck.yaml",
        "line": 10,
    }


def test_a_picture(hot):
    done = hot.run("fire", "duck", "--format", "svg", "--at", "20:00")
    root = ElementTree.fromstring(done.out)
    assert root.tag.endswith("svg") and "FIRE 19:31:00" in done.out and "duck: render" in "".join(root.itertext())


def test_several_plates_of_one_table(hot):
    done = hot.run("fire", "duck=5", "--format", "json")
    assert done.code == 0 and {p["slug"] for p in done.data["problems"]} == {"over-its-room"}
    assert done.data["dishes"] == [
        {"dish": "duck", "title": "Roast duck breast, potato terrine, glazed beetroot, cherry jus", "plates": 5}
    ]
    assert hot.run("fire", "duck", "specs/duck.yaml", "--format", "json").data["dishes"][0]["plates"] == 2


@pytest.mark.parametrize(
    "arguments, word",
    [
        (("duck", "--at", "25:70"), "there is no 25:70 on the clock"),
        (("duck", "--at", "soon"), "is not a time of day"),
        (("duck", "--called", "24:00"), "no 24:00"),
        (("duck", "--at", "20:00", "--called", "19:00"), "either --at"),
        (("duck=0",), "from 1 to 99"),
        (("duck=-2",), "from 1 to 99"),
        (("duck=x",), "from 1 to 99"),
        (("goose",), "no spec"),
    ],
)
def test_a_slip_in_the_command(hot, arguments, word):
    done = hot.run("fire", *arguments)
    assert done.code == 2 and word in done.err and not done.out


def test_a_step_that_waits_for_itself(hot):
    hot.write(
        {
            "specs/duck.yaml": DUCK.replace(
                "{do: heat, takes: 4 min, on: burner}", "{do: heat, takes: 4 min, on: burner, after: mount}"
            )
        }
    )
    done = hot.run("fire", "duck")
    assert done.code == 1 and "waits for itself" in done.err and "specs/duck.yaml:14:" in done.err
    assert [s for s, _ in hot.errors("duck")] == ["step-loop"]


def test_nothing_to_finish(hot):
    done = hot.run("fire", "beetroot")
    assert done.code == 1 and "nothing is finished to order" in done.err


def test_the_cautions_command(hot):
    done = hot.run("cautions", "duck")
    assert (
        done.code == 0
        and "Under-cooked by design" in done.out
        and "duck: core 56 °C" in done.out
        and "your local food code" in done.out.lower()
    )
    data = hot.run("cautions", "duck", "--format", "json").data
    assert list(data) == ["dish", "food_codes", "cautions", "general"] and data["food_codes"] == ["us"]
    caution = next(c for c in data["cautions"] if c["rule"] == "under-cooked")
    assert list(caution) == ["rule", "topic", "says", "foods", "figures"]
    assert list(caution["foods"][0]) == [
        "what",
        "component",
        "said",
        "not_stated",
        "judged",
        "file",
        "line",
    ]
    assert caution["foods"][0]["judged"] == [
        {"code": "us", "verdict": "outside", "why": "not hot enough, needs 74 °C for 1 s"}
    ]
    assert all(f["source"] and f["mark"] for f in caution["figures"])


def text_of(path) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages]


def test_the_card_carries_both_apart_from_the_allergens(hot):
    assert hot.run("build").code == 0
    assert (hot.root / "output/duck/fire.svg").is_file() and not (hot.root / "output/beetroot/fire.svg").exists()
    front, build = text_of(hot.root / "output/duck/pass-card.pdf")
    assert "service sheet: CAUTIONS, fire times, reasons" in build and "Under-cooked" not in front + build
    back = " ".join(text_of(hot.root / "output/duck/service-sheet.pdf"))
    assert (
        "FIRE 29 min before the plate leaves" in back
        and "CAUTIONS FOR THE KITCHEN" in back
        and "duck: core 56 °C" in back
    )
    assert "ALLERGENS" in front
    # Every step stands there with its start.
    for words in ("−29:00 12 min", "−12:00 8 min", "−6:00 4 min"):
        assert words in back, words


def test_the_picture_goes_when_the_steps_go(hot):
    hot.run("build")
    hot.write(
        {
            "specs/duck.yaml": "\n".join(
                line for line in DUCK.replace(", finish: [{do: glaze, takes: 3 min, on: burner}]", "").splitlines()
            )
        }
    )
    hot.run("build")
    assert (hot.root / "output/duck/fire.svg").is_file()
    plain = [
        line.split(", finish:")[0] + "}" if ", finish: [" in line else line
        for line in DUCK.splitlines()
        if not line.startswith("      {do:")
    ]
    hot.write({"specs/duck.yaml": "\n".join(plain)})
    assert hot.run("build").code == 0
    assert not (hot.root / "output/duck/fire.svg").exists()


def test_a_changed_caution_changes_the_fingerprint(hot):
    hot.run("build")
    before = text_of(hot.root / "output/duck/pass-card.pdf")[0]
    hot.write({KITCHEN: (hot.root / KITCHEN).read_text().replace("food_code: [us]", "food_code: [uk]")})
    hot.run("build")
    assert before.split("code ")[1][:8] != text_of(hot.root / "output/duck/pass-card.pdf")[0].split("code ")[1][:8]


def test_a_dish_without_any_speaks_of_none(galley):
    galley.run("build")
    assert "CAUTIONS" not in " ".join(text_of(galley.root / "output/beetroot/pass-card.pdf"))
