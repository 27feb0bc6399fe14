"""What is promised instead of imported: not loaded for nothing, and there when it is wanted."""

from __future__ import annotations

import subprocess
import sys

CARD = """
import sys
from platecard import late
from platecard.drawing import pdf, svg
from platecard.drawing.scene import Scene, Text
scene = Scene(50, 50, (Text(5, 9, "egg", 9),), "t")
assert svg.write(scene) and pdf.write((scene,), title="t")
heavy = {"PIL.Image", "urllib.request", "http.client", "svgwrite.data.svgparser"} & set(sys.modules)
assert not heavy, heavy
assert not [m for m in sys.modules.values() if isinstance(m, late._StandIn)]
"""


def run(program: str) -> None:
    done = subprocess.run([sys.executable, "-c", CARD + program], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr


def test_a_card_loads_no_images_and_no_network():
    run("")


def test_what_was_promised_is_kept():
    run("""
from reportlab.lib import utils
from svgwrite import container, drawing
assert utils.Image.new("RGB", (1, 1)).size == (1, 1)  # the real library, by now
import PIL.Image, urllib.request
assert utils.Image.Image is PIL.Image.Image
try:
    container.urlopen("nothing:here")
except urllib.error.URLError:
    pass
else:
    raise AssertionError("the real opener knows no such place")
checked = drawing.Drawing(debug=True)
checked.add(checked.path("M 0 0 L 9 9", transform="rotate(3)"))
try:
    checked.path("M 0 0", transform="no turn at all")
except (TypeError, ValueError):
    pass
else:
    raise AssertionError("the checking mode checks")
""")


def test_a_module_wanted_while_its_library_is_imported_is_loaded_at_once():
    run("""
sys.modules.pop("colorsys", None)
with late.promised(("colorsys",)):
    from colorsys import rgb_to_hsv
    assert rgb_to_hsv(0, 0, 0) == (0.0, 0.0, 0)
import colorsys
assert colorsys.rgb_to_hsv(1, 1, 1) == (0.0, 0.0, 1)
""")
