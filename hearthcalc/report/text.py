"""The report as plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from hearthcalc.report.model import Answer, Block, Paragraph, Report, Rows


def write(report: Report, width: int = 80) -> str:
    """The report as lines of at most width characters, where its words allow it."""
    lines: list[str] = []
    for block in report.blocks:
        lines += _block(block, max(width, 40))
    return "\n".join(lines).strip() + "\n"


def _block(block: Block, width: int) -> Iterator[str]:
    match block:
        case Paragraph(text, "title"):
            yield from (text, "=" * min(len(text), width), "")
        case Paragraph(text, "heading"):
            yield from ("", text.upper(), "-" * min(len(text), width))
        case Paragraph(text, "subheading"):
            yield from ("", text)
        case Paragraph(text, "caution"):
            yield from _wrap(text, width, "! ")
        case Paragraph(text, _):
            yield from _wrap(text, width, "")
        case Answer(verdict, about, text, details):
            yield from _wrap(f"{verdict.sign} {verdict:<7} {about}", width, "  ", "            ")
            yield from _wrap(text, width, "            ")
            for label, detail in details:
                yield from _wrap(f"{label}: {detail}", width, "            - ", "              ")
        case Rows(columns, rows):
            yield from _table(columns, rows, width)


def _wrap(text: str, width: int, first: str, rest: str | None = None) -> list[str]:
    indent = " " * len(first) if rest is None else rest
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [first]


def _table(columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...], width: int) -> Iterator[str]:
    widths = [max(len(row[i]) for row in (columns, *rows)) for i in range(len(columns))]
    if sum(widths) + 2 * len(widths) <= width:
        for row in (columns, *rows):
            yield "  " + "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip()
        return
    for row in rows:
        if len(columns) > 3:
            cells = "; ".join(f"{name} {cell}" for name, cell in zip(columns[1:], row[1:], strict=True))
            yield from _wrap(f"{row[0]}: {cells}", width, "  ", "      ")
        else:
            yield from _wrap(f"{row[0]}: {row[1]}", width, "  ", "      ")
            yield from _wrap(" ".join(row[2:]), width, "      ")
