"""The report as Markdown: text of people is escaped, so that it is neither markup nor a link."""

from __future__ import annotations

import re
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

LEVELS = {"title": "#", "heading": "##", "subheading": "###"}
WIDTH, SMALL, LARGE = 96, 18, 34  # cells and rows of a drawing

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>|#~&$^!])")
_AT_START = re.compile(r"^(\s*)([-+=]|\d+(?=[.)]))")
_LINK = re.compile(r"(?i)(://|\bwww\.|@)")


def write(report: Report) -> str:
    """The report as one Markdown text."""
    lines: list[str] = []
    for block in report.blocks:
        lines += [*_block(block), ""]
    if report.stamp:
        lines += [
            _safe(report.stamp.line),
            "",
            "Fingerprints, for hearthcalc verify:",
            "",
            "```",
            *report.stamp.tokens(),
            "```",
        ]
    return "\n".join(lines).strip() + "\n"


def _safe(text: str) -> str:
    """Text that Markdown takes as it reads."""
    escaped = _SPECIAL.sub(r"\\\1", plain(text).strip())
    escaped = _LINK.sub(
        lambda match: match[1].replace(":", "\\:").replace(".", "\\.").replace("@", "\\@"), escaped
    )
    return _AT_START.sub(
        lambda match: f"{match[1]}\\{match[2]}" if not match[2].isdigit() else match[0], escaped
    )


def _block(block: Block) -> Iterator[str]:
    match block:
        case Paragraph(text, "title" | "heading" | "subheading" as style):
            yield f"{LEVELS[style]} {_safe(text)}"
        case Paragraph(text, "caution"):
            yield f"> {_safe(text)}"
        case Paragraph(text, "verdict"):
            yield f"**{_safe(text)}**"
        case Paragraph(text, "item"):
            number, _, rest = text.partition(". ")
            yield f"{number}. {_safe(rest)}"
        case Paragraph(text, _):
            yield _number_kept(_safe(text))
        case Answer():
            yield from _answer(block)
        case Pictures(pictures):
            yield from (f"- {_safe(picture.line)}: {_safe(picture.file)}" for picture in pictures)
        case Rows(columns, rows):
            yield _row(columns)
            yield "|" + " --- |" * len(columns)
            yield from (_row(tuple(map(cell_text, row))) for row in rows)
        case Figures(drawings, small):
            from hearthcalc.drawing import as_text

            for drawing in drawings:
                yield from (
                    f"    {plain(line)}" for line in as_text(drawing, WIDTH, SMALL if small else LARGE)
                )
                yield ""
        case Swept(swept):
            from hearthcalc.whatif import sweep

            yield from (f"    {plain(line)}" for line in sweep.text(swept).splitlines())
        case Box():
            yield f"- **{_safe(block.mark)}** {_safe(block.label)}: {_safe(block.how)} {_safe(' '.join(block.limits))}"
        case Blank() | PageEnd():
            yield "---"


def _answer(answer: Answer) -> Iterator[str]:
    when = f" ({answer.when})" if answer.when else ""
    yield f"- **{_safe(f'{answer.verdict.sign} {answer.verdict}')} · {_safe(answer.about)}**{_safe(when)}"
    for line in (answer.text, figures_line(answer)):
        if line:
            yield f"  {_number_kept(_safe(line))}"
    for label, detail in answer.details:
        yield f"  - {_safe(f'{label}: {detail}' if label else detail)}"


def _number_kept(text: str) -> str:
    """A text that begins like an item of a list, kept from being one."""
    return re.sub(r"^(\d+)([.)])(?=\s|$)", r"\1\\\2", text)


def _row(cells: tuple[str, ...]) -> str:
    return "| " + " | ".join(_safe(cell) for cell in cells) + " |"
