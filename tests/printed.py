"""What stands on the pages of a PDF, read by PDFium, which did not write it."""

from typing import NamedTuple

from pypdfium2 import PdfDocument
from pypdfium2.raw import FPDFText_GetUnicode


class Page(NamedTuple):
    """Its words, in the order in which they were written, the box of each run of them, and its size; all in points from below left.

    A sign that the letters lack is NUL; the text that PDFium gives as a whole leaves it out.
    """

    words: str
    boxes: tuple[tuple[float, float, float, float], ...]
    wide: float
    high: float

    def holds_all(self) -> bool:
        """Does every run of words end on the paper."""
        return all(
            left >= -1 and low >= -1 and right <= self.wide + 1 and top <= self.high + 1
            for left, low, right, top in self.boxes
        )


def pages(data: bytes) -> tuple[Page, ...]:
    """Every page. PDFium ends its lines with CR LF."""
    with PdfDocument(data) as document:
        return tuple(_page(document, at) for at in range(len(document)))


def _page(document: PdfDocument, at: int) -> Page:
    page = document[at]
    text = page.get_textpage()
    words, signs = text.get_text_range(), text.count_chars()
    if len(words) != signs:
        words = "".join(chr(FPDFText_GetUnicode(text.raw, sign)) for sign in range(signs))
    boxes = tuple(text.get_rect(run) for run in range(text.count_rects()))
    return Page(words.replace("\r\n", "\n"), boxes, *page.get_size())
