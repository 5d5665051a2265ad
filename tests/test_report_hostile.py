"""Text that means harm, in every field of a job that takes text, in every kind of paper: it stays text, is told, and nothing overflows.

Each kind is read back with what did not write it: PDFium, pypdf, zipfile with the names of ECMA-376, html.parser, ElementTree, csv, ezdxf.
What a spreadsheet takes for a formula: OWASP, "CSV injection" (= + - @, tab, carriage return). Escape sequences: ECMA-48. Direction
marks: Unicode Annex 9. Commands in text of a drawing file: %% and backslash, as its format's reference has them.
"""

import csv
import datetime as dt
import io
import re
import zipfile
from functools import cache
from html.parser import HTMLParser
from typing import Any
from unicodedata import category
from xml.etree import ElementTree

import ezdxf
import pytest
from printed import pages
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas
from truth.every_entry import SAMPLE

from hearthcalc import reference, steps, takeoff
from hearthcalc.assess import assess
from hearthcalc.drawing import as_svg, views
from hearthcalc.findings import Assessment
from hearthcalc.job import FieldSpec, Job
from hearthcalc.report import (
    contents,
    dxf,
    html,
    markdown,
    measuring,
    pdf,
    photos,
    sheets,
    stamp,
    text,
    workbook,
)
from hearthcalc.report import model as reporting
from hearthcalc.report.contents import Choice, Given
from hearthcalc.report.model import Report
from hearthcalc.report.paper import REGULAR, load_fonts
from hearthcalc.report.plain import plain
from hearthcalc.tables import Sub
from hearthcalc.whatif import told

EDITION = reference.load("irc-2021")
DAY = dt.date(2026, 5, 4)
ATTACKS = {
    "formula": ("=HYPERLINK(\"http://evil.example\";1)", "+cmd|' /C calc'!A0", "@SUM(1+1)", "-2+3"),
    "markup": (
        "<script>alert(1)</script><img src=http://evil.example onerror=x>\"'&amp;]]><!--",
        "[x](http://evil.example) ![y](javascript:z) `c` **b** | # h\n# head\n<b>",
        "%%d\\P{\\H9;\\fArial|b1;}^I",
        "(\\) /URI (http://evil.example) >> endobj <para><a href='http://evil.example'>",
    ),
    "hidden": ("\u202eabc\u202c\u2066\u200b\u0007\x1b[31m\x1b]0;title\x07\x9b2Jred\x00\u2028end",),
    "long": ("W" * 400,),
}  # fmt: skip
WITHIN = {"code", "liner"}  # marks and sizes, which take no prose
PROGRAMS = {
    "script",
    "iframe",
    "object",
    "embed",
    "link",
    "base",
    "form",
    "foreignObject",
    "image",
    "use",
    "b",
    "para",
}


def harmful(document: Any, table: type, attack: str) -> Any:
    """A document with the attack before the words of every entry that takes words: names stay the same wherever they are named."""
    written: dict[str, Any] = {}
    for key, value in document.items():
        node = table.fields[key]
        if isinstance(node, Sub):
            many = value if node.many else [value]
            changed = [harmful(one, node.table, attack) for one in many]
            written[key] = changed if node.many else changed[0]
        else:
            written[key] = _said(value, node, attack)
    return written


def _said(value: Any, spec: FieldSpec, attack: str) -> Any:
    takes = spec.kind == "text" and spec.form not in WITHIN and isinstance(value, str) and value
    return f"{one_of(attack, value)} {value}" if takes and spec.label != "Edition" else value


def one_of(attack: str, value: str) -> str:
    """The words of an attack that go before a text: the same before the same, so that what is named is found again."""
    return ATTACKS[attack][len(value) % len(ATTACKS[attack])]


@cache
def judged(attack: str) -> tuple[Assessment, Job]:
    job = Job.from_document(harmful(SAMPLE, Job, attack))
    return assess(job, EDITION), job


@cache
def report(attack: str) -> Report:
    assessment, job = judged(attack)
    given = Given(
        steps=contents.ordered(steps.order(job, assessment, EDITION)),
        items=takeoff.take_off(job, EDITION),
        pictures=(*photos.load(job, None), _shown(job)),
    )
    return contents.compose(assessment, job, EDITION, DAY, Choice(working=False), given)


def _shown(job: Job) -> photos.Picture:
    """The photograph of the job as if it lay there."""
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (30, 20), "red").save(out, "JPEG")
    (photo,) = job.photo
    return photos.Picture(
        str(photo.name), str(photo.file), str(photo.caption), str(photo.shows), out.getvalue(), 30, 20
    )


def sheet_of(attack: str) -> Report:
    return measuring.compose(*judged(attack), DAY)


def bare(words: str) -> str:
    """Text without what breaks or escapes it in one kind of paper."""
    return re.sub(r"[\s\\]+", "", words)


def hidden(words: str) -> list[str]:
    """Characters that steer a terminal or turn the reading, and are no line's end."""
    steering = {sign for sign in set(words) - {"\n"} if category(sign) in ("Cc", "Cf", "Zl", "Zp")}
    return [sign for sign in words if sign in steering]


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.said.append(data)


def in_text(attack: str) -> str:
    written = (
        text.write(report(attack)),
        text.write(sheet_of(attack)),
        text.write(reporting.build(*judged(attack))),
    )
    for one in written:
        for line in one.splitlines():
            assert len(line) <= 80 or line.startswith(
                ("hearthcalc-report=", "values=", "job=", "answers=")
            ), line
    laid = sheets.lay_out(*judged(attack), stamp.of(judged(attack)[1], judged(attack)[0], DAY))
    return "".join(written) + sheets.text(laid)


def in_markdown(attack: str) -> str:
    """CommonMark 2.4: a sign with a backslash before it is that sign; four blanks begin a line of code."""
    written = markdown.write(report(attack))
    for line in written.splitlines():
        if not line.startswith("    "):
            free = re.sub(r"\\.", "", line)
            assert "<" not in free and "](" not in free and "://" not in free and "`c`" not in free, line
            assert not re.match(r"\s*#+ head", free)
    return written


def in_html(attack: str) -> str:
    said = ""
    for one in (report(attack), sheet_of(attack)):
        page = _Page()
        page.feed(html.write(one))
        said += "".join(page.said)
        for tag, attributes in page.tags:
            assert tag not in PROGRAMS
            assert (attributes.get("href") or "#").startswith("#")
            assert (attributes.get("src") or "data:image/jpeg;base64,").startswith("data:image/jpeg;base64,")
            assert not [name for name in attributes if name.startswith("on") or name == "style"]
        said += "".join(attributes.get("alt") or "" for _, attributes in page.tags)
    return said


def in_pdf(attack: str) -> str:
    said = ""
    assessment, job = judged(attack)
    laid = sheets.lay_out(assessment, job, stamp.of(job, assessment, DAY))
    drawn = sheets.pdf(laid, stamp.of(job, assessment, DAY), str(job.about.title), str(job.about.measured_by))
    for data in (
        pdf.write(report(attack), author=str(job.about.measured_by)),
        pdf.write(sheet_of(attack), "a4"),
        drawn,
    ):
        reader = PdfReader(io.BytesIO(data))
        assert not {"/Names", "/OpenAction", "/AA"} & set(reader.root_object)
        assert not [one for one in reader.pages if "/Annots" in one or "/AA" in one]
        printed = pages(data)
        assert all(one.holds_all() for one in printed)
        said += "".join(one.words for one in printed)
    return said


def in_xlsx(attack: str) -> str:
    space = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    with zipfile.ZipFile(io.BytesIO(workbook.write(report(attack), author="=1+1"))) as book:
        assert not [name for name in book.namelist() if "rels" in name and b"hyperlink" in book.read(name)]
        for name in book.namelist():
            if name.startswith("xl/worksheets/sheet"):
                read = ElementTree.fromstring(book.read(name))
                assert not list(read.iter(f"{space}f")) and not list(read.iter(f"{space}hyperlink"))
                assert {cell.get("t") or "n" for cell in read.iter(f"{space}c")} <= {"s", "n"}
        strings = ElementTree.fromstring(book.read("xl/sharedStrings.xml"))
        return "".join(part.text or "" for part in strings.iter(f"{space}t"))


def in_csv(attack: str) -> str:
    """The lists of CSV: what to buy, and the lines in which the answers of what if are told."""
    _, job = judged(attack)
    names = [[*(thing.name for thing in (*job.face, *job.nearby, *job.roof)), str(job.about.title), "-0.25"]]
    written = takeoff.to_csv(takeoff.take_off(job, EDITION)) + told.lines(["a"], names)
    for row in csv.reader(io.StringIO(written)):
        for cell in row:
            assert not re.match(r"[=+@\t\r]|-(?![\d.]+$)", cell), cell
    return written


def in_svg(attack: str) -> str:
    assessment, job = judged(attack)
    mark = stamp.of(job, assessment, DAY)
    drawn = [sheets.svg(sheets.lay_out(assessment, job, mark), mark, str(job.about.title))]
    drawn += [as_svg(one) for one in views(job.stages()["found"], assessment.stages["found"])]
    said = ""
    for one in drawn:
        root = ElementTree.fromstring(one)
        for element in root.iter():
            assert element.tag.partition("}")[2] not in PROGRAMS
            assert not [name for name in element.attrib if name.startswith("on") or name.endswith("href")]
        said += "".join(root.itertext())
    return said


def in_dxf(attack: str) -> str:
    assessment, job = judged(attack)
    data = dxf.write(assessment, job, stamp.of(job, assessment, DAY))
    file = ezdxf.read(io.StringIO(data.decode("utf-8")))  # type: ignore[attr-defined]
    audit = file.audit()
    assert not audit.errors and not audit.fixes
    said = [item.dxf.text for item in file.modelspace().query("TEXT DIMENSION")]
    assert not [words for words in said if re.search(r"%%|\\|\^|[{}]", words)]
    return "".join(said)


KINDS = {
    "text": in_text, "markdown": in_markdown, "html": in_html, "pdf": in_pdf, "xlsx": in_xlsx, "csv": in_csv, "svg": in_svg,
    "dxf": in_dxf,
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("attack", ATTACKS)
def test_hostile_text_stays_text_in_every_kind(attack: str, kind: str) -> None:
    said = KINDS[kind](attack)
    assert not hidden(said)
    if kind == "dxf":
        return
    title = bare(plain(judged(attack)[1].about.title))[:40].replace('"', '""' if kind == "csv" else '"')
    assert title in bare(said), "what a person wrote is told, not dropped"


@pytest.mark.parametrize("attack", ATTACKS)
def test_the_attack_stands_in_every_field_that_takes_words(attack: str) -> None:
    """So that a field that is added later is attacked too: each entry of the sample that is prose or a name."""
    job = harmful(SAMPLE, Job, attack)
    for table, keys in (
        (job["about"], ("title", "notes")),
        (job["face"][0], ("name",)),
        (job["nearby"][0], ("name", "face")),
        (job["roof"][0], ("name",)),
        (job["air"]["fans"][0], ("name",)),
        (job["photo"][0], ("name", "file", "caption", "shows")),
        (job["signed"][0], ("name", "trade", "license")),
        (job["planned"]["face"][0], ("name",)),
    ):
        for key in keys:
            assert table[key].startswith(ATTACKS[attack])


def test_what_paper_would_hide_is_read_back() -> None:
    """The reader itself: a sign for which the letters of a report have no form does not go unseen."""
    load_fonts()
    out = io.BytesIO()
    paper = Canvas(out)
    paper.setFont(REGULAR, 12)
    paper.drawString(50, 700, "a\x1b[2J\u202eb")
    paper.save()
    assert hidden(pages(out.getvalue())[0].words) == ["\0", "\0"]
