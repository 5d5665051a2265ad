"""Which writer makes which kind of report: each is loaded where its kind is wanted."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hearthcalc.report.model import Report
    from hearthcalc.report.paper import PaperName

REPORTS = (".pdf", ".html", ".md", ".txt", ".xlsx")


def write(report: Report, ending: str, paper: PaperName = "letter", author: str = "") -> bytes:
    """A report as a file of one of the kinds of REPORTS. Raises UsageError where a library for it is not installed."""
    from hearthcalc.report import html, markdown, pdf, text, workbook

    match ending:
        case ".pdf":
            return pdf.write(report, paper, author)
        case ".xlsx":
            return workbook.write(report, paper, author)
        case ".html":
            return html.write(report).encode()
        case ".md":
            return markdown.write(report).encode()
        case _:
            return text.write(report).encode()
