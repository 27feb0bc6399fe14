"""Pages of Scene → PDF bytes.

Pages are written by `pdf_page` and bound here: reportlab keeps the fonts, the outline, the metadata and the file
itself. A page that was written for one file is bound into another as it stands. The same pages give the same bytes.
"""

import re
from collections.abc import Sequence

from platecard.drawing import fonts, pdf_fonts
from platecard.drawing.pdf_page import Page, alpha_name, over, page
from platecard.drawing.scene import Scene

__all__ = ["Page", "over", "page", "write"]

_NOT_METADATA = re.compile("[\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


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
    """A PDF of `pages`, each of exactly its size.

    `bookmarks` are (title, page index) from 0. `is_true_size` asks the viewer not to fit pages to the paper.
    ValueError for no pages, a character the font lacks, a control
    character in the metadata, a number that is not finite, a bookmark to no page, an unknown face or kind of item.
    """
    from reportlab.pdfbase import pdfdoc

    if not pages:
        raise ValueError("a PDF needs at least one page")
    bookmarks = bookmarks or ()
    if any(not 0 <= index < len(pages) for _, index in bookmarks):
        raise ValueError(f"a bookmark points to no page; there are {len(pages)}")
    for text in (title, author, subject, keywords, language, *(name for name, _ in bookmarks)):
        if found := _NOT_METADATA.search(text):
            raise ValueError(f"{fonts.name(f'U+{ord(found[0]):04X}')} cannot stand in a PDF's data ({ascii(text)})")

    written = [one if isinstance(one, Page) else page(one) for one in pages]
    document = pdfdoc.PDFDocument(invariant=1, compression=1, pdfVersion=(1, 7), lang=language)
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
    rare: dict[str, set[str]] = {}
    for one in written:
        for face, characters in one.faces:
            rare.setdefault(face, set()).update(characters)
    for face in fonts.FACES:
        if face in rare:
            pdf_fonts.add(document, face, frozenset(rare[face]))
    for index, one in enumerate(written):
        _bind(document, one, index)
    _add_structure(document, written)
    return document.GetPDFData(_outline(document, bookmarks))


def _bind(document, one: Page, index: int) -> None:
    """Add a page to the document."""
    from reportlab.pdfbase import pdfdoc

    sheet = pdfdoc.PDFPage()
    sheet.pagewidth, sheet.pageheight = one.width, one.height
    streams = [
        pdfdoc.PDFStream(pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFName("FlateDecode")}), stream)
        for stream in one.streams
    ]
    sheet.Contents = (
        streams[0] if len(streams) == 1 else pdfdoc.PDFArray([document.Reference(stream) for stream in streams])
    )
    resources = pdfdoc.PDFResourceDictionary()
    resources.basicFonts()
    resources.ExtGState = {alpha_name(alpha): f"<</ca {alpha}>>" for alpha in one.alphas}
    sheet.Resources = resources
    sheet.__NoDefault__ = [*sheet.__NoDefault__, "StructParents"]  # keys it may write; this one is not among them
    sheet.StructParents = index
    document.addPage(sheet)


class _Destinations(dict):
    """What the outline asks of a canvas: the place that a bookmark's name stands for."""

    _bookmarkReference = dict.__getitem__


def _outline(document, bookmarks: Sequence[tuple[str, int]]) -> _Destinations:
    """Add the bookmarks, and give the places they lead to."""
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


def _add_structure(document, pages: Sequence[Page]) -> None:
    """The structure tree: which marked content belongs to which element, for those who hear the page.

    Ready-made objects: hundreds of them, and the library's own dictionaries are slow.
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
