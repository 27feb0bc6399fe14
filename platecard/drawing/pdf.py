"""Binds pages into a PDF file.

`pdf_page` writes the pages (why: see `platecard.drawing`); reportlab takes care of the fonts, the outline, the metadata
and the file itself. A page
that was written for one file can be bound into another unchanged. The same pages always give the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Protocol, cast

from platecard.drawing import fonts, pdf_fonts
from platecard.drawing.pdf_page import Page, alpha_name, faces_of, over, page
from platecard.drawing.scene import Scene

if TYPE_CHECKING:  # reportlab is imported late, because not every command writes a PDF
    from reportlab.pdfbase.pdfdoc import Destination, PDFOutlines

__all__ = ["Page", "over", "page", "write"]

_NOT_METADATA = re.compile("[\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


class _Catalogue(Protocol):
    """What is set in the catalogue of a document."""

    ViewerPreferences: object
    StructTreeRoot: object
    MarkInfo: object

    def showOutline(self) -> None: ...


class _Document(pdf_fonts.Document, Protocol):
    """What is used here of a reportlab document; the library's own stubs leave parts of it out."""

    Catalog: _Catalogue
    objectcounter: int
    outline: PDFOutlines

    def setTitle(self, title: str) -> None: ...
    def setAuthor(self, author: str) -> None: ...
    def setSubject(self, subject: str) -> None: ...
    def setKeywords(self, keywords: str) -> None: ...
    def setCreator(self, creator: str) -> None: ...
    def addPage(self, page: object) -> None: ...
    def GetPDFData(self, canvas: object) -> bytes: ...


def write(
    pages: Sequence[Scene | Page],
    *,
    title: str,
    author: str = "",
    subject: str = "",
    keywords: str = "",
    language: str = "en-GB",
    bookmarks: tuple[tuple[str, int], ...] | None = None,
    is_true_size: bool = False,
) -> bytes:
    """A PDF of `pages`, each at exactly its own size.

    `bookmarks` are pairs of a title and a page index from 0. `is_true_size` asks the viewer not to fit the pages to
    the paper. ValueError if there are no pages; for a bookmark to a page that is not there; for a character that the
    font lacks, or a control character in the metadata; and for a number that is not finite, an unknown face or
    anything that is not an item.
    """
    from reportlab.pdfbase import pdfdoc

    if not pages:
        raise ValueError("a PDF needs at least one page")
    bookmarks = bookmarks or ()
    if any(not 0 <= index < len(pages) for _, index in bookmarks):
        raise ValueError(f"a bookmark points to no page; there are {len(pages)}")
    for text in (title, author, subject, keywords, language, *(name for name, _ in bookmarks)):
        if found := _NOT_METADATA.search(text):
            raise ValueError(f"{fonts.name(f'U+{ord(found[0]):04X}')} cannot be part of a PDF's data ({ascii(text)})")

    written = [one if isinstance(one, Page) else page(one) for one in pages]
    document = cast(_Document, pdfdoc.PDFDocument(invariant=1, compression=1, pdfVersion=(1, 7), lang=language))
    document.setTitle(title)
    document.setAuthor(author)
    document.setSubject(subject)
    document.setKeywords(keywords)
    document.setCreator("platecard")
    wishes = pdfdoc.ViewerPreferencesPDFDictionary()
    wishes["DisplayDocTitle"] = "true"
    if is_true_size:
        wishes["PrintScaling"] = "None"
    document.Catalog.ViewerPreferences = wishes
    faces = faces_of(written)
    for face in fonts.FACES:
        if face in faces:
            pdf_fonts.add(document, face, frozenset(faces.pop(face)))
    for font in sorted(faces):  # of other writing systems
        from platecard.drawing import pdf_scripts

        pdf_scripts.add(document, font, faces[font])
    for index, one in enumerate(written):
        _bind(document, one, index)
    _add_structure(document, written)
    return document.GetPDFData(_outline(document, bookmarks))


def _bind(document: _Document, one: Page, index: int) -> None:
    """Add a page to the document."""
    from reportlab.pdfbase import pdfdoc

    sheet: Any = pdfdoc.PDFPage()  # its keys are set as attributes that the stubs do not have
    sheet.pagewidth, sheet.pageheight = one.width, one.height
    streams = [
        pdfdoc.PDFStream(pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFName("FlateDecode")}), stream)
        for stream in one.streams
    ]
    sheet.Contents = (
        streams[0] if len(streams) == 1 else pdfdoc.PDFArray([document.Reference(stream) for stream in streams])
    )
    resources: Any = pdfdoc.PDFResourceDictionary()
    resources.basicFonts()
    resources.ExtGState = {alpha_name(alpha): f"<</ca {alpha}>>" for alpha in one.alphas}
    sheet.Resources = resources
    sheet.__NoDefault__ = [*sheet.__NoDefault__, "StructParents"]  # a key it would not write by itself
    sheet.StructParents = index
    document.addPage(sheet)


class _Destinations(dict[str, "Destination"]):
    """Stands in for the canvas that reportlab's outline asks where a bookmark leads."""

    def _bookmarkReference(self, name: str) -> Destination:
        return self[name]


def _outline(document: _Document, bookmarks: Sequence[tuple[str, int]]) -> _Destinations:
    """Add the bookmarks to the document, and return the places they lead to."""
    from reportlab.pdfbase import pdfdoc

    places = _Destinations()
    for position, (name, index) in enumerate(bookmarks):
        key = f"bookmark{position}"
        places[key] = pdfdoc.Destination(key)
        places[key].fit()
        places[key].setPage(pdfdoc.PDFObjectReference(f"Page{index + 1}"))
        document.outline.addOutlineEntry(key, 0, name)
    if bookmarks:
        document.Catalog.showOutline()
    return places


def _add_structure(document: _Document, pages: Sequence[Page]) -> None:
    """Add the structure tree: which marked content belongs to which element, for readers who hear the page.

    There are hundreds of objects, so they are written as text; the library's own dictionaries are slow.
    """
    from reportlab.pdfbase.pdfdoc import PDFObjectReference, PDFString

    root = document.objectcounter + 1
    top = root + 1  # the document's own element; those of the pages follow
    elements: list[str] = []
    roots: list[str] = []
    parents: list[str] = []
    base = top + 1
    for index, one in enumerate(pages):
        sheet = document.idToObjectNumberAndVersion[f"Page{index + 1}"][0]
        parents.append(f"{index} [{' '.join([f'{base + number} 0 R' for number in one.marks])}]")
        for number, element in enumerate(one.elements):
            if element.parent < 0:
                roots.append(f"{base + number} 0 R")
            words = (
                f" /Alt {PDFString(element.alternative).format(document).decode('latin-1')}"
                if element.alternative
                else ""
            )
            inside = " ".join([str(~kid) if kid < 0 else f"{base + kid} 0 R" for kid in element.kids])
            elements.append(
                f"<</S /{element.kind} /P {base + element.parent if element.parent >= 0 else top} 0 R /Pg {sheet} 0"
                f" R{words} /K [{inside}]>>"
            )
        base += len(one.elements)
    objects = (
        f"<</Type /StructTreeRoot /K {top} 0 R /ParentTree <</Nums [{' '.join(parents)}]>>>>",
        f"<</S /Document /P {root} 0 R /K [{' '.join(roots)}]>>",
        *elements,
    )
    for number, text in enumerate(objects):
        document.Reference(text.encode("latin-1"), f"Structure{number}")
    document.Catalog.StructTreeRoot = PDFObjectReference("Structure0")
    document.Catalog.MarkInfo = b"<</Marked true>>"
