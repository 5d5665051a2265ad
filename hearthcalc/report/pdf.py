"""The report as PDF: fonts within, bookmarks, drawings as vectors, the same bytes for the same job and date."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from hearthcalc.drawing.shapes import told_below
from hearthcalc.findings import Verdict
from hearthcalc.report import paper
from hearthcalc.report.model import (
    Answer,
    Blank,
    Block,
    Box,
    Figures,
    PageEnd,
    Paragraph,
    Pictures,
    Report,
    Rows,
    Swept,
    cell_text,
)
from hearthcalc.report.paper import BOLD, COLOURS, GREY, INK, MARGIN, PAPER, REGULAR, Map, Painting, PaperName
from hearthcalc.report.plain import plain

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

    from hearthcalc.report.photos import Picture

LARGE, SMALL = (104, 60), (44, 26)  # cells that a drawing is laid out on
HIGHEST = 0.8  # of a page, that one drawing takes
TALL = 0.3  # of a page, above which a row may go on over the page
LEAST_OF_A_ROW = 60  # pt of such a row that stand on either page
PHOTOS_APART, PHOTO_HIGH = 10.0, 240.0  # pt between two photographs, and of the highest
INK_ROOM = 34.0  # pt of a row that is to be signed in
ROOM = 22.0  # pt of a row that is to be written in
COLUMNS = ("Verdict", "Question and answer", "Required", "Found", "Margin")
NARROW = (62.0, 66.0, 62.0, 62.0)  # verdict, required, found, margin
BARS: dict[Verdict, tuple[float, list[float] | None]] = {
    Verdict.SHORT: (4.0, None), Verdict.CLOSE: (4.0, [5, 2]), Verdict.MEASURE: (4.0, [1.5, 2]), Verdict.REFER: (1.5, None),
}  # fmt: skip


def write(report: Report, size: PaperName = "letter", author: str = "") -> bytes:
    """The report as a PDF file. Raises UsageError where the library for it is not installed."""
    assert report.stamp is not None, "what is handed over carries its stamp"
    paper.load_fonts()
    from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

    stamp = report.stamp
    wide, high = PAPER[size]
    room = (wide - 2 * MARGIN, high - MARGIN - paper.FOOT - 14)
    out = io.BytesIO()
    pages = 0

    def on_page(canvas: Canvas, document: Any) -> None:
        nonlocal pages
        pages += 1
        if pages == 1:
            paper.head(canvas, report.title, author, stamp)
        paper.foot(canvas, PAPER[size], stamp, pages)

    document = BaseDocTemplate(
        out, pagesize=PAPER[size], invariant=1, lang="en-US", displayDocTitle=1, pageCompression=1, title=plain(report.title, 300),
        initialFontName=REGULAR,
    )  # fmt: skip
    frame = Frame(
        MARGIN,
        paper.FOOT + 10,
        *room,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
        id="page",
    )
    document.addPageTemplates(PageTemplate("page", [frame], onPage=on_page))
    document.build(
        [*_Story(room).story(report.blocks), _at_the_end(lambda canvas: paper.count_pages(canvas, pages))]
    )
    return out.getvalue()


class _Story:
    """The blocks of a report as what the library flows over pages. room: of a page, pt."""

    def __init__(self, room: tuple[float, float]) -> None:
        from reportlab.lib.styles import ParagraphStyle

        self.room = room
        self.marks = 0
        self.headed = False  # has a heading been set: before, subheadings stand alone
        self.read: dict[tuple[str, bool], Any] = {}  # how words of a style are set, bold or not

        def style(name: str, size: float, lead: float, **more: Any) -> ParagraphStyle:
            values = {
                "fontName": REGULAR, "bulletFontName": REGULAR, "bulletFontSize": size, "textColor": INK, "splitLongWords": 1,
                "spaceAfter": 2, **more,
            }  # fmt: skip
            return ParagraphStyle(name, fontSize=size, leading=lead, **values)

        self.styles = {
            "title": style("title", 17, 20, fontName=BOLD, spaceAfter=3),
            "heading": style("heading", 14, 17, fontName=BOLD, spaceBefore=14, spaceAfter=4),
            "subheading": style("subheading", 11, 13.5, fontName=BOLD, spaceBefore=7, spaceAfter=3),
            "caution": style("caution", 8.6, 10.4, spaceAfter=1.5),
            "text": style("text", 9.5, 11.8),
            "item": style("item", 9.5, 11.8, leftIndent=15, bulletIndent=0),
            "verdict": style("verdict", 10.5, 12.8, fontName=BOLD),
            "note": style("note", 8.4, 10.2, textColor=GREY),
            "cell": style("cell", 8.4, 10.1, spaceAfter=0),
            "about": style("about", 8.8, 10.6, fontName=BOLD, spaceAfter=0),
            "detail": style("detail", 7.8, 9.4, leftIndent=8, bulletIndent=0, spaceAfter=0),
            "when": style("when", 7.8, 9.4, textColor=GREY, spaceAfter=0),
            "number": style("number", 8.4, 10.1, alignment=2, spaceAfter=0),
            "head": style("head", 8.2, 9.8, fontName=BOLD, spaceAfter=0),
        }

    def say(self, text: str, style: str, bullet: str = "", *, bold: bool = False) -> Any:
        """Text as a paragraph. The library's reading of markup takes long: it reads only what holds a sign of it, and once "x"."""
        from reportlab.platypus.paragraph import cleanBlockQuotedText

        def marked(words: str) -> str:
            return f"<b>{words}</b>" if bold else words

        said, kind, mark = plain(text), self.styles[style], bullet or None
        words = cleanBlockQuotedText(said)
        if not words or escape(said) != said:
            return _flowing()(marked(escape(said) or " "), kind, bulletText=mark)
        if (style, bold) not in self.read:
            (self.read[style, bold],) = _flowing()(marked("x"), kind).frags
        return _flowing()("", kind, bulletText=mark, frags=[self.read[style, bold].clone(text=words)])

    def story(self, blocks: Sequence[Block]) -> list[Any]:
        """All blocks; those up to the first page end are shrunk to one page."""
        from reportlab.platypus import KeepInFrame

        ends = next((at for at, block in enumerate(blocks) if isinstance(block, PageEnd)), 0)
        first = list(self._flow(blocks[:ends]))
        kept = [KeepInFrame(*self.room, first, mode="shrink", hAlign="LEFT")] if first else []
        return [*kept, *self._headed(list(self._flow(blocks[ends:])))]

    def _headed(self, flow: Sequence[Any]) -> Iterator[Any]:
        """No heading at the foot of a page: each has room below it for the words after it and the start of what they lead to."""
        from reportlab.platypus import CondPageBreak

        for at, one in enumerate(flow):
            if getattr(one, "heads", False) and not (at and getattr(flow[at - 1], "heads", False)):
                need = 0.0
                for after in flow[at:]:
                    need += self._least(after)
                    if not isinstance(after, _flowing()):
                        break
                yield CondPageBreak(min(need, self.room[1]))
            yield one

    def _least(self, one: Any) -> float:
        """How much room it takes to begin with something: as a whole, unless it is a table."""
        if hasattr(one, "least"):
            return float(one.least)
        return float(one.wrap(*self.room)[1] + one.getSpaceBefore() + one.getSpaceAfter())

    def _together(self, parts: Sequence[Any]) -> Any:
        """What stays on one page."""
        from reportlab.platypus import KeepTogether

        kept: Any = KeepTogether(list(parts))
        kept.least = sum(map(self._least, parts))
        return kept

    def _flow(self, blocks: Sequence[Block]) -> Iterator[Any]:
        at = 0
        while at < len(blocks):
            kind = type(blocks[at])
            cautions = _is(blocks[at], "caution")
            end = at + 1
            while end < len(blocks) and (
                (kind is Answer and isinstance(blocks[end], Answer))
                or (cautions and _is(blocks[end], "caution"))
            ):
                end += 1
            run = blocks[at:end]
            if cautions:
                yield self._cautions([block.text for block in run if isinstance(block, Paragraph)])
            elif kind is Answer:
                yield self._answers([block for block in run if isinstance(block, Answer)])
            else:
                yield from self._one(run[0])
            at = end

    def _one(self, block: Block) -> Iterator[Any]:
        from reportlab.platypus import PageBreak, Spacer

        match block:
            case Paragraph(text, "title" | "heading" | "subheading" as style):
                yield self._heading(text, style)
            case Paragraph(text, "item"):
                number, _, rest = text.partition(" ")
                yield self.say(rest, "item", number)
            case Paragraph(text, style):
                yield self.say(text, style)
            case Rows():
                yield self._table(block)
                yield Spacer(1, 6)
            case Figures(drawings, small):
                if small:
                    yield self._small(drawings)
                else:
                    for drawing in drawings:
                        yield self._large(drawing)
            case Pictures(pictures):
                for at in range(0, len(pictures), 2):
                    yield self._photos(pictures[at : at + 2])
            case Swept(swept):
                yield _painted(Map(swept), self.room[0], self.room[1] * HIGHEST)
            case Box():
                yield self._box(block)
                yield Spacer(1, 5)
            case Blank(lines):
                yield from (_ruled(self.room[0]) for _ in range(lines))
            case PageEnd():
                yield PageBreak()
            case _:
                raise TypeError(f"no such block: {block!r}")

    def _heading(self, text: str, style: str) -> Any:
        """A heading that bookmarks itself where it comes to stand."""
        self.marks += 1
        key = f"h{self.marks}"
        self.headed = self.headed or style == "heading"
        level = {"title": 0, "heading": 0}.get(style, 1)

        class Heading(_flowing()):  # type: ignore[misc]
            heads = True

            def draw(self) -> None:
                self.canv.bookmarkHorizontal(key, 0, self.height)
                self.canv.addOutlineEntry(plain(text, 120) or "-", key, level, closed=level == 0)
                super().draw()

        return Heading(escape(plain(text)) or " ", self.styles[style])

    def _cautions(self, texts: Sequence[str]) -> Any:
        from reportlab.platypus import Table

        table = Table(
            [[[self.say(text, "caution", "!") for text in texts]]],
            colWidths=[self.room[0]],
            spaceBefore=4,
            spaceAfter=4,
        )
        table.setStyle(
            [_FONT, ("BOX", (0, 0), (-1, -1), 1.4, COLOURS["SHORT"]), ("TOPPADDING", (0, 0), (-1, -1), 3)]
        )
        self.styles["caution"].leftIndent = 9
        return table

    def _answers(self, answers: Sequence[Answer]) -> Any:

        figured = any(any(answer.figures) for answer in answers)
        columns = COLUMNS if figured else COLUMNS[:2]
        narrow = NARROW if figured else NARROW[:1]
        widths = [narrow[0], self.room[0] - sum(narrow), *narrow[1:]]
        cells: list[list[Any]] = []
        bars: list[Any] = []
        for number, answer in enumerate(answers, 1):
            verdict = [self.say(str(answer.verdict), "about")]
            if answer.when:
                verdict.append(self.say(answer.when, "when"))
            cell = [self.say(answer.about, "about")]
            if answer.text:
                cell.append(self.say(answer.text, "cell"))
            cell += [self._detail(label, text) for label, text in answer.details]
            figures = [self.say(figure, "cell") for figure in answer.figures] if figured else []
            cells.append([verdict, cell, *figures])
            if bar := BARS.get(answer.verdict):
                width, dash = bar
                colour = COLOURS[str(answer.verdict)]
                bars.append(("LINEBEFORE", (0, number), (0, number), width, colour, 0, dash))
        return self._grid(columns, cells, widths, bars)

    def _detail(self, label: str, text: str) -> Any:
        line = f"{label}: {text}" if label else text
        return self.say(line, "detail", "·", bold=label == "Caution")

    def _table(self, rows: Rows) -> Any:
        from reportlab.platypus import Spacer

        shares = rows.widths or (1.0,) * len(rows.columns)
        widths = [self.room[0] * share / sum(shares) for share in shares]
        cells: list[list[Any]] = [
            [self.say(cell_text(cell), "cell" if isinstance(cell, str) else "number") for cell in row]
            for row in rows.rows
        ]
        if rows.ink:
            for row_of_cells in cells:
                row_of_cells[-1] = Spacer(1, INK_ROOM)
        heights = [None if any(cell != "" for cell in row) else ROOM for row in rows.rows]
        return self._grid(rows.columns, cells, widths, heights=heights)

    def _grid(
        self,
        columns: Sequence[str],
        cells: Sequence[Sequence[Any]],
        widths: Sequence[float],
        lines: Sequence[Any] = (),
        heights: Sequence[float | None] | None = None,
    ) -> Any:
        """A table with a head that stands on each of its pages; a row that is tall goes on over the page."""
        from reportlab.platypus import Table

        head = [self.say(column, "head") for column in columns]
        high = [None, *heights] if heights else None
        table = Table([head, *map(list, cells)], widths, high, repeatRows=1, spaceBefore=2, spaceAfter=4)
        table.setStyle([*_GRID, *lines])
        return self._breaking(table)

    def _breaking(self, table: Any) -> Any:
        """A table, whose rows may go on over the page where one of them is tall. least: pt that it takes to begin with it."""
        table.wrap(*self.room)
        rows: list[float] = table._rowHeights
        tall = max(rows) > self.room[1] * TALL
        table.splitInRow = LEAST_OF_A_ROW if tall else 0
        table.least = rows[0] + sum(min(row, LEAST_OF_A_ROW) if tall else row for row in rows[1:2])
        return table

    def _small(self, drawings: Sequence[Any]) -> Any:
        from reportlab.platypus import Table

        gap = 8.0
        wide = (self.room[0] - gap * (len(drawings) - 1)) / len(drawings)
        painted = [_painted(Painting(drawing, SMALL), wide, 190.0) for drawing in drawings]
        names = [self.say(drawing.title, "note") for drawing in drawings]
        table = Table(
            [painted, names], colWidths=[wide + gap * (at < len(drawings) - 1) for at in range(len(drawings))]
        )
        table.setStyle(
            [
                _FONT,
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
                ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            ]
        )
        return table

    def _photos(self, pictures: Sequence[Picture]) -> Any:
        """One or two photographs side by side, each with its line below."""
        from reportlab.platypus import Table

        wide = (self.room[0] - PHOTOS_APART) / 2
        shown = [_photo(picture, wide, PHOTO_HIGH) for picture in pictures]
        lines = [self.say(picture.line, "note") for picture in pictures]
        table = Table(
            [shown, lines],
            colWidths=[wide + PHOTOS_APART, wide][: len(pictures)],
            hAlign="LEFT",
            spaceAfter=6,
        )
        table.setStyle(
            [
                _FONT,
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 1), (0, 1), PHOTOS_APART),
                ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
                ("VALIGN", (0, 1), (-1, 1), "TOP"),
            ]
        )
        return self._together([table])

    def _large(self, drawing: Any) -> Any:
        painting = Painting(drawing, LARGE)
        below = [self.say(text, "note") for text in told_below(painting.page)]
        picture = _painted(painting, self.room[0], self.room[1] * HIGHEST)
        return self._together([self._heading(drawing.title, "subheading"), picture, *below])

    def _box(self, box: Box) -> Any:
        from reportlab.platypus import Table

        words = [
            self.say(box.label, "about"),
            self.say(box.how, "cell"),
            *(self.say(limit, "note") for limit in box.limits),
        ]
        ticks = "  ".join(
            f"[\u00a0\u00a0\u00a0\u00a0]\u00a0{choice.replace(' ', chr(0xA0))}" for choice in box.choices
        )
        room = ticks or f"______________________ {box.unit}"
        widths = [26.0, self.room[0] * 0.5, self.room[0] * 0.5 - 26]
        mark = self.say(box.mark, "verdict")
        answer = [self.say(room, "text"), self.say("Notes", "note")]
        table = Table([[mark, words, answer]], colWidths=widths)
        table.setStyle(
            [
                _FONT,
                ("BOX", (0, 0), (-1, -1), 1, INK), ("LINEAFTER", (0, 0), (1, -1), 0.5, GREY), ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 12),
            ]
        )  # fmt: skip
        return self._breaking(table)


# The library sets the font of a cell before what stands in it, and its own is not within the file
_FONT = ("FONTNAME", (0, 0), (-1, -1), REGULAR)
_GRID: list[Any] = [
    _FONT, ("GRID", (0, 0), (-1, -1), 0.4, (0.72, 0.75, 0.77)), ("BACKGROUND", (0, 0), (-1, 0), (0.93, 0.94, 0.945)),
    ("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ("LEFTPADDING", (0, 0), (-1, -1), 4), ("RIGHTPADDING", (0, 0), (-1, -1), 4),
]  # fmt: skip


@cache
def _flowing() -> Any:
    """The library's paragraph, which would break its lines anew each time it is asked how high it is."""
    from reportlab.platypus import Paragraph as Flowing

    class Once(Flowing):
        _known: tuple[float, tuple[float, float]] | None = None

        def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - the library's names
            if self._known is None or self._known[0] != aW or not hasattr(self, "blPara"):
                self._known = (aW, super().wrap(aW, aH))
            return self._known[1]

    return Once


def _is(block: Block, style: str) -> bool:
    return isinstance(block, Paragraph) and block.style == style


def _painted(painting: Painting | Map, wide: float, high: float) -> Any:
    """A drawing as what the library flows, no wider and no higher than so many points."""
    from reportlab.platypus import Flowable

    scale = min(wide / painting.wide, high / painting.high)

    class Picture(Flowable):
        def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - the library's names
            return painting.wide * scale, painting.high * scale

        def draw(self) -> None:
            painting.paint(self.canv, 0, painting.high * scale, scale)

    return Picture()


def _photo(picture: Picture, wide: float, high: float) -> Any:
    """A photograph as what the library flows, no wider and no higher than so many points."""
    from reportlab.lib.utils import ImageReader
    from reportlab.platypus import Flowable

    scale = min(wide / picture.wide, high / picture.high)

    class Photo(Flowable):
        def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - the library's names
            return picture.wide * scale, picture.high * scale

        def draw(self) -> None:
            reader = ImageReader(io.BytesIO(picture.jpeg))
            self.canv.drawImage(reader, 0, 0, picture.wide * scale, picture.high * scale)

    return Photo()


def _at_the_end(do: Callable[[Canvas], None]) -> Any:
    """What takes no room, and does something where it comes to stand."""
    from reportlab.platypus import Flowable

    class Last(Flowable):
        def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803 - the library's names
            return 0.0, 0.0

        def draw(self) -> None:
            do(self.canv)

    return Last()


def _ruled(wide: float) -> Any:
    from reportlab.platypus import HRFlowable

    return HRFlowable(width=wide, thickness=0.5, color=GREY, spaceBefore=20, spaceAfter=0)
