"""Drawing: a display list in millimetres (`scene`), the bundled font (`fonts`), and two writers (`svg`, `pdf`).

It knows nothing of food, and decides neither what is drawn nor where.

How much of it the libraries do, and why not more. The elements of a picture and the operators of a page are written
here; svgwrite makes the document around the elements, reportlab the file around the pages, its outline, its metadata
and the cut of its fonts, pyphen the places where a word longer than its line is hyphenated. The reasons:

- Tags. A page is marked up for readers who hear it; reportlab's canvas has no tagged content.
- One page, two files. A card's page is bound into the card and into the book; a canvas draws it for one file.
- Time. Over the 36 pages of the demo's cards a page took 2.3 ms of processor time as a file written here and 20.9 ms
  drawn with the canvas; a picture 1.1 ms written here and 4.1 ms with svgwrite's elements, and a dish has three to
  five pictures (measured with reportlab 5.1.0, svgwrite 1.4.3 and CPython 3.11 on two cores;
  `python -m tests.benchmarks.writers` measures it again). Check, pictures and card of a dish together have 20 ms.

Other writing systems (`scripts`) are left to libraries altogether, which are an extra: HarfBuzz shapes them and cuts
their fonts, python-bidi puts them in order, ICU breaks their lines.

So `pdf` and `pdf_fonts` use parts of reportlab that its guide does not describe: `pdfdoc`'s document, page, stream and
outline, and `ttfonts`' face and subset. No other module touches them, and `tests/drawing/test_library_parts.py` holds
each against the library and says which is gone. The tests of this folder run with the lowest version declared and
with the one that all was tested with.
"""
