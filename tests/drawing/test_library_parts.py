"""What is used of the two libraries beyond their guides: one that is gone is named here, and not on a broken page."""

from __future__ import annotations

import io
import re
from xml.etree import ElementTree

import pypdf
import pytest

from platecard.drawing import fonts

# Of each part of reportlab that `pdf` and `pdf_fonts` use: what it must have.
PDFDOC = {
    "PDFDocument": (
        "setTitle setAuthor setSubject setKeywords setCreator addPage Reference GetPDFData".split(),
        "Catalog objectcounter outline idToObject idToObjectNumberAndVersion".split(),
    ),
    "PDFPage": ([], ["__NoDefault__"]),
    "PDFResourceDictionary": (["basicFonts"], []),
    "Destination": (["fit", "setPage"], []),
    "ViewerPreferencesPDFDictionary": (["__setitem__"], []),
}
MAKES = {
    "PDFStream": lambda d: d.PDFStream(d.PDFDictionary({"Filter": d.PDFName("FlateDecode")}), b"x"),
    "PDFArray": lambda d: d.PDFArray([]),
    "PDFObjectReference": lambda d: d.PDFObjectReference("Page1"),
    "PDFString": lambda d: d.PDFString("words").format(document()),
    "Destination": lambda d: d.Destination("a"),
}


def document():
    from reportlab.pdfbase import pdfdoc

    return pdfdoc.PDFDocument(invariant=1, compression=1, pdfVersion=(1, 7), lang="en-GB")


def gone(what: str) -> str:
    return f"reportlab has no {what} any more: see platecard/drawing/__init__.py on what is used of it"


@pytest.mark.parametrize("name", PDFDOC)
def test_the_parts_of_a_document_are_there(name):
    from reportlab.pdfbase import pdfdoc

    assert hasattr(pdfdoc, name), gone(f"pdfdoc.{name}")
    kind = getattr(pdfdoc, name)
    one = document() if name == "PDFDocument" else kind("a") if name == "Destination" else kind()
    methods, values = PDFDOC[name]
    for method in methods:
        assert callable(getattr(one, method, None)), gone(f"pdfdoc.{name}.{method}()")
    for value in values:
        assert hasattr(one, value), gone(f"pdfdoc.{name}.{value}")


@pytest.mark.parametrize("name", MAKES)
def test_the_objects_in_a_document_are_made_as_before(name):
    from reportlab.pdfbase import pdfdoc

    assert hasattr(pdfdoc, name), gone(f"pdfdoc.{name}")
    assert MAKES[name](pdfdoc) is not None


def test_a_named_object_gets_the_next_number_and_is_written_as_it_is():
    """The tags and the fonts are numbered before they are written, and written as text."""
    made = document()
    before = made.objectcounter
    made.Reference(b"<</Tag /Here>>", "Mine")
    assert made.objectcounter == before + 1, gone("numbering of named objects one after another")
    assert made.idToObjectNumberAndVersion["Mine"] == (before + 1, 0), gone("PDFDocument.idToObjectNumberAndVersion")
    assert hasattr(made.idToObject["BasicFonts"], "dict"), gone("dictionary of fonts by the name BasicFonts")


def test_a_page_keeps_a_key_that_is_added_to_it_and_a_bookmark_asks_where_it_leads():
    from reportlab.pdfbase import pdfdoc

    class Canvas(dict):
        def _bookmarkReference(self, name):
            return self[name]

    made, sheet = document(), pdfdoc.PDFPage()
    sheet.pagewidth, sheet.pageheight = 100, 50
    sheet.Contents = pdfdoc.PDFStream(pdfdoc.PDFDictionary({}), b"q Q")
    sheet.Resources = pdfdoc.PDFResourceDictionary()
    sheet.Resources.basicFonts()
    sheet.Resources.ExtGState = {"A0.5": "<</ca 0.5>>"}
    sheet.__NoDefault__ = [*sheet.__NoDefault__, "StructParents"]
    sheet.StructParents = 7
    made.addPage(sheet)
    made.Reference(b"<</Type /StructTreeRoot>>", "Tree")
    made.Catalog.StructTreeRoot = pdfdoc.PDFObjectReference("Tree")
    made.Catalog.MarkInfo = b"<</Marked true>>"
    made.Catalog.ViewerPreferences = pdfdoc.ViewerPreferencesPDFDictionary()
    made.Catalog.ViewerPreferences["DisplayDocTitle"] = "true"
    place = pdfdoc.Destination("a")
    place.fit()
    place.setPage(pdfdoc.PDFObjectReference("Page1"))
    made.outline.addOutlineEntry("a", 0, "First")
    made.Catalog.showOutline()
    read = pypdf.PdfReader(io.BytesIO(made.GetPDFData(Canvas(a=place))))
    (page,) = read.pages
    assert page["/StructParents"] == 7, gone("PDFPage.__NoDefault__, which adds a key to a page")
    assert page["/Resources"]["/ExtGState"]["/A0.5"]["/ca"] == 0.5, gone("PDFResourceDictionary.ExtGState")
    assert [float(v) for v in page.mediabox][2:] == [100, 50], gone("PDFPage.pagewidth and pageheight")
    root = read.trailer["/Root"]
    assert root["/StructTreeRoot"]["/Type"] == "/StructTreeRoot", gone("Catalog.StructTreeRoot")
    assert root["/MarkInfo"]["/Marked"] and root["/ViewerPreferences"]["/DisplayDocTitle"], gone("Catalog.MarkInfo")
    assert [entry.title for entry in read.outline] == ["First"], gone("canvas._bookmarkReference, asked by the outline")


def test_a_face_is_measured_and_cut():
    from reportlab.pdfbase import ttfonts

    for name in ("TTFontFace", "SUBSETN", "makeToUnicodeCMap"):
        assert hasattr(ttfonts, name), gone(f"ttfonts.{name}")
    face = ttfonts.TTFontFace(str(fonts.file("regular")))
    for value in ("name", "flags", "bbox", "italicAngle", "ascent", "descent", "capHeight", "stemV", "defaultWidth"):
        assert hasattr(face, value), gone(f"ttfonts.TTFontFace.{value}")
    assert face.makeSubset([0, ord("a")])[:4] == b"\x00\x01\x00\x00", gone("TTFontFace.makeSubset()")
    assert re.fullmatch(rb"[A-Z]{6}", ttfonts.SUBSETN(3)), gone("ttfonts.SUBSETN()")
    assert "beginbfrange" in ttfonts.makeToUnicodeCMap("F", [97]) or "beginbfchar" in ttfonts.makeToUnicodeCMap(
        "F", [97]
    )


def test_the_document_of_a_picture_takes_its_names_and_gives_its_elements():
    import svgwrite

    drawing = svgwrite.Drawing(size=("10mm", "5mm"), viewBox="0 0 10 5", debug=False, role="img", lang="en")
    drawing.attribs["xml:lang"] = "en"
    drawing.set_desc(title="A", desc="B")
    drawing["aria-labelledby"] = "title"
    root = drawing.get_xml()
    said = "svgwrite makes another document: see platecard/drawing/__init__.py on what is used of it"
    assert isinstance(root, ElementTree.Element) and root.tag == "svg", said
    assert [root.find(name).text for name in ("title", "desc")] == ["A", "B"], said
    assert root.get("role") == "img" and root.get("aria-labelledby") == "title" and root.get("xml:lang") == "en", said
