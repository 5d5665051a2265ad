"""The report as one page of HTML: no script, nothing from anywhere else, headings and tables that a screen reader can walk."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Sequence
from html import escape

from hearthcalc import caution
from hearthcalc.report.model import (
    Answer,
    Blank,
    Block,
    Box,
    Cell,
    Figures,
    PageEnd,
    Paragraph,
    Pictures,
    Report,
    Rows,
    Swept,
    cell_text,
)
from hearthcalc.report.plain import plain

SMALL = (48, 24)  # cells that a small drawing is laid out on

STYLE = """
:root{color-scheme:light}
*{box-sizing:border-box}
body{margin:0 auto;padding:1.5rem;max-width:62rem;background:#fff;color:#1c2126;
 font:16px/1.45 "Source Sans Pro","Segoe UI",Roboto,"Helvetica Neue",Arial,sans-serif;overflow-wrap:anywhere}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .3rem}
h2{font-size:1.3rem;margin:2.2rem 0 .5rem;padding-bottom:.2rem;border-bottom:2px solid #1c2126;break-after:avoid}
h3{font-size:1.05rem;margin:1.3rem 0 .4rem;break-after:avoid}
p{margin:.3rem 0}
.note{color:#4a525a;font-size:.88em}
.cautions{border:2px solid #a01818;padding:.5rem .9rem;margin:.8rem 0}
.cautions p{margin:.25rem 0}
.cautions p::before{content:"! ";font-weight:bold}
.verdict{font-weight:bold;font-size:1.05em}
ol{margin:.3rem 0;padding-left:1.6rem}
nav ul{columns:3 13rem;padding-left:1.2rem}
table{border-collapse:collapse;table-layout:fixed;width:100%;margin:.5em 0;font-size:.92em}
th,td{text-align:left;vertical-align:top;padding:.25em .5em;border:1px solid #868c92}
thead th{background:#eef0f1}
tbody th{font-weight:normal}
tbody tr{break-inside:avoid}
.n{text-align:right;white-space:nowrap}
.findings thead th:first-child{width:7.2em}
.findings .f{width:7.6em}
.sign{font-weight:bold;white-space:nowrap}
.SHORT .sign{color:#a01818}.CLOSE .sign{color:#7a4d00}.MEASURE .sign{color:#14488a}
.SHORT>td:first-child{border-left:6px solid #a01818}.CLOSE>td:first-child{border-left:6px dashed #7a4d00}
.MEASURE>td:first-child{border-left:6px dotted #14488a}.REFER>td:first-child{border-left:6px double #4a525a}
.about{font-weight:bold}
.findings ul{margin:.2em 0;padding-left:1.1em;font-size:.9em;line-height:1.32}
.caution{font-weight:bold}
figure{margin:1rem 0;break-inside:avoid}
figure svg{max-width:100%;height:auto;display:block}
figcaption{font-size:.85em;color:#4a525a}
.row{display:flex;gap:.8rem;flex-wrap:wrap}
.row figure{flex:1 1 13rem;margin:.4rem 0}
figure img{max-width:100%;height:auto;display:block;border:1px solid #868c92}
.photos figure{flex:0 1 calc(50% - .4rem);min-width:13rem}
.ink td:last-child{height:3.2em;min-width:9em}
.box{border:1px solid #1c2126;padding:.5rem .7rem;margin:.6rem 0;break-inside:avoid}
.box .mark{display:inline-block;min-width:1.7rem;border:2px solid #1c2126;text-align:center;font-weight:bold;margin-right:.5rem}
.box .line{display:inline-block;width:14rem;max-width:60%;border-bottom:1px solid #1c2126;height:1.7rem}
.tick{display:inline-block;width:.9rem;height:.9rem;border:1px solid #1c2126;margin:0 .35rem 0 0;vertical-align:-.1rem}
.choice{display:inline-block;margin-right:1.1rem}
.rule{border-bottom:1px solid #6d757c;height:1.9rem}
footer{margin-top:2.5em;padding-top:.5em;border-top:1px solid #868c92;font-size:.8em;color:#4a525a}
footer code{font-size:.9em}
footer p{break-inside:avoid}
@media screen and (max-width:44rem){
 body{padding:1rem}
 table,tbody,tr,td,tbody th{display:block;width:auto}
 thead{position:absolute;left:-100rem}
 table{font-size:1em}
 tr{margin:.7em 0;border:1px solid #6d757c}
 td,tbody th{border:0}
 tbody th{font-weight:bold}
 .findings tbody th{font-weight:normal}
 td:empty{display:none}
 td[data-head]::before{content:attr(data-head) ": ";color:#4a525a}
 .n{text-align:left}
 .ink td:last-child{display:block;border-bottom:1px solid #1c2126;margin:.5em}
}
@media print{
 body{max-width:none;padding:0;font-size:9pt;line-height:1.3}
 nav{display:none}
 .first{break-after:page}
 .first .cautions{font-size:8pt;padding:3pt 7pt;margin:5pt 0}
 .first .cautions p{margin:1pt 0}
 .first h2{font-size:10.5pt;margin:6pt 0 2pt;padding:0;border:0}
 .first p,.first ol{margin:1.5pt 0}
 h1{font-size:15pt}h2{font-size:12.5pt;margin-top:14pt}h3{font-size:10.5pt;margin:8pt 0 2pt}
 table{font-size:8pt}
 .row{flex-wrap:nowrap}.row figure{flex:1 1 0;margin:3pt 0}
 .photos{display:block}.photos figure{display:inline-block;width:46%;vertical-align:top;margin:3pt 1%}
 figure svg{max-height:215mm}
 figure img{max-height:110mm;width:auto}
}
"""


def write(report: Report) -> str:
    """The report as one HTML document."""
    from hearthcalc.drawing.svg import STYLE as DRAWN

    stamp = report.stamp
    foot = plain(stamp.line) if stamp else ""
    headings = [
        block.text for block in report.blocks if isinstance(block, Paragraph) and block.style == "heading"
    ]
    body = list(_Body().blocks(report.blocks))
    nav = [
        '<nav aria-label="Contents"><h2>Contents</h2><ul>',
        *(f'<li><a href="#s{number}">{_e(text)}</a></li>' for number, text in enumerate(headings, 1)),
        "</ul></nav>",
    ]
    at = body.index(_FIRST_ENDS) if _FIRST_ENDS in body else 0
    page = (
        f'@page{{margin:16mm 15mm 18mm;@bottom-left{{content:{_css(caution.LINE)} "\\a " {_css(foot)};'
        "white-space:pre-line;font:6pt sans-serif;text-align:left}"
        '@bottom-right{content:"page " counter(page) " of " counter(pages);white-space:nowrap;font:8pt sans-serif}}'
    )
    widths = "".join(f".w{share}{{width:{share}%}}" for share in range(1, 100))
    style = f"{STYLE}{widths}{page}{DRAWN}"
    pictured = "; img-src data:" if any(isinstance(block, Pictures) for block in report.blocks) else ""
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-{_digest(style)}'{pictured}\">",
        f"<title>{_e(report.title)}</title>",
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        "<main>",
        *(['<div class="first">'] if at else []),
        *body[:at],
        *(["</div>"] if at else []),
        *(nav if at and headings else []),
        *(line for line in body[at:] if line != _FIRST_ENDS),
        "</main>",
    ]
    if stamp:
        lines += [
            f'<footer data-hearthcalc="{_e(" ".join(stamp.tokens()))}">',
            f"<p>{_e(foot)}</p>",
            "<p>Fingerprints, for hearthcalc verify:<br><code>"
            + "<br>".join(map(_e, stamp.tokens()))
            + "</code></p>",
            "</footer>",
        ]
    return "\n".join([*lines, "</body>", "</html>"]) + "\n"


_FIRST_ENDS = "<!-- the first page ends -->"
_COLUMNS = ("Verdict", "Question and answer", "Required", "Found", "Margin")


def _digest(style: str) -> str:
    """What a browser holds a style sheet against before it takes it, so that no other can slip in."""
    return base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()


def _e(text: object) -> str:
    """Text of a person as text of a page."""
    return escape(plain(text))


def _css(text: str) -> str:
    """Text as a string of a style sheet."""
    kept = "".join(sign if sign.isalnum() or sign in " .,-:" else f"\\{ord(sign):x} " for sign in text)
    return f'"{kept}"'


class _Body:
    """The blocks as elements, with what numbers headings and drawings."""

    def __init__(self) -> None:
        self.headings = 0
        self.drawn = 0

    def blocks(self, blocks: Sequence[Block]) -> Iterator[str]:
        at = 0
        while at < len(blocks):
            end = at + 1
            while end < len(blocks) and _together(blocks[at], blocks[end]):
                end += 1
            yield from self._run(blocks[at:end])
            at = end

    def _run(self, run: Sequence[Block]) -> Iterator[str]:
        """One block, or several that stand in one list or table."""
        first = run[0]
        match first:
            case Paragraph(_, "caution"):
                yield '<div class="cautions" role="note" aria-label="Cautions">'
                yield from (f"<p>{_e(block.text)}</p>" for block in run if isinstance(block, Paragraph))
                yield "</div>"
            case Paragraph(_, "item"):
                yield "<ol>"
                for block in run:
                    if isinstance(block, Paragraph):
                        yield f"<li>{_e(block.text.partition('. ')[2])}</li>"
                yield "</ol>"
            case Answer():
                yield from self._findings([block for block in run if isinstance(block, Answer)])
            case _:
                yield from self._one(first)

    def _one(self, block: Block) -> Iterator[str]:
        match block:
            case Paragraph(text, "title"):
                yield f"<h1>{_e(text)}</h1>"
            case Paragraph(text, "heading"):
                self.headings += 1
                yield f'<h2 id="s{self.headings}">{_e(text)}</h2>'
            case Paragraph(text, "subheading"):
                yield f"<h3>{_e(text)}</h3>" if self.headings else f"<h2>{_e(text)}</h2>"
            case Paragraph(text, style):
                yield f'<p class="{style}">{_e(text)}</p>'
            case Rows():
                yield from _table(block)
            case Figures(drawings, small):
                yield from self._figures(drawings, small)
            case Pictures(pictures):
                yield '<div class="row photos">'
                for picture in pictures:
                    data = base64.b64encode(picture.jpeg).decode()
                    yield (
                        f'<figure><img src="data:image/jpeg;base64,{data}" alt="{_e(picture.line)}" '
                        f'width="{picture.wide}" height="{picture.high}">'
                    )
                    yield f"<figcaption>{_e(picture.line)}</figcaption></figure>"
                yield "</div>"
            case Swept(swept):
                from hearthcalc.whatif.picture import svg

                yield f"<figure>{svg(swept, inline=True)}</figure>"
            case Box():
                yield from _box(block)
            case Blank(lines):
                yield from ['<div class="rule"></div>'] * lines
            case PageEnd():
                yield _FIRST_ENDS
            case _:
                raise TypeError(f"no such block: {block!r}")

    def _figures(self, drawings: Sequence[object], small: bool) -> Iterator[str]:
        from hearthcalc.drawing import Drawing, as_svg

        if small:
            yield '<div class="row">'
        for drawing in drawings:
            assert isinstance(drawing, Drawing)
            self.drawn += 1
            how = {"size": SMALL, "whole": False} if small else {}
            yield "<figure>"
            yield as_svg(drawing, inline=True, key=f"d{self.drawn}", **how)  # type: ignore[arg-type]
            if small:
                yield f"<figcaption>{_e(drawing.title)}</figcaption>"
            yield "</figure>"
        if small:
            yield "</div>"

    def _findings(self, answers: Sequence[Answer]) -> Iterator[str]:
        columns = _COLUMNS if any(any(answer.figures) for answer in answers) else _COLUMNS[:2]
        yield '<table class="findings"><thead><tr>'
        yield "".join(
            f'<th scope="col"{_NARROW if column in _COLUMNS[2:] else ""}>{column}</th>' for column in columns
        )
        yield "</tr></thead><tbody>"
        for answer in answers:
            verdict = f'<span class="sign">{answer.verdict}</span>'
            if answer.when:
                verdict += f'<br><span class="note">{_e(answer.when)}</span>'
            yield f'<tr class="{answer.verdict}"><td>{verdict}</td>'
            yield f'<th scope="row" abbr="{_e(answer.about)}"><div class="about">{_e(answer.about)}</div>'
            if answer.text:
                yield f"<div>{_e(answer.text)}</div>"
            if answer.details:
                yield "<ul>" + "".join(_detail(*detail) for detail in answer.details) + "</ul>"
            yield "</th>"
            if len(columns) > 2:
                yield "".join(map(_cell, columns[2:], answer.figures))
            yield "</tr>"
        yield "</tbody></table>"


_NARROW = ' class="f"'


def _together(first: Block, second: Block) -> bool:
    if isinstance(first, Answer):
        return isinstance(second, Answer)
    return (
        isinstance(first, Paragraph)
        and isinstance(second, Paragraph)
        and first.style == second.style
        and first.style in ("caution", "item")
    )


def _detail(label: str, text: str) -> str:
    style = ' class="caution"' if label == "Caution" else ""
    return f"<li{style}>{_e(f'{label}: {text}' if label else text)}</li>"


def _table(rows: Rows) -> Iterator[str]:
    total = sum(rows.widths)
    yield '<table class="ink">' if rows.ink else "<table>"
    if rows.widths:
        yield (
            "<colgroup>"
            + "".join(f'<col class="w{round(100 * width / total)}">' for width in rows.widths)
            + "</colgroup>"
        )
    yield (
        "<thead><tr>"
        + "".join(f'<th scope="col">{_e(column)}</th>' for column in rows.columns)
        + "</tr></thead><tbody>"
    )
    for row in rows.rows:
        first, *rest = row
        cells = "".join(map(_cell, rows.columns[1:], rest))
        head = f'<th scope="row">{_e(cell_text(first))}</th>' if first != "" else "<td></td>"
        yield f"<tr>{head}{cells}</tr>"
    yield "</tbody></table>"


def _cell(head: str, cell: Cell) -> str:
    """A cell, with the head of its column for where it stands alone on a narrow screen."""
    number = "" if isinstance(cell, str) else ' class="n"'
    return f'<td{number} data-head="{_e(head)}">{_e(cell_text(cell))}</td>'


def _box(box: Box) -> Iterator[str]:
    yield '<div class="box">'
    yield f'<p><span class="mark">{_e(box.mark)}</span><span class="about">{_e(box.label)}</span></p>'
    yield f"<p>{_e(box.how)}</p>"
    yield from (f'<p class="note">{_e(limit)}</p>' for limit in box.limits)
    if box.choices:
        yield (
            "<p>"
            + "".join(f'<span class="choice"><span class="tick"></span>{_e(c)}</span>' for c in box.choices)
            + "</p>"
        )
    else:
        yield f'<p><span class="line"></span> {_e(box.unit)}</p>'
    yield '<div class="rule note">Notes</div>'
    yield "</div>"
