"""The measuring sheet, and drawing sheets to a stated scale: measured in the files that were written.

PDF is read with PDFium, SVG with ElementTree, the drawing file with ezdxf's reader and audit. Sizes are those of the demo job.
"""

import datetime as dt
import io
import re
from functools import cache, partial
from importlib.resources import files
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import ezdxf
import pytest
from ezdxf.entitydb import EntityDB
from printed import pages

from hearthcalc import caution, jobfile, reference
from hearthcalc.assess import assess
from hearthcalc.errors import UsageError
from hearthcalc.findings import Assessment
from hearthcalc.job import Job, blank, set_entry, with_units
from hearthcalc.report import dxf, html, measuring, pdf, sheets, stamp, text
from hearthcalc.report.model import Box, Figures
from hearthcalc.report.plain import plain

EDITION = reference.load("irc-2021")
DEMO = jobfile.document(
    files("hearthcalc_reference").joinpath("demos/inn.hearth.toml").read_text("utf-8"), "demo"
)
DAY = dt.date(2026, 5, 4)
SVG = "{http://www.w3.org/2000/svg}"


def hostile() -> dict[str, Any]:
    name = '"><script>x</script>%%d\\P{\\H9;' + "W" * 200
    return {
        **blank(),
        "about": {"title": name * 4, "place": name, "measured_by": name},
        "face": [{"name": name, "side": "front", "width": "36"}],
        "flue": {"liner": "13x13"},
        "nearby": [{"name": name, "what": "mantel", "face": name, "above": "6"}],
    }


JOBS = {"demo": DEMO, "blank": blank(), "metric": with_units(DEMO, "mm"), "hostile": hostile()}


@cache
def judged(name: str) -> tuple[Assessment, Job, stamp.Stamp]:
    job = Job.from_document(JOBS[name])
    assessment = assess(job, EDITION)
    return assessment, job, stamp.of(job, assessment, DAY)


def bare(words: str) -> str:
    return re.sub(r"\s+", "", words)


# The measuring sheet


@pytest.mark.parametrize("name", list(JOBS))
def test_there_is_a_box_for_each_measurement_that_is_missing_in_the_order_of_the_walk(name: str) -> None:
    assessment, job, _ = judged(name)
    boxes = [block for block in measuring.compose(assessment, job, DAY).blocks if isinstance(block, Box)]
    lines = {line.address: line.how for result in assessment.stages.values() for line in result.measure}
    letters = measuring.lettered(job)
    assert {box.mark: box.how for box in boxes} == {letters[address]: how for address, how in lines.items()}
    order = [list(letters.values()).index(box.mark) for box in boxes]
    assert order == sorted(order)
    if len(assessment.stages) == 1:
        assert [box.how for box in boxes] == [line.how for line in assessment.deciding.measure]


@pytest.mark.parametrize("name", list(JOBS))
def test_the_letters_can_be_typed_back_in_any_order_whatever_is_filled_in_meanwhile(name: str) -> None:
    job = judged(name)[1]
    letters = measuring.lettered(job)
    assert len(set(letters.values())) == len(letters)
    last = list(letters.items())[-1]
    for address, letter in (last, *list(letters.items())[:30:7]):
        for line in (
            f"{letter} 36 1/2",
            f" {letter.lower()}  36 1/2",
            f"[{letter}]: 36 1/2",
            f"{letter}=36 1/2",
        ):
            assert measuring.read_back(job, line) == (address, "36 1/2")
    filled = Job.from_document(
        set_entry(set_entry(JOBS[name], "flue.height", "20 ft"), "firebox.depth", "20 in")
    )
    assert measuring.lettered(filled) == letters and measuring.mark(filled) == measuring.mark(job)


def test_another_sheet_has_another_mark_and_a_line_that_is_none_is_told() -> None:
    job = judged("blank")[1]
    more = Job.from_document({**blank(), "nearby": [{"name": "shelf", "what": "mantel"}]})
    assert measuring.mark(more) != measuring.mark(job)
    for line, what in (
        ("36 1/2", "There is no letter with a reading"),
        ("", "no letter"),
        ("zzz 4", "No box has the letter ZZZ"),
    ):
        with pytest.raises(UsageError, match=what):
            measuring.read_back(job, line)


def test_the_sheet_says_how_to_type_it_back() -> None:
    assessment, job, _ = judged("blank")
    told = " ".join(text.write(measuring.compose(assessment, job, DAY)).split())
    assert f"Sheet {measuring.mark(job)}." in told and "as in: a 36 1/2." in told


def test_letters_go_on_after_the_last_one() -> None:
    assert [measuring.letter(n) for n in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


def test_the_drawing_shows_the_letters_of_the_boxes_and_marks_nothing_else() -> None:
    assessment, job, _ = judged("blank")
    blocks = measuring.compose(assessment, job, DAY).blocks
    marks = {block.mark: block.label for block in blocks if isinstance(block, Box)}
    (figures,) = [block for block in blocks if isinstance(block, Figures)]
    shown = {
        item.text.strip("[]"): item.what
        for drawing in figures.drawings
        for item in drawing.dimensions
        if item.text.startswith("[")
    }
    assert len(shown) >= 10
    for mark, what in shown.items():
        assert marks[mark].lower().startswith(what.split(",")[0].lower()[:12])
    assert not [mark for drawing in figures.drawings for mark in drawing.marks]


def test_the_limit_stands_beside_what_waits_for_it_where_it_is_known() -> None:
    from msgspec.structs import replace

    from hearthcalc.findings import Bound

    assessment, job, _ = judged("demo")
    limit = Bound(">=", 2, "in", "2 in")
    stages = {
        name: replace(
            result, findings=tuple(replace(f, required=limit) if f.missing else f for f in result.findings)
        )
        for name, result in assessment.stages.items()
    }
    boxes = [
        b
        for b in measuring.compose(replace(assessment, stages=stages), job, DAY).blocks
        if isinstance(b, Box)
    ]
    assert boxes and all(box.limits == ("Clearance to the firebox: at least 2 in.",) for box in boxes)
    assert boxes == [b for b in measuring.compose(assessment, job, DAY).blocks if isinstance(b, Box)]


@pytest.mark.parametrize("name", list(JOBS))
@pytest.mark.parametrize("size", ["letter", "a4"])
def test_the_measuring_sheet_says_the_same_in_each_kind(name: str, size: Any) -> None:
    assessment, job, _ = judged(name)
    sheet = measuring.compose(assessment, job, DAY)
    printed = "".join(one.words for one in pages(pdf.write(sheet, size)))
    told = [bare(printed), bare(text.write(sheet)), bare(re.sub("<[^>]+>", " ", html.write(sheet)))]
    boxes = [block for block in sheet.blocks if isinstance(block, Box)]
    for words in told[:2]:
        assert bare(caution.LINE) in words
        for box in boxes:
            assert bare(plain(box.how)) in words
            assert all(bare(choice) in words for choice in box.choices)
    assert told[2].count("Notes") >= len(boxes)


# Sheets to scale


@pytest.mark.parametrize("name", ["demo", "metric"])
@pytest.mark.parametrize("size", ["letter", "a4"])
def test_a_sheet_is_drawn_at_the_scale_that_its_title_block_states(name: str, size: Any) -> None:
    """Measured in the SVG, whose width is stated in inches: the outline of what is drawn, over its true size."""
    assessment, job, mark = judged(name)
    laid = sheets.lay_out(assessment, job, mark, size)
    root = ElementTree.fromstring(sheets.svg(laid, mark, "t"))
    units = float((root.get("viewBox") or "").split()[2]) / float(
        (root.get("width") or "").removesuffix("in")
    )
    assert units == pytest.approx(72, rel=1e-5)
    named = dict(sheets.SCALES[job.units])
    for sheet, group in zip(laid, root.findall(f"{SVG}g"), strict=True):
        assert f"Scale: {sheet.scale}" in [put.text for put in sheet.texts]
        inner = group.find(f"{SVG}g")
        assert inner is not None
        grow = float(re.findall(r"scale\(([\d.]+)\)", inner.get("transform") or "")[0])
        xs, ys = [], []
        for drawn in inner.iter(f"{SVG}polyline"):
            for pair in (drawn.get("points") or "").split():
                x, y = map(float, pair.split(","))
                xs.append(x)
                ys.append(y)
        lined = [point for line in sheet.drawing.lines for point in line.points]
        across = max(x for x, _ in lined) - min(x for x, _ in lined)
        up = max(y for _, y in lined) - min(y for _, y in lined)
        assert (max(xs) - min(xs)) * grow / units * named[sheet.scale] == pytest.approx(across, rel=2e-3)
        assert (max(ys) - min(ys)) * grow / units * named[sheet.scale] == pytest.approx(up, rel=2e-3)


@pytest.mark.parametrize("name", list(JOBS))
def test_everything_on_a_sheet_stays_within_its_frame(name: str) -> None:
    assessment, job, mark = judged(name)
    for sheet in sheets.lay_out(assessment, job, mark):
        wide, high = sheet.size
        assert sheet.at[0] + sheet.painting.wide * sheet.px <= wide - sheets.EDGE
        assert sheet.at[1] + sheet.painting.high * sheet.px <= high - sheets.EDGE - sheets.BLOCK - sheets.BAND
        for put in sheet.texts:
            assert sheets.EDGE <= put.x <= wide - sheets.EDGE and sheets.EDGE <= put.y <= high - sheets.EDGE
            assert put.x + put.room <= wide - sheets.EDGE + 1 or put.text in ("Materials", "Notes")


def test_found_and_planned_are_told_apart_and_what_changes_is_said() -> None:
    assessment, job, mark = judged("demo")
    laid = sheets.lay_out(assessment, job, mark)
    assert [sheet.stage for sheet in laid] == ["planned"] * 4 + ["found"] * 3
    for sheet in laid:
        assert ("AS PLANNED" if sheet.stage == "planned" else "AS FOUND") in [put.text for put in sheet.texts]
    plan = next(s for s in laid if s.stage == "planned" and s.drawing.view == "plan")
    texts = {item.what: item.text for item in plan.drawing.dimensions}
    assert texts["Depth of the firebox"] == "24 in planned"
    assert texts["Hearth depth in front, taproom"] == "20 1/2 in"
    assert "Depth of the firebox: 21 in as found, 24 in planned" in plan.drawing.notes
    assert not [i for s in laid if s.stage == "found" for i in s.drawing.dimensions if "planned" in i.text]


@pytest.mark.parametrize("name", list(JOBS))
def test_the_sheets_as_pdf_are_the_same_bytes_and_say_what_they_are(name: str) -> None:
    assessment, job, mark = judged(name)
    laid = sheets.lay_out(assessment, job, mark)
    data = sheets.pdf(laid, mark, "Drawings")
    assert data == sheets.pdf(sheets.lay_out(assessment, job, mark), mark, "Drawings")
    printed = pages(data)
    assert len(printed) == len(laid)
    for number, (one, sheet) in enumerate(zip(printed, laid, strict=True), 1):
        told = bare(one.words)
        for words in (
            f"sheet {number} of {len(laid)}",
            f"Scale: {sheet.scale}",
            caution.LINE,
            mark.line,
            "Materials",
        ):
            assert bare(words) in told
        assert one.wide > one.high, "landscape"


def test_hostile_text_in_a_drawing_is_text() -> None:
    assessment, job, mark = judged("hostile")
    laid = sheets.lay_out(assessment, job, mark)
    root = ElementTree.fromstring(sheets.svg(laid, mark, '"><script>'))
    assert not list(root.iter(f"{SVG}script")) and not list(root.iter("script"))
    assert max(map(len, sheets.text(laid).splitlines())) <= 100


# The drawing file


def test_the_drawing_file_is_the_same_in_whatever_order_a_set_is_gone_through(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Which changes from one start of Python to the next."""
    assessment, job, mark = judged("demo")
    in_use = EntityDB.dxf_types_in_use
    files: list[bytes] = []
    for backward in (False, True):
        ordered = partial(sorted, reverse=backward)
        monkeypatch.setattr(EntityDB, "dxf_types_in_use", lambda self, ordered=ordered: ordered(in_use(self)))
        files.append(dxf.write(assessment, job, mark))
    assert files[0] == files[1]


@cache
def reopened(name: str) -> Any:
    assessment, job, mark = judged(name)
    data = dxf.write(assessment, job, mark)
    assert data == dxf.write(assessment, job, mark)
    return ezdxf.read(io.StringIO(data.decode("utf-8")))  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", list(JOBS))
def test_the_drawing_file_opens_again_without_a_fault(name: str) -> None:
    audit = reopened(name).audit()
    assert not audit.errors and not audit.fixes


@pytest.mark.parametrize(("name", "inch", "code"), [("demo", 1.0, 1), ("metric", 25.4, 4)])
def test_the_drawing_file_is_full_size_in_the_unit_of_the_job(name: str, inch: float, code: int) -> None:
    """The demo's openings of 36 x 30 in, its hearth of 12 + 36 + 13 1/4 in by 20 1/2 in, its firebox 21 in deep, then 24 in."""
    file = reopened(name)
    assert file.header["$INSUNITS"] == code
    measured: dict[str, set[float]] = {"FOUND": set(), "PLANNED": set()}
    for item in file.modelspace().query("DIMENSION"):
        measured[item.dxf.layer.split("-")[0]].add(round(item.get_measurement() / inch, 6))
    assert {36, 30, 12, 13.25, 20.5, 21, 8} <= measured["FOUND"]
    assert {36, 30, 12, 13.25, 20.5, 24, 38, 20} <= measured["PLANNED"]
    assert 24 not in measured["FOUND"] and 21 not in measured["PLANNED"]


def test_lines_of_the_drawing_file_are_as_long_as_what_they_show() -> None:
    file = reopened("demo")
    long = {
        round(((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5, 6)
        for line in file.modelspace().query("LWPOLYLINE[layer=='FOUND-LINES']")
        for a, b in pairwise(line.get_points("xy"))
    }
    assert {36, 30, 20.5, 61.25, 21} <= long


def test_the_layers_of_the_drawing_file_tell_the_stages_apart() -> None:
    file = reopened("demo")
    layers = {item.dxf.layer for item in file.modelspace()}
    for stage in ("FOUND", "PLANNED"):
        assert {f"{stage}-{part}" for part in ("LINES", "FILLS", "DIMENSIONS", "NAMES")} <= layers
    colours = {name: file.layers.get(f"{name}-LINES").dxf.color for name in ("FOUND", "PLANNED")}
    assert colours["FOUND"] != colours["PLANNED"]
    words = " ".join(item.dxf.text for item in file.modelspace().query("TEXT"))
    for wanted in (
        "Heron Inn",
        "Scale 1:1 in model space",
        caution.LINE,
        "Lintel, taproom: L3-1/2x3-1/2x1/4",
    ):
        assert wanted in words


def test_text_in_the_drawing_file_holds_no_command_of_the_format() -> None:
    for item in reopened("hostile").modelspace().query("TEXT"):
        assert "%%" not in item.dxf.text and "\\" not in item.dxf.text
