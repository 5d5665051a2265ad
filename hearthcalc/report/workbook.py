"""The report as a spreadsheet: a sheet for each part, tables with heads; text is text and never a formula, numbers are numbers."""

from __future__ import annotations

import datetime as dt
import io
import math
from collections.abc import Iterator, Sequence
from typing import Any

from hearthcalc import __version__
from hearthcalc.report.model import (
    Answer,
    Block,
    Box,
    Cell,
    Figures,
    Paragraph,
    Pictures,
    Report,
    Rows,
    Swept,
)
from hearthcalc.report.paper import PaperName, missing
from hearthcalc.report.plain import plain
from hearthcalc.whatif import sweep

LONGEST = 30000  # characters of a cell; the format ends at 32767
STARTS_A_FORMULA = "=+-@"
NAME_LENGTH = 31
FINDING = (
    "Subject", "Stage", "Verdict", "Question", "Answer", "Required", "Found", "Margin", "Required, number", "Found, number",
    "Margin, number", "Unit", "Caution", "Do", "Basis", "Id", "Face", "State", "Thing",
)  # fmt: skip
FINDING_WIDTHS = (18, 12, 10, 34, 60, 16, 16, 18, 10, 10, 10, 7, 40, 40, 60, 22, 12, 14, 14)
WORKING = ("Subject", "Stage", "Verdict", "Question", "Line")
WORKING_WIDTHS = (18, 12, 10, 34, 90)


def write(report: Report, size: PaperName = "letter", author: str = "") -> bytes:
    """The report as an .xlsx file. Raises UsageError where the library for it is not installed."""
    try:
        import xlsxwriter
    except ImportError as err:
        raise missing("A spreadsheet", err) from err
    assert report.stamp is not None, "what is handed over carries its stamp"
    stamp = report.stamp
    out = io.BytesIO()
    book = xlsxwriter.Workbook(
        out,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    book.set_properties(
        {
            "title": plain(report.title, 200), "author": plain(author, 200), "comments": " ".join(stamp.tokens()),
            "subject": "Checks of a fireplace against reference values; not an approval", "company": "",
            "keywords": f"hearthcalc {__version__}", "created": dt.datetime.combine(stamp.date, dt.time()),
        }
    )  # fmt: skip
    sheets = _Sheets(book, size, f"&7{stamp.line}&R&8page &P of &N")
    for title, blocks in _parts(report):
        sheets.add(title, blocks)
    book.close()
    return out.getvalue()


def _parts(report: Report) -> Iterator[tuple[str, list[Block]]]:
    """The blocks of each sheet, under the heading that it is named by; the first page is the first."""
    title, blocks = "Answer", list[Block]()
    for block in report.blocks:
        if isinstance(block, Paragraph) and block.style == "heading":
            yield title, blocks
            title, blocks = block.text, []
        else:
            blocks.append(block)
    yield title, blocks


class _Sheets:
    """A workbook while it is filled."""

    def __init__(self, book: Any, size: PaperName, footer: str) -> None:
        self.book = book
        self.size = size
        self.footer = footer
        self.names: set[str] = set()
        self.filtered: list[Any] = []
        wrap = {"text_wrap": True, "valign": "top"}
        self.formats = {
            "text": book.add_format(wrap),
            "quoted": book.add_format({**wrap, "quote_prefix": True}),
            "number": book.add_format({"valign": "top", "num_format": "0.###"}),
            "head": book.add_format({**wrap, "bold": True, "bg_color": "#EEF0F1", "bottom": 1}),
            "title": book.add_format({"bold": True, "font_size": 15}),
            "subheading": book.add_format({**wrap, "bold": True, "font_size": 12}),
            "caution": book.add_format({**wrap, "bold": True, "font_color": "#A01818"}),
            "verdict": book.add_format({**wrap, "bold": True}),
        }

    def add(self, title: str, blocks: Sequence[Block]) -> None:
        """A sheet with the blocks of one part, unless nothing of it can stand in cells."""
        if all(isinstance(block, Figures) for block in blocks):
            return
        sheet = self.book.add_worksheet(self._name(title))
        sheet.set_paper(1 if self.size == "letter" else 9)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_footer(self.footer)
        row, subject, widths = 0, "", list[float]()
        rows: list[tuple[Cell, ...]] = []
        for block in blocks:
            match block:
                case Answer():
                    rows += _working(subject, block) if not block.of else [_finding(subject, block)]
                case Paragraph(text, "subheading") if any(isinstance(other, Answer) for other in blocks):
                    subject = text
                case Paragraph(text, style):
                    row = self._line(sheet, row, text, style)
                    widths = widths or [110]
                case Rows():
                    row = self._table(sheet, row, block.columns, block.rows)
                    widths = (
                        [110 * share / sum(block.widths) for share in block.widths]
                        if block.widths
                        else [24] * len(block.columns)
                    )
                case Swept(swept):
                    axes = (f"{axis.spec.label} ({axis.address})" for axis in swept.axes)
                    columns = (*axes, "Verdict", "Margin", "Unit", "Message")
                    row = self._table(sheet, row, columns, sweep.cells(swept))
                    widths = [24.0] * (len(columns) - 1) + [70.0]
                case Pictures(pictures):
                    lines = [(picture.file, picture.line) for picture in pictures]
                    row = self._table(sheet, row, ("File", "What it shows"), lines)
                    widths = [40, 70]
                case Box():
                    row = self._line(sheet, row, f"{block.mark}: {block.label}", "text")
        if rows:
            findings = len(rows[0]) == len(FINDING)
            self._table(sheet, row, FINDING if findings else WORKING, rows)
            widths = list(FINDING_WIDTHS if findings else WORKING_WIDTHS)
        for column, width in enumerate(widths):
            sheet.set_column(column, column, width)

    def _name(self, title: str) -> str:
        """A name that a sheet may have: short, and without the signs that are kept for formulas."""
        kept = "".join(sign for sign in plain(title).split(":")[0] if sign not in "[]:*?/\\'")
        kept = kept[:NAME_LENGTH].strip() or "Sheet"
        name, number = kept, 2
        while name.lower() in self.names:
            name, number = f"{kept[: NAME_LENGTH - 4]} {number}", number + 1
        self.names.add(name.lower())
        return name

    def _line(self, sheet: Any, row: int, text: str, style: str) -> int:
        self._put(sheet, row, 0, text, style if style in self.formats else "text")
        return row + 1

    def _table(self, sheet: Any, row: int, columns: Sequence[str], rows: Sequence[Sequence[Cell]]) -> int:
        for column, text in enumerate(columns):
            self._put(sheet, row, column, text, "head")
        for number, cells in enumerate(rows, row + 1):
            for column, cell in enumerate(cells):
                self._put(sheet, number, column, cell, "text")
        last = row + len(rows)
        if row == 0:
            sheet.freeze_panes(1, 0)
            sheet.repeat_rows(0)
        if rows and sheet not in self.filtered:  # a sheet has one filter
            sheet.autofilter(row, 0, last, len(columns) - 1)
            self.filtered.append(sheet)
        return last + 2

    def _put(self, sheet: Any, row: int, column: int, cell: Cell, style: str) -> None:
        if not isinstance(cell, str):
            sheet.write_number(row, column, cell, self.formats["number"])
            return
        text = plain(cell, LONGEST)
        if text:
            quoted = style == "text" and text[0] in STARTS_A_FORMULA
            sheet.write_string(row, column, text, self.formats["quoted" if quoted else style])


def _finding(subject: str, answer: Answer) -> tuple[Cell, ...]:
    finding = answer.of
    assert finding is not None
    numbers: list[Cell] = []
    for figure in (finding.required, finding.found, finding.margin):
        value = figure.value if figure else None
        numbers.append(float(value) if value is not None and math.isfinite(value) else "")
    unit = next((figure.unit for figure in (finding.required, finding.found, finding.margin) if figure), "")
    details = [
        " ".join(text for label, text in answer.details if label == wanted)
        for wanted in ("Caution", "Do", "Basis")
    ]
    return (
        subject, answer.when, str(answer.verdict), answer.about, answer.text, *answer.figures, *numbers, unit, *details, finding.id,
        finding.face or "", finding.state or "", finding.item or "",
    )  # fmt: skip


def _working(subject: str, answer: Answer) -> list[tuple[Cell, ...]]:
    return [
        (subject, answer.when, str(answer.verdict), answer.about, f"{label}: {text}" if label else text)
        for label, text in answer.details
    ]
