"""The report as plain text."""

from __future__ import annotations

from collections.abc import Iterator

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
    figures_line,
)
from hearthcalc.report.plain import plain

SMALL, LARGE = 18, 34  # rows of a drawing
RULED = "_" * 24


def write(report: Report, width: int = 80) -> str:
    """The report as lines of at most width cells; a word that is longer is broken."""
    wide = max(width, 40)
    lines: list[str] = []
    for block in report.blocks:
        lines += _block(block, wide)
    if report.stamp:
        lines += [
            "",
            *_wrap(report.stamp.line, wide, ""),
            "Fingerprints, for hearthcalc verify:",
            *report.stamp.tokens(),
        ]
    return "\n".join(lines).strip() + "\n"


def _block(block: Block, width: int) -> Iterator[str]:
    match block:
        case Paragraph(text, "title"):
            lines = _wrap(text, width, "")
            yield from (*lines, "=" * min(max(map(len, lines)), width), "")
        case Paragraph(text, "heading"):
            yield from ("", *_wrap(text.upper(), width, ""), "-" * min(len(text), width))
        case Paragraph(text, "subheading"):
            yield from ("", *_wrap(text, width, ""))
        case Paragraph(text, "caution"):
            yield from _wrap(text, width, "! ")
        case Paragraph(text, "item"):
            yield from _wrap(text, width, "  ", "     ")
        case Paragraph(text, _):
            yield from _wrap(text, width, "")
        case Answer():
            yield from _answer(block, width)
        case Pictures(pictures):
            for picture in pictures:
                yield from _wrap(f"{picture.line}: {picture.file}", width, "  ", "      ")
        case Rows(columns, rows):
            cells = [tuple(map(cell_text, row)) for row in rows]
            cells = [(*row[:-1], RULED) for row in cells] if block.ink else cells
            yield from _table(columns, tuple(cells), width)
        case Figures(drawings, small):
            from hearthcalc.drawing import as_text

            for drawing in drawings:
                yield from ("", *as_text(drawing, width, SMALL if small else LARGE))
        case Swept(swept):
            from hearthcalc.whatif import sweep

            yield from ("", *(plain(line) for line in sweep.text(swept).splitlines()))
        case Box():
            yield from _box(block, width)
        case Blank(lines):
            yield from ["", "_" * width] * lines
        case PageEnd():
            yield ""


def _answer(answer: Answer, width: int) -> Iterator[str]:
    when = f" [{answer.when}]" if answer.when else ""
    yield from _wrap(
        f"{answer.verdict.sign} {answer.verdict:<7} {answer.about}{when}", width, "  ", "            "
    )
    for line in (answer.text, figures_line(answer)):
        if line:
            yield from _wrap(line, width, "            ")
    for label, detail in answer.details:
        yield from _wrap(f"{label}: {detail}" if label else detail, width, "            - ", "              ")


def _box(box: Box, width: int) -> Iterator[str]:
    yield ""
    yield from _wrap(f"[{box.mark}] {box.label}", width, "", "    ")
    yield from _wrap(box.how, width, "    ")
    for limit in box.limits:
        yield from _wrap(limit, width, "    ", "      ")
    if box.choices:
        yield from _wrap("   ".join(f"[ ] {choice}" for choice in box.choices), width, "    ")
    else:
        yield f"    {RULED} {box.unit}".rstrip()
    yield f"    Notes: {'_' * (width - 11)}"


def _wrap(text: str, width: int, first: str, rest: str | None = None) -> list[str]:
    """Text in lines of so many cells. first, rest: what its first line and the others begin with."""
    from hearthcalc.drawing.parts import cells

    indent = " " * len(first) if rest is None else rest
    said = plain(text)
    if said.isascii() and "  " not in said and said == said.strip(" "):
        return _in_ascii(said, width, first, indent)
    lines, line, used = [], first, cells(first)
    for run in said.split(" "):
        word, wide = run, cells(run)
        blank = "" if line in (first, indent) else " "
        if word and line != first and used + len(blank) + wide > width:
            lines.append(line.rstrip())
            line, used, blank = indent, cells(indent), ""
        while used + len(blank) + wide > width:
            head = _fitting(word, width - used - len(blank))
            lines.append(line + blank + word[:head])
            line, used, blank, word = indent, cells(indent), "", word[head:]
            wide = cells(word)
        line += blank + word
        used += len(blank) + wide
    return [*lines, line.rstrip()]


def _in_ascii(said: str, width: int, first: str, indent: str) -> list[str]:
    """As _wrap, of words with one blank between them, all of whose signs take one cell: most of a report."""
    lines, begin = [], first
    while len(begin) + len(said) > width:
        room = width - len(begin)
        cut = said.rfind(" ", 0, room + 1)
        lines.append(begin + said[: room if cut < 0 else cut])
        said, begin = said[room if cut < 0 else cut + 1 :], indent
    return [*lines, (begin + said).rstrip()]


def _fitting(word: str, width: int) -> int:
    """How many characters of a word go into so many cells; one at least."""
    from hearthcalc.drawing.parts import cells

    count = min(len(word), width)
    while count > 1 and cells(word[:count]) > width:
        count -= 1
    return max(count, 1)


def _table(columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...], width: int) -> Iterator[str]:
    widths = [max(len(row[i]) for row in (columns, *rows)) for i in range(len(columns))]
    if sum(widths) + 2 * len(widths) <= width:
        for row in (columns, *rows):
            yield "  " + "  ".join(plain(cell).ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip()
        return
    for row in rows:
        if len(columns) > 3:
            named = zip(columns[1:], row[1:], strict=True)
            cells = "; ".join(f"{name} {cell}" for name, cell in named if cell)
            yield from _wrap(f"{row[0]}: {cells}", width, "  ", "      ")
        else:
            yield from _wrap(f"{row[0]}: {row[1]}", width, "  ", "      ")
            yield from _wrap(" ".join(row[2:]), width, "      ")
