"""The report in each of its kinds: what it says, finding by finding, read back with other libraries; the same bytes.

PDF is read back with PDFium and pypdf, spreadsheets with zipfile and the names of ECMA-376, HTML with html.parser: none of them wrote it.
"""

import base64
import datetime as dt
import hashlib
import io
import re
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from functools import cache
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import printed
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader

from hearthcalc import caution, jobfile, reference, takeoff
from hearthcalc.amendments import Change, amend
from hearthcalc.assess import assess, assess_models
from hearthcalc.findings import Assessment, Finding, Verdict
from hearthcalc.job import Job, blank
from hearthcalc.report import contents, html, markdown, pdf, photos, text, workbook
from hearthcalc.report.contents import Choice, Given
from hearthcalc.report.model import Answer, Paragraph, Report, Rows
from hearthcalc.report.plain import plain

EDITION = reference.load("irc-2021")
DEMOS = {name: jobfile.document(jobfile.demo(name), name) for name in ("inn", "schoolhouse", "stonehouse")}
DEMO = DEMOS["inn"]
DAY = dt.date(2026, 5, 4)
SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
Audience = contents.Audience
CHOICES = [
    Choice(audience, short=short, working=working)
    for audience in ("all", "homeowner", "permit", "inspection")
    for short in (False, True)
    for working in (False, True)
]


def many() -> dict[str, Any]:
    """A job of four faces and forty things near the fire."""
    sides = ("front", "back", "left", "right")
    return {
        **blank(),
        "face": [
            {"name": f"face {side}", "side": side, "width": "36", "height": "30", "closure": "none", "opens_to": "room"}
            for side in sides
        ],
        "nearby": [
            {"name": f"thing {n}", "what": "trim", "face": f"face {sides[n % 4]}", "above": str(4 + n % 9), "projection": str(n % 7)}
            for n in range(40)
        ],
        "flue": {"liner": "13x13", "height": "22 ft"},
        "firebox": {"depth": "20"},
    }  # fmt: skip


def pictured() -> dict[str, Any]:
    """A job with two photographs, one of which is not there."""
    return {
        **blank(),
        "photo": [{"file": "mantel.jpg", "caption": "Soot", "shows": "room"}, {"file": "gone.jpg"}],
    }


JOBS: dict[str, Callable[[], dict[str, Any]]] = {
    "inn": lambda: DEMO, "many": many, "nothing": dict, "blank": blank, "pictured": pictured,
    "metric": lambda: {**blank("mm"), "firebox": {"depth": "500 mm"}},
}  # fmt: skip


@cache
def judged(name: str) -> tuple[Assessment, Job]:
    document = DEMOS[name] if name in DEMOS else JOBS[name]()
    job = Job.from_document(document) if document else Job()
    return assess_models(job, EDITION, assess(job, EDITION)), job


@cache
def folder() -> Path:
    """A folder with the picture of the pictured job, as a camera leaves it."""
    path = Path(tempfile.mkdtemp())
    Image.radial_gradient("L").resize((1700, 1300)).convert("RGB").save(path / "mantel.jpg")
    return path


def given_for(job: Job) -> Given:
    return Given(items=items(job), pictures=photos.load(job, folder()))


def items(job: Job) -> tuple[takeoff.Item, ...]:
    """What to buy; of a record without a face, which no file can be, nothing."""
    return takeoff.take_off(job, EDITION) if job.face else ()


@cache
def report(name: str, choice: Choice = Choice()) -> Report:  # noqa: B008 - frozen
    assessment, job = judged(name)
    return contents.compose(assessment, job, EDITION, DAY, choice, given_for(job))


def findings(name: str) -> Iterator[Finding]:
    for stage in judged(name)[0].stages.values():
        yield from stage.findings


class _Read(HTMLParser):
    """The text of a page, its elements, and their attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def page(source: str) -> _Read:
    reader = _Read()
    reader.feed(source)
    return reader


@cache
def pdf_of(name: str, size: Any) -> bytes:
    return pdf.write(report(name), size)


WRITERS: dict[str, Any] = {"txt": text, "md": markdown, "html": html, "xlsx": workbook}


@cache
def written(name: str, kind: str) -> Any:
    return WRITERS[kind].write(report(name))


@cache
def pages_of(name: str, size: Any = "letter") -> tuple[printed.Page, ...]:
    return printed.pages(pdf_of(name, size))


def pages(name: str, size: Any = "letter") -> tuple[str, ...]:
    return tuple(one.words for one in pages_of(name, size))


def cells(data: bytes) -> Iterator[tuple[str, str]]:
    """Every cell of a workbook: its kind in the file, and its text."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        strings = [
            "".join(part.text or "" for part in item.iter(f"{SHEET}t"))
            for item in ElementTree.fromstring(book.read("xl/sharedStrings.xml"))
        ]
        for name in book.namelist():
            if name.startswith("xl/worksheets/sheet"):
                for cell in ElementTree.fromstring(book.read(name)).iter(f"{SHEET}c"):
                    assert cell.find(f"{SHEET}f") is None, "a formula"
                    value = cell.findtext(f"{SHEET}v") or ""
                    yield (cell.get("t") or "n", strings[int(value)] if cell.get("t") == "s" else value)


def bare(words: str) -> str:
    """Text without the blanks and the signs by which one kind of paper breaks or escapes it."""
    return re.sub(r"[\s\\]+", "", words)


def said(paper: Any, kind: str) -> str:
    """What a report says in one of its kinds, read back."""
    match kind:
        case "pdf":
            return bare("".join(one.words for one in printed.pages(paper)))
        case "html":
            return bare("".join(page(paper).text))
        case "xlsx":
            return bare("".join(words for _, words in cells(paper)))
    return bare(paper)


KINDS = ("txt", "md", "html", "pdf", "xlsx")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", [*DEMOS, "many", "nothing"])
def test_every_finding_is_told_with_its_caution_its_figures_and_its_remedy(name: str, kind: str) -> None:
    told = bare("".join(pages(name))) if kind == "pdf" else said(written(name, kind), kind)
    for finding in findings(name):
        wanted = [finding.title, finding.text, *finding.remedy]
        if finding.caution and finding.verdict is not Verdict.MEETS:
            wanted.append(finding.caution)
        wanted += [bound.text for bound in (finding.required, finding.found) if bound]
        wanted += [step.text for step in finding.working]
        for words in wanted:
            assert bare(plain(words)) in told, (finding.key, words)
    for words in caution.FULL:
        assert bare(words) in told


@pytest.mark.parametrize("choice", CHOICES, ids=str)
@pytest.mark.parametrize("name", ["inn", "many"])
def test_no_caution_is_ever_missing_where_a_finding_does_not_meet(name: str, choice: Choice) -> None:
    """Whoever it is for and however short: every answer that is not MEETS stands there, with its caution."""
    blocks = report(name, choice).blocks
    answers = [block for block in blocks if isinstance(block, Answer) and block.of]
    for finding in findings(name):
        if finding.verdict is Verdict.MEETS:
            continue
        mine = [answer for answer in answers if answer.of == finding]
        assert mine, finding.key
        assert all(answer.verdict is finding.verdict and answer.text == finding.text for answer in mine)
        if finding.caution:
            assert ("Caution", finding.caution) in mine[0].details
    cautions = [block.text for block in blocks if isinstance(block, Paragraph) and block.style == "caution"]
    assert cautions[: len(caution.FULL)] == list(caution.FULL)


@given(
    st.dictionaries(st.sampled_from(["width", "height"]), st.integers(8, 90).map(str)),
    st.sampled_from(CHOICES),
    st.sampled_from(KINDS),
)
@settings(max_examples=30)
def test_no_caution_is_missing_whatever_was_measured_in_any_kind(
    face: dict[str, str], choice: Choice, kind: str
) -> None:
    document = DEMOS["stonehouse"]
    job = Job.from_document({**document, "face": [{**document["face"][0], **face}]})
    assessment = assess(job, EDITION)
    made = contents.compose(assessment, job, EDITION, DAY, choice)
    told = said((WRITERS | {"pdf": pdf})[kind].write(made), kind)
    for result in assessment.stages.values():
        for finding in result.findings:
            if finding.verdict is not Verdict.MEETS:
                assert bare(finding.text) in told
                assert bare(finding.caution or "") in told


def test_the_parts_stand_in_order_and_the_first_page_answers_alone() -> None:
    headings = [b.text for b in report("inn").blocks if isinstance(b, Paragraph) and b.style == "heading"]
    assert headings == [
        "Found beside planned", "Findings", "What would cure it", "Site list: still to be measured", "Drawings", "What was entered",
        "What to buy", "Assumptions", "This tool's own models", "Sign-off", "Appendix: the working", "The decision rule",
    ]  # fmt: skip
    first = bare(pages("inn")[0])
    for words in (
        *caution.FULL, "Heron Inn", "What was asked", "Something falls short of the reference values used",
        "What to do next", "Carry a reinforced slab out from the masonry", "taproom: elevation", "Plan of the hearths", "Section",
    ):  # fmt: skip
        assert bare(words) in first
    assert bare("Found beside planned") not in first


def test_what_is_given_by_others_has_its_place() -> None:
    assessment, job = judged("inn")
    rows = Rows(("A", "B"), (("x", "y"),))
    given = Given(asked=("Will it smoke?",), steps=rows, coverage=rows, validation=rows)
    told = text.write(contents.compose(assessment, job, EDITION, DAY, None, given))
    places = [
        told.index(words)
        for words in (
            "Will it smoke?",
            "DRAWINGS",
            "THE ORDER OF WORK",
            "WHAT WAS NOT JUDGED",
            "HOW FAR THE MODELS CAN BE TRUSTED",
            "THE DECISION RULE",
        )
    ]
    assert places == sorted(places)


def test_each_reader_gets_what_is_theirs() -> None:
    def headings(choice: Choice) -> set[str]:
        return {
            b.text for b in report("inn", choice).blocks if isinstance(b, Paragraph) and b.style == "heading"
        }

    assert "Appendix: the working" not in headings(Choice(working=False))
    assert "Assumptions" not in headings(Choice("homeowner"))
    assert "What to buy" not in headings(Choice("permit")) | headings(Choice("inspection"))
    assert headings(Choice(short=True)) == {
        "Findings",
        "Site list: still to be measured",
        "This tool's own models",
        "Sign-off",
        "The decision rule",
    }


def test_values_edited_here_are_told_with_who_when_and_why() -> None:
    _, job = judged("inn")
    change = Change(
        "irc-2021",
        "hearth.front",
        "below 6 ft2: 18 in; otherwise: 24 in",
        "M. Arden",
        dt.date(2026, 5, 4),
        "town rule 12",
    )
    edition = amend(EDITION, [change])
    told = text.write(
        contents.compose(assess(job, edition), job, edition, DAY, Choice("homeowner", short=True))
    )
    part = bare(told.split("VALUES EDITED HERE")[1])
    for words in ("below 6 ft2: 18 in; otherwise: 24 in", "M. Arden, 2026-05-04: town rule 12", "16 in"):
        assert bare(words) in part


@pytest.mark.parametrize("name", list(JOBS))
def test_the_same_job_and_day_give_the_same_bytes(name: str) -> None:
    assessment, job = judged(name)
    again = contents.compose(assessment, job, EDITION, DAY, Choice(), given_for(job))
    assert pdf.write(again) == pdf_of(name, "letter")
    for kind, writer in WRITERS.items():
        assert writer.write(again) == written(name, kind)


# Every kind, whatever a person has typed


@pytest.mark.parametrize(
    ("name", "size"), [*((name, "letter") for name in JOBS), ("inn", "a4"), ("metric", "a4")]
)
def test_every_pdf_page_has_its_number_its_caution_and_its_fingerprints(name: str, size: Any) -> None:
    told = pages(name, size)
    stamp = report(name).stamp
    assert stamp is not None
    for number, words in enumerate(told, 1):
        assert bare(f"page {number} of {len(told)}") in bare(words)
        assert bare(caution.LINE) in bare(words)
        assert bare(stamp.line) in bare(words)
    first = pages_of(name, size)[0]
    assert (round(first.wide), round(first.high)) == {"letter": (612, 792), "a4": (595, 842)}[
        size
    ]  # ISO 216, and 8 1/2 x 11 in


@pytest.mark.parametrize("name", ["inn", "blank"])
def test_the_pdf_is_titled_bookmarked_and_carries_its_letters(name: str) -> None:
    reader = PdfReader(io.BytesIO(pdf_of(name, "letter")))
    assert reader.metadata is not None
    assert reader.metadata.title
    assert reader.root_object["/Lang"] == "en-US"
    assert reader.root_object["/ViewerPreferences"]["/DisplayDocTitle"]
    marks = {str(mark.title): reader.get_destination_page_number(mark) for mark in _flat(reader.outline)}
    assert {"Findings", "Drawings", "Site list: still to be measured"} <= set(marks)
    for title in ("Findings", "Drawings"):
        assert title in pages(name)[marks[title]]  # type: ignore[index]
    fonts = [font.get_object() for one in reader.pages for font in one["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts), "a font is not within the file"


def _flat(outline: Any) -> Iterator[Any]:
    for mark in outline:
        if isinstance(mark, list):
            yield from _flat(mark)
        else:
            yield mark


def test_the_letters_have_what_people_type() -> None:
    """Prime, double prime, fraction slash, arrows: a letter that the font lacks would come out as an empty box."""
    from reportlab.pdfbase.ttfonts import TTFontFile

    for file in ("SourceSansPro-Regular.ttf", "SourceSansPro-Semibold.ttf"):
        font = TTFontFile(str(files("font_source_sans_pro") / "files" / file))
        assert {ord(sign) for sign in "′″⁄←↑→↓×°²…·½¼⅛é"} <= set(font.charToGlyph)


@pytest.mark.parametrize("name", list(JOBS))
def test_no_text_leaves_its_page(name: str) -> None:
    """Each run of it, as PDFium measures it, ends on the paper."""
    for number, one in enumerate(pages_of(name), 1):
        assert one.boxes and one.holds_all(), number


def test_a_spreadsheet_has_findings_take_off_and_measurements_as_tables_with_numbers() -> None:
    data = written("inn", "xlsx")
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        names = re.findall(r'<sheet name="([^"]+)"', book.read("xl/workbook.xml").decode())
    assert {"Answer", "Findings", "What to buy", "What was entered", "Site list"} <= set(names)
    told = list(cells(data))
    area = next(f for f in findings("inn") if f.id == "flue.area" and f.verdict is Verdict.SHORT)
    assert area.required and area.required.value == 216  # IRC R1003.15.1: 1/10 of two openings of 36 x 30 in
    assert ("n", "216") in told and ("n", "127") in told


def test_the_page_of_html_holds_no_web_address() -> None:
    assert not re.search(r"(?i)https?:|www\.|//[a-z]", written("inn", "html"))


def test_the_page_of_html_takes_its_own_style_sheet_and_no_other() -> None:
    """Content Security Policy 3: a style element is taken where its hash is named, a style attribute is not."""
    source = written("inn", "html")
    (style,) = re.findall(r"<style>(.*?)</style>", source, re.DOTALL)
    hashed = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"default-src 'none'; style-src 'sha256-{hashed}'" in source
    assert not [attributes for _, attributes in page(source).tags if "style" in attributes]


@pytest.mark.parametrize("width", [40, 80])
def test_text_keeps_to_its_width(width: int) -> None:
    for name in JOBS:
        assert (
            max(len(line) for line in text.write(report(name), width).splitlines() if "=" not in line)
            <= width
        )
