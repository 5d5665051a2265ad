"""What the PDF writers share: fonts, pages with their foot, and drawings painted as vectors."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Literal

from hearthcalc import __version__, caution
from hearthcalc.drawing.page import Page, lay_out
from hearthcalc.drawing.parts import Drawing
from hearthcalc.drawing.shapes import ACROSS, DOWN, TEXT, Hatch, Stroke, Words, rows, shapes
from hearthcalc.errors import FileError, UsageError
from hearthcalc.report.plain import plain
from hearthcalc.report.stamp import Stamp
from hearthcalc.whatif import picture

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from hearthcalc.whatif.sweep import Sweep

PaperName = Literal["letter", "a4"]
PAPER: dict[PaperName, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}
MARGIN = 43.0
FOOT = 40.0  # from the edge of the page up to the rule over its foot

REGULAR, BOLD = "HearthSans", "HearthSans-Bold"
INK = (0.11, 0.13, 0.15)
GREY = (0.29, 0.32, 0.35)
COLOURS = {
    "SHORT": (0.63, 0.09, 0.09), "CLOSE": (0.48, 0.30, 0.0), "MEASURE": (0.08, 0.28, 0.54), "REFER": (0.29, 0.32, 0.35),
    "MEETS": (0.11, 0.13, 0.15),
    "masonry": (0.64, 0.32, 0.12), "hearth": (0.35, 0.39, 0.42), "wood": (0.44, 0.35, 0.06),
}  # fmt: skip
PENS: dict[str, tuple[float, tuple[float, ...]]] = {
    "solid": (1.6, ()), "dashed": (1.2, (5, 4)), "steel": (4.0, ()), "asked": (2.4, (1.5, 5)), "measure": (0.8, ()),
    "reach": (0.5, ()), "tick": (1.6, ()),
}  # fmt: skip
TILE = 8.0  # px


def missing(what: str, error: ImportError) -> UsageError:
    """What to say where a library of the extra `report` is not there."""
    return UsageError(
        "Not installed",
        f"{what} needs the package {(error.name or 'it').split('.')[0]}, which is not here.",
        fix="Install the extra: python3 -m pip install 'hearthcalc[report]'.",
    )


@cache
def load_fonts() -> None:
    """Make the fonts known, from the package that ships them.

    Raises UsageError where a library is not installed, and FileError where the folder that the program was started in has gone.
    """
    try:
        from reportlab import rl_config
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont

        folder = files("font_source_sans_pro") / "files"
    except ImportError as err:
        raise missing("A PDF", err) from err
    except FileNotFoundError as err:  # the library asks for it as it loads
        raise FileError(
            "No PDF",
            "The folder that this was started in has gone.",
            fix="Go to a folder that is there, and run it again.",
        ) from err
    for name, file in ((REGULAR, "SourceSansPro-Regular.ttf"), (BOLD, "SourceSansPro-Semibold.ttf")):
        pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    rl_config.useA85 = 0  # bytes as they are: smaller and sooner written
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


def head(canvas: Canvas, title: str, author: str, stamp: Stamp) -> None:
    """What a reader of PDF is told of a file: title, author, language, fingerprints, and a date that is no clock's."""
    canvas.setTitle(plain(title, 300))
    canvas.setAuthor(plain(author, 300))
    canvas.setSubject("Checks of a fireplace against reference values; not an approval")
    canvas.setKeywords(" ".join(stamp.tokens()))
    canvas.setCreator(f"hearthcalc {__version__}")
    canvas.setProducer(f"hearthcalc {__version__}")
    date: dt.date = stamp.date
    canvas.setDateFormatter(lambda *_: f"D:{date:%Y%m%d}000000Z")


def foot(canvas: Canvas, size: tuple[float, float], stamp: Stamp, number: int) -> None:
    """The caution, the stamp and "page n of N" at the foot of a page. The form "pages" holds N."""
    width = size[0]
    canvas.saveState()
    canvas.setStrokeColorRGB(*GREY)
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, FOOT, width - MARGIN, FOOT)
    canvas.setFillColorRGB(*GREY)
    text = caution.LINE
    fitted(canvas, text, MARGIN, FOOT - 9, width - 2 * MARGIN, REGULAR, 6.6)
    fitted(canvas, stamp.line, MARGIN, FOOT - 18, width - 2 * MARGIN - 70, REGULAR, 6.6)
    at = width - MARGIN - 12
    canvas.setFont(REGULAR, 8)
    canvas.drawRightString(at, FOOT - 19, f"page {number} of ")
    canvas.translate(at, FOOT - 19)
    canvas.doForm("pages")
    canvas.restoreState()


def count_pages(canvas: Canvas, number: int) -> None:
    """Fill in the number of pages, once it is known."""
    canvas.beginForm("pages", 0, -3, 40, 12)
    canvas.setFillColorRGB(*GREY)
    canvas.setFont(REGULAR, 8)
    canvas.drawString(0, 0, str(number))
    canvas.endForm()


def fitted(canvas: Canvas, text: str, x: float, y: float, wide: float, font: str, size: float) -> None:
    """A text on one line, set smaller where it would be too wide."""
    long = canvas.stringWidth(text, font, size)
    canvas.setFont(font, size if long <= wide else size * wide / long)
    canvas.drawString(x, y, text)


class Painting:
    """A drawing laid out for paper. size: cells.  least: inches to a column it is drawn at."""

    def __init__(self, drawing: Drawing, size: tuple[int, int], least: float = 0.0) -> None:
        self.page: Page = lay_out(drawing, *size, least=least)
        self.wide, self.high = size[0] * ACROSS, rows(self.page) * DOWN

    def paint(self, canvas: Canvas, x: float, y: float, scale: float) -> None:
        """Paint it with its upper left corner at a point. scale: points to a px."""
        canvas.saveState()
        canvas.translate(x, y)
        canvas.scale(scale, -scale)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        for shape in shapes(self.page):
            match shape:
                case Hatch(points, pattern):
                    _hatch(canvas, points, pattern)
                case Stroke(points, pen):
                    _stroke(canvas, points, pen)
                case Words():
                    _words(canvas, shape)
        canvas.restoreState()


class Map:
    """A sweep laid out for paper."""

    def __init__(self, swept: Sweep) -> None:
        self.picture = picture.picture(swept)
        self.wide, self.high = self.picture.wide, self.picture.high

    def paint(self, canvas: Canvas, x: float, y: float, scale: float) -> None:
        """Paint it with its upper left corner at a point. scale: points to a unit of the picture."""
        canvas.saveState()
        canvas.translate(x, y)
        canvas.scale(scale, -scale)
        canvas.setStrokeColorRGB(*INK)
        canvas.setLineWidth(1)
        for field in self.picture.fields:
            canvas.setFillGray((field.gray or 0) / 255)
            canvas.rect(
                field.x, field.y, field.wide, field.high, stroke=field.framed, fill=field.gray is not None
            )
        canvas.setLineWidth(picture.LINE)
        for turn in self.picture.turns:
            canvas.line(turn.x, turn.y, turn.x + turn.across, turn.y + turn.down)
        canvas.setFillColorRGB(*INK)
        canvas.setFont(REGULAR, picture.LETTER)
        draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
        for words in self.picture.words:
            canvas.saveState()
            canvas.translate(words.x, words.y)
            canvas.scale(1, -1)
            draw[words.anchor](0, 0, plain(words.text))
            canvas.restoreState()
        canvas.restoreState()


def _path(canvas: Canvas, points: Sequence[tuple[float, float]], *, close: bool) -> object:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if close:
        path.close()
    return path


def _stroke(canvas: Canvas, points: Sequence[tuple[float, float]], pen: str) -> None:
    width, dashes = PENS[pen]
    canvas.setStrokeColorRGB(*(GREY if pen == "reach" else INK))
    canvas.setLineWidth(width)
    canvas.setLineCap(0 if pen == "steel" else 1)
    canvas.setDash(list(dashes))
    canvas.drawPath(_path(canvas, points, close=False), stroke=1, fill=0)
    canvas.setDash([])


def _hatch(canvas: Canvas, points: Sequence[tuple[float, float]], pattern: str) -> None:
    """Fill a part with its pattern, so that parts and marks differ in grey too."""
    across, down = [x for x, _ in points], [y for _, y in points]
    x0, x1 = (math.floor(min(across) / TILE) * TILE, max(across))
    y0, y1 = (math.floor(min(down) / TILE) * TILE, max(down))
    canvas.saveState()
    canvas.clipPath(_path(canvas, points, close=True), stroke=0, fill=0)
    canvas.setStrokeColorRGB(*COLOURS[pattern])
    canvas.setLineWidth(0.6 if pattern in ("masonry", "wood") else 1.0)
    path = canvas.beginPath()
    steps = range(math.ceil((x1 - x0 + y1 - y0) / TILE) + 1)
    level = [y0 + step * TILE for step in range(math.ceil((y1 - y0) / TILE) + 1)]
    if pattern in ("masonry", "SHORT"):
        for step in steps:
            path.moveTo(x0 + step * TILE - (y1 - y0), y1)
            path.lineTo(x0 + step * TILE, y0)
    if pattern == "SHORT":
        for step in steps:
            path.moveTo(x0 + step * TILE - (y1 - y0), y0)
            path.lineTo(x0 + step * TILE, y1)
    if pattern == "CLOSE":
        for step in range(math.ceil((x1 - x0) / (TILE / 2)) + 1):
            path.moveTo(x0 + step * TILE / 2, y0)
            path.lineTo(x0 + step * TILE / 2, y1)
    if pattern == "wood":
        for y in level:
            for part in (2, 6):
                path.moveTo(x0, y + part)
                path.lineTo(x1, y + part)
    if pattern in ("hearth", "MEASURE", "REFER"):  # dots: short dashes with round ends
        canvas.setLineWidth(1.4 if pattern == "hearth" else 2.2)
        canvas.setDash([0.01, TILE - 0.01])
        for y in level:
            for part in (2, 6):
                path.moveTo(x0 + part, y + part)
                path.lineTo(x1, y + part)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.restoreState()


def _words(canvas: Canvas, words: Words) -> None:
    left, top, wide = words.left, words.top, words.wide
    font = BOLD if words.verdict else REGULAR
    canvas.setFillColorRGB(1, 1, 1)
    if words.verdict:
        canvas.setStrokeColorRGB(*COLOURS[words.verdict])
        canvas.setLineWidth(1.4)
        canvas.rect(left - 7, top, wide + 10, DOWN, stroke=1, fill=1)
        corners = ((left - 7, top), (left - 1, top), (left - 1, top + DOWN), (left - 7, top + DOWN))
        _hatch(canvas, corners, words.verdict)
    else:
        canvas.rect(left, top + 1, wide, DOWN - 2, stroke=0, fill=1)
    text = plain(words.text)
    long = canvas.stringWidth(text, font, TEXT + 1)
    size = min(TEXT + 1, (TEXT + 1) * wide / long) if long else TEXT
    canvas.saveState()
    canvas.setFillColorRGB(*COLOURS.get(words.verdict, INK))
    canvas.translate(words.x, words.y)
    canvas.scale(1, -1)
    canvas.setFont(font, size)
    canvas.drawCentredString(0, 0, text)
    canvas.restoreState()
