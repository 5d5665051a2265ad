"""The drawing: to scale, following the entries, legible in characters, in SVG and in words, whatever was entered.

Sizes are those of the shipped demo job, laid out by hand: openings of 36 x 30 in, a hearth of 12 + 36 + 13 1/4 in by 20 1/2 in, a firebox
21 in deep as found and 24 in from face to face as planned.
"""

from __future__ import annotations

import time
from copy import deepcopy
from functools import cache
from importlib.resources import files
from typing import Any
from unicodedata import category, east_asian_width
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hearthcalc import job as record
from hearthcalc import jobfile, reference
from hearthcalc.assess import assess
from hearthcalc.drawing import Drawing, as_svg, as_text, describe, views
from hearthcalc.drawing.page import Page, lay_out
from hearthcalc.drawing.parts import cells
from hearthcalc.drawing.text import as_rows
from hearthcalc.findings import Verdict
from hearthcalc.job import Job

EDITION = reference.load("irc-2021")
DEMO = jobfile.document(
    files("hearthcalc_reference").joinpath("demos/inn.hearth.toml").read_text("utf-8"), "demo"
)
SIZES = [(40, 16), (60, 18), (80, 24), (100, 30), (120, 40)]
SVG = "{http://www.w3.org/2000/svg}"


def drawn(job: Job, stage: str = "found") -> tuple[Drawing, ...]:
    return views(job.stages()[stage], assess(job, EDITION).stages[stage])


@cache
def demo(stage: str) -> dict[str, Drawing]:
    """The views of the demo, by face or by kind."""
    return {drawing.face or drawing.view: drawing for drawing in drawn(Job.from_document(DEMO), stage)}


def every_demo() -> list[Drawing]:
    return [*demo("found").values(), *demo("planned").values()]


def changed(**entries: Any) -> Job:
    """The demo with entries changed, by address with "__" for a point; None takes one out."""
    document: Any = DEMO
    for address, value in entries.items():
        document = record.set_entry(document, address.replace("__", "."), value)
    return Job.from_document(document)


def view(job: Job, name: str, stage: str = "found") -> Drawing:
    return next(drawing for drawing in drawn(job, stage) if name in (drawing.face, drawing.view))


def shown(drawing: Drawing) -> dict[str, str]:
    return {item.what: item.text for item in drawing.dimensions}


def snapshot(drawing: Drawing, width: int, height: int, *, ascii: bool = False) -> str:
    return "\n" + "\n".join(as_text(drawing, width, height, ascii=ascii)).rstrip() + "\n"


# To scale


def test_the_views_are_each_face_then_the_section_then_the_plan() -> None:
    assert [(d.view, d.face) for d in demo("planned").values()] == [
        ("elevation", "taproom"), ("elevation", "dining"), ("section", None), ("plan", None),
    ]  # fmt: skip
    assert demo("found")["taproom"].title == "taproom: elevation, as found"
    assert demo("planned")["section"].title == "Section, front to back, as planned"


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_an_opening_is_as_wide_against_its_height_as_it_was_measured(width: int, height: int) -> None:
    """A cell is taken as twice as high as wide, so 36 in across and 30 in up are to each other as 36 columns and 15 rows, to one cell."""
    lines = as_text(demo("found")["taproom"], width, height)
    head = next(row for row, line in enumerate(lines) if "┳" in line)
    left, right = lines[head].index("┳"), lines[head].rindex("┳")
    foot = next(
        row
        for row, line in enumerate(lines)
        if row > head and line[left : left + 1] == line[right : right + 1] == "┴"
    )
    columns, rows = right - left, foot - head
    assert (columns - 1) / 36 <= (rows + 1) / 15
    assert (columns + 1) / 36 >= (rows - 1) / 15
    page = lay_out(demo("found")["taproom"], width, height)
    (x0, y0), (x1, y1) = page.cell((-18, 0)), page.cell((18, 30))
    assert abs((x1 - x0) - 36 / page.scale) <= 1
    assert abs((y0 - y1) - 15 / page.scale) <= 1


def points(drawing: Drawing, stroke: str) -> set[tuple[float, float]]:
    return {point for line in drawing.lines if line.stroke == stroke for point in line.points}


def test_the_geometry_is_that_of_the_tape() -> None:
    elevation, section, plan = (demo("found")[name] for name in ("taproom", "section", "plan"))
    assert {(-18, 0), (-18, 30), (18, 30), (-30, 0), (31.25, 0), (-30, -3), (31.25, -3)} <= points(
        elevation, "solid"
    )
    assert {(-22.5, 30), (22.5, 30)} == points(elevation, "steel")  # the lintel bears 4 1/2 in on either side
    mantel = next(area for area in elevation.areas if area.fill == "wood")
    assert min(y for _, y in mantel.points) == 39  # 9 in over the opening
    assert {(0, 0), (21, 0), (29, 38.5), (-20.5, 0), (-20.5, -3), (0, -4.5)} <= points(section, "solid")
    assert {(-30, -20.5), (31.25, -20.5), (-18, 21), (18, 21), (-26, 29), (26, 29)} <= points(plan, "solid")


def test_a_face_cut_into_the_back_has_its_hearth_across_and_its_left_on_the_other_hand() -> None:
    job = changed(planned__face__dining__hearth__left="15")
    plan = view(job, "plan", "planned")
    assert {(18 + 15, 24), (-18 - 12, 24), (33, 44), (-30, 44)} <= points(plan, "solid")


def test_the_planned_section_is_open_on_both_sides() -> None:
    found, planned = demo("found")["section"], demo("planned")["section"]
    assert "Thickness of the back wall" in shown(found)
    assert "Thickness of the back wall" not in shown(planned)
    assert shown(planned)["Height of the opening, dining"] == "30 in"
    assert shown(planned)["Throat over the opening, dining"] == "8 in"
    assert shown(planned)["Depth of the firebox"] == "24 in"


@pytest.mark.parametrize(
    ("arch", "rise", "springing"), [("flat", None, 30), ("segmental", "4", 26), ("semicircular", None, 12)]
)
def test_an_arch_springs_where_its_rise_begins_and_crowns_at_the_height(
    arch: str, rise: str | None, springing: int
) -> None:
    entries = {"face__taproom__arch": arch} | ({"face__taproom__rise": rise} if rise else {})
    drawing = view(changed(**entries), "taproom")
    (head,) = (
        line
        for line in drawing.lines
        if line.points[0] == pytest.approx((-18, springing))
        and line.points[-1] == pytest.approx((18, springing))
    )
    assert head.stroke == "solid"
    assert max(y for _, y in head.points) == pytest.approx(30)
    if (
        rise
    ):  # the circle through springings and crown: radius (18^2 + 4^2) / 8 = 42.5 in, elementary geometry
        assert all(x * x + (y - (30 - 42.5)) ** 2 == pytest.approx(42.5**2) for x, y in head.points)


# What is marked


def test_what_is_too_close_is_marked_with_sign_and_word_in_every_way_to_show_it() -> None:
    drawing = demo("found")["taproom"]
    assert [mark.line for mark in drawing.marks] == [
        "- SHORT pine mantel",
        "- SHORT Above the opening, pine mantel: 9 in (needs 12 in)",
    ]
    assert any("- SHORT pine mantel" in line for line in as_text(drawing, 80, 24))
    assert any("- SHORT pine mantel" in line for line in as_text(drawing, 80, 24, ascii=True))
    assert "- SHORT pine mantel" in describe(drawing)
    assert ">- SHORT pine mantel<" in as_svg(drawing)


def test_a_dimension_that_is_judged_says_what_is_asked_for() -> None:
    """Wood that stands out more than 1/8 in per inch keeps 12 in from the opening (IRC R1001.11 exception 4)."""
    marks = {mark.line for mark in demo("found")["taproom"].marks}
    assert "- SHORT Above the opening, pine mantel: 9 in (needs 12 in)" in marks
    assert [mark.line for mark in demo("found")["section"].marks] == ["- SHORT pine mantel"]


def test_a_missing_measurement_that_is_waited_for_is_marked() -> None:
    assert [mark.line for mark in demo("found")["plan"].marks] == ["? MEASURE wall studs"]
    drawing = view(changed(face__taproom__hearth__front=None), "plan")
    assert "? MEASURE Hearth depth in front, taproom: not known" in {mark.line for mark in drawing.marks}


def test_a_finding_that_does_not_count_marks_nothing() -> None:
    """With one face open at a time the flue is not judged for both together."""
    assert not any("flue" in mark.text for mark in demo("planned")["section"].marks)
    together = view(changed(use__open_together=True), "section", "planned")
    assert any(mark.text.startswith("flue") and mark.verdict is Verdict.SHORT for mark in together.marks)


@pytest.mark.parametrize(("front", "out"), [("20", None), ("19 15/16", None), ("19", 20), ("12", 20)])
def test_a_short_hearth_has_the_one_that_is_asked_for_drawn_round_it(front: str, out: int | None) -> None:
    """20 in from 6 ft2 of opening (IRC R1001.10): met at the limit, close within 1/8 in, short beyond."""
    drawing = view(changed(face__taproom__hearth__front=front), "plan")
    asked = points(drawing, "asked")
    assert asked == (set() if out is None else {(-30, 0), (-30, -out), (31.25, -out), (31.25, 0)})
    if out is None:
        assert "═" not in "".join(as_text(drawing, 80, 24))
    else:
        assert ("═" in "".join(as_text(drawing, 80, 24))) == (front == "12")  # an inch is less than a cell
        assert 'class="asked"' in as_svg(drawing)
        assert "needs 20 in" in describe(drawing)


def test_a_thing_that_cannot_be_placed_is_told_beside_the_drawing() -> None:
    things = [
        {"name": "loose board", "what": "framing", "gap": "1"},
        {"name": "far beam", "what": "ceiling", "face": "taproom", "above": "40 ft"},
    ]
    job = Job.from_document({**DEMO, "nearby": [*DEMO["nearby"], *things]})
    plan = view(job, "plan")
    told = "loose board is not drawn: too far off, or where it stands was not entered"
    assert f"? MEASURE {told}" in {mark.line for mark in plan.marks}
    assert any(line.startswith("? MEASURE loose board") for line in as_text(plan, 80, 24))
    assert any(note.startswith("far beam is not drawn") for note in plan.notes)
    assert "far beam" not in "".join(as_text(view(job, "taproom"), 80, 24))


# What is not known


def test_a_job_with_nothing_measured_is_all_dashed_and_prints_no_number() -> None:
    for drawing in drawn(Job.from_document(record.blank())):
        assert {line.stroke for line in drawing.lines} == {"dashed"}
        assert {item.text for item in drawing.dimensions} == {"not known"}
        text = "\n".join(
            (*as_text(drawing, 120, 40), describe(drawing), *(label.text for label in drawing.labels))
        )
        assert not any(sign.isdigit() for sign in text)


def test_the_drawing_follows_the_entries_as_they_come() -> None:
    job = record.blank()
    before = view(Job.from_document(job), "room")
    job = record.set_entry(job, "face.room.width", "36")
    wide = view(Job.from_document(job), "room")
    job = record.set_entry(job, "face.room.height", "30")
    both = view(Job.from_document(job), "room")
    assert (-18, 0) not in points(before, "solid")
    assert (-18, 0) in points(wide, "solid")
    assert (-18, 30) not in points(wide, "solid")
    assert (-18, 30) in points(both, "solid")
    assert shown(both)["Width of the opening"] == "36 in"


def test_a_form_is_never_a_size() -> None:
    """A nominal liner is not the inside of the flue, and a back wall that was not given stands for no number."""
    section = demo("found")["section"]
    top = max(y for _, y in (point for line in section.lines for point in line.points))
    assert all(
        line.stroke == "dashed" for line in section.lines if {y for _, y in line.points} == {top, top - 12}
    )
    bare = view(changed(firebox__back_wall=None, firebox__wall=None), "plan")
    assert shown(bare)["Thickness of the side walls"] == "not known"


def test_what_the_cut_voids_is_not_known_until_it_is_planned() -> None:
    document = deepcopy(DEMO)
    del document["planned"]["firebox"]
    section = view(Job.from_document(document), "section", "planned")
    assert shown(section)["Height of the throat"] == "not known"
    assert shown(section)["Depth of the firebox"] == "not known"


def test_the_back_is_drawn_by_what_is_said_of_it() -> None:
    """A back that is to be measured again is drawn as not known."""
    document = deepcopy(DEMO)
    document["face"].append({"name": "hall", "side": "back", "width": "30", "height": "24"})
    document["planned"] = {"face": [{"name": "hall", "remove": True}]}
    for name in ("section", "plan"):
        closed = view(Job.from_document(document), name, "planned")
        (back,) = (d for d in closed.dimensions if d.what == "Thickness of the back wall")
        assert (back.text, back.verdict) == ("not known", Verdict.MEASURE)


SAMPLE: dict[str, Any] = {
    **DEMO,
    "face": [
        {**DEMO["face"][0], "arch": "segmental", "rise": "4", "opening_above_hearth": "6"},
        {
            "name": "snug", "side": "left", "width": "20", "height": "28", "arch": "semicircular", "closure": "none",
            "hearth": {"front": "14", "left": "8", "right": "9", "thickness": "2", "above_floor": "5", "below": "wood, insulated"},
        },
    ],
    "firebox": {**DEMO["firebox"], "smoke_chamber_form": "corbelled"},
    "flue": {**DEMO["flue"], "shape": "rectangular", "inside": "8 1/2 x 13", "diameter": "12"},
    "nearby": [
        *DEMO["nearby"],
        {"name": "post", "what": "trim", "face": "taproom", "above": "3", "beside": "5", "projection": "3"},
        {"name": "board", "what": "trim", "face": "taproom", "beside": "4", "projection": "1"},
        {"name": "bench", "what": "furniture", "face": "snug", "ahead": "40", "combustible": False},
        {"name": "header", "what": "framing", "at": "firebox back", "from_lining": "12"},
        {"name": "joist", "what": "framing", "at": "chimney", "gap": "2"},
        {"name": "front stud", "what": "framing", "at": "firebox front", "gap": "2"},
    ],
}  # fmt: skip
ADDRESSES = [
    address for address, _, _ in record.entries(Job.from_document(SAMPLE)) if not address.endswith(".name")
]


@st.composite
def some_entries(draw: st.DrawFn) -> Job:
    """The sample job with any of its entries, a unit and an order of sides."""
    document: Any = deepcopy(SAMPLE)
    keep = draw(st.sets(st.sampled_from(ADDRESSES), max_size=len(ADDRESSES)))
    if draw(st.booleans()):
        keep = set(ADDRESSES) - keep
    for address in ADDRESSES:
        if address not in keep:
            document = record.set_entry(document, address, None)
    sides = draw(st.permutations(["front", "back", "left", "right", None]))
    for face, side in zip(document.get("face", []), sides, strict=False):
        document = record.set_entry(document, f"face.{face['name']}.side", side)
    return record.read({**document, "units": draw(st.sampled_from(["in", "mm"]))})[0]


@given(some_entries(), st.sampled_from(SIZES), st.booleans())
def test_any_entries_draw_within_the_page_and_lose_no_mark(
    job: Job, size: tuple[int, int], ascii: bool
) -> None:
    result = assess(job, EDITION)
    for name, stage in job.stages().items():
        drawings = views(stage, result.stages[name])
        assert len(drawings) == len(stage.job.face) + 2
        for drawing in drawings:
            assert_within(drawing, *size, ascii=ascii)
            ElementTree.fromstring(as_svg(drawing))
        words = "\n".join(map(describe, drawings))
        for finding in result.stages[name].findings:
            if (
                finding.subject == "clearance"
                and finding.counts
                and finding.verdict in (Verdict.SHORT, Verdict.CLOSE)
            ):
                assert str(finding.item) in words


def assert_within(drawing: Drawing, width: int, height: int, *, ascii: bool) -> list[str]:
    """The lines of a drawing, which keep to its page and tell its marks."""
    lines = as_text(drawing, width, height, ascii=ascii)
    assert len(lines) <= height
    assert all(cells(line) <= width for line in lines)
    assert not ascii or all(line.isascii() for line in lines)
    text = "\n".join(lines)
    for mark in drawing.marks:
        assert str(mark.verdict) in text or "more marked" in text, mark
    page = lay_out(drawing, width, height - 1, ascii=ascii)
    assert_apart(page)
    return lines


def assert_apart(page: Page) -> None:
    """No text covers another, a line of the fireplace, or the edge of the page."""
    taken: set[tuple[int, int]] = set()
    for text in page.texts:
        covered = {(text.column + cell, text.row) for cell in range(cells(text.lead + text.text))}
        assert all(0 <= column < page.width and 0 <= row < page.height for column, row in covered)
        assert not covered & taken
        taken |= covered
    for line in page.drawing.lines:
        for point in line.points:
            assert page.cell(point) not in taken


# In characters


def test_the_elevation_reads_as_a_fireplace() -> None:
    assert snapshot(demo("found")["taproom"], 64, 20) == ELEVATION


def test_the_section_reads_as_a_fireplace() -> None:
    assert snapshot(demo("found")["section"], 76, 24) == SECTION


def test_the_plan_reads_as_hearths_in_ascii() -> None:
    assert snapshot(demo("planned")["plan"], 76, 22, ascii=True) == PLAN


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_demo_is_whole_at_every_size_of_a_screen(width: int, height: int) -> None:
    for drawing in every_demo():
        assert_within(drawing, width, height, ascii=True)
        text = "\n".join(assert_within(drawing, width, height, ascii=False))
        if drawing.view == "elevation":
            assert "36 in" in text
            assert "30 in" in text


@pytest.mark.parametrize(
    ("width", "height"),
    [(0, 0), (1, 1), (5, 3), (23, 9), (24, 10), (30, 60), (400, 8), (200, 10), (200, 100)],
)
def test_an_odd_size_is_filled_as_far_as_it_goes(width: int, height: int) -> None:
    for drawing in every_demo():
        lines = as_text(drawing, width, height)
        assert len(lines) <= height
        assert all(cells(line) <= width for line in lines)


def test_without_room_for_a_drawing_its_marks_are_listed() -> None:
    assert as_text(demo("found")["taproom"], 60, 4) == [
        "taproom: elevation, as found",
        "- SHORT pine mantel",
        "- SHORT Above the opening, pine mantel: 9 in (needs 12 in)",
    ]
    assert as_text(demo("found")["taproom"], 60, 2)[1] == "and 2 more marked"


def test_what_is_least_important_goes_first() -> None:
    wide, narrow = (" ".join(as_text(demo("planned")["section"], *size)) for size in ((120, 40), (40, 16)))
    for text in ("smoke chamber", "damper at the top"):
        assert text in wide
        assert text not in narrow
    for text in ("30 in", "- SHORT", "24 in"):
        assert text in narrow


def test_lengths_are_in_the_unit_of_the_job() -> None:
    drawing = view(Job.from_document(record.with_units(DEMO, "mm")), "taproom")
    assert shown(drawing)["Width of the opening"] == "914.4 mm"
    assert "36 in" not in "\n".join(as_text(drawing, 80, 24))


@pytest.mark.benchmark
def test_all_views_are_drawn_within_5_ms() -> None:
    job = Job.from_document(DEMO)
    stage, result = job.stages()["planned"], assess(job, EDITION).stages["planned"]
    took = []
    for _ in range(20):
        start = time.perf_counter()
        for drawing in views(stage, result):
            as_text(drawing, 80, 24)
        took.append(time.perf_counter() - start)
    assert min(took) < 0.005


# In SVG and in words


@pytest.mark.parametrize("ascii", [False, True])
def test_the_rows_say_what_each_run_of_cells_shows(ascii: bool) -> None:
    drawing = demo("planned")["section"]
    runs = [run for row in as_rows(drawing, 120, 40, ascii=ascii) for run in row]
    short = [run.text for run in runs if run.verdict is Verdict.SHORT and run.ink == "words"]
    assert any("SHORT pine mantel" in text for text in short) and any(
        "SHORT on wood" in text for text in short
    )
    signs = {
        ink: {sign for run in runs if run.ink == ink for sign in run.text}
        for ink in ("masonry", "hearth", "wood")
    }
    told = [sign for signs_of in signs.values() for sign in signs_of]
    assert len(told) == len(set(told)) == 3, "each a sign of its own"
    assert {run.entry for run in runs if "24 in" in run.text} == {"firebox.depth"}
    assert {run.entry for run in runs if "on masonry" in run.text} == {"firebox.floor_below"}


def test_one_caption_says_what_dashes_and_fills_are() -> None:
    lines = as_text(demo("planned")["plan"], 80, 24)
    assert lines[-1] == "╌╌ not measured: place is schematic  ░░ masonry  ▒▒ hearth  ▓▓ can burn"
    narrow = as_text(demo("planned")["plan"], 40, 24)
    assert narrow[-2:] == ["╌╌ not measured: place is schematic", "░░ masonry  ▒▒ hearth  ▓▓ can burn"]
    measured = as_text(view(Job.from_document(DEMO), "taproom"), 40, 9)
    assert not any("schematic" in line for line in measured), "where nothing is drawn, there is no caption"


def test_each_entry_that_is_shown_is_named_once_and_the_marked_ones_first() -> None:
    shown_first = demo("found")["taproom"].shown
    addresses = [address for address, _ in shown_first]
    assert len(addresses) == len(set(addresses))
    assert addresses[0] == 'nearby."pine mantel".above' and "face.taproom.width" in addresses


@pytest.mark.parametrize("drawing", every_demo(), ids=lambda drawing: drawing.title)
def test_the_svg_holds_the_same_dimensions_and_marks(drawing: Drawing) -> None:
    root = ElementTree.fromstring(as_svg(drawing))
    assert root.tag == f"{SVG}svg"
    texts = " ".join(node.text or "" for node in root.iter(f"{SVG}text"))
    for item in drawing.dimensions:
        assert item.text in texts or item.text == "not known", item.what
    for mark in drawing.marks:
        assert f"{mark.verdict.sign} {mark.verdict}" in texts
    assert root.findtext(f"{SVG}desc") == describe(drawing)
    assert {node.tag.removeprefix(SVG) for node in root.iter()} <= {
        "svg", "title", "desc", "style", "defs", "pattern", "path", "circle", "rect", "g", "text", "line", "polyline", "polygon",
    }  # fmt: skip


def test_a_mark_in_the_svg_is_told_by_hatching_too() -> None:
    root = ElementTree.fromstring(as_svg(demo("found")["taproom"]))
    fills = [node.get("fill", "") for node in root.iter() if node.get("fill", "").endswith("SHORT)")]
    patterns = {node.get("id") for node in root.iter(f"{SVG}pattern")}
    assert len(fills) == 3  # the mantel, the frame of its name and that of its distance
    assert all(fill.removeprefix("url(#").removesuffix(")") in patterns for fill in fills)


def test_drawings_on_one_page_have_names_of_their_own() -> None:
    names = [
        {node.get("id") for node in ElementTree.fromstring(as_svg(drawing)).iter() if node.get("id")}
        for drawing in every_demo()
    ]
    assert sum(map(len, names)) == len(set().union(*names))


def test_the_words_say_what_is_marked_measured_and_not_known() -> None:
    assert describe(demo("found")["plan"]).splitlines() == [
        "Plan of the hearths, as found",
        "Marked:",
        "  ? MEASURE wall studs",
        "Hearth, past the left jamb, taproom: 12 in",
        "Hearth, past the right jamb, taproom: 13 1/4 in",
        "Width of the opening, taproom: 36 in",
        "Hearth depth in front, taproom: 20 1/2 in",
        "Depth of the firebox: 21 in",
        "Thickness of the side walls: 8 in",
        "Thickness of the back wall: 8 in",
        "Clear space to the masonry, back sill: 4 in",
        "Not known: Clear space to the masonry, wall studs",
        "Named: hearth: taproom; firebox; back sill",
        "Dashed parts were not measured: their position is schematic.",
        "The splay of the sides is not recorded: they are drawn straight, each face in the middle of its wall.",
    ]


# Foreign text

HOSTILE = [
    "a\x1b[31mred\x07", "left‮thgir", "<b>&\"'</b><script>x</script>", "tab\tand\nline", "x" * 300, "zero​width",
    "長い名前の部屋ですよここはとても広い", "e" + "́" * 40, "￾\U000e0041", "🔥🔥🔥 fire", "]]><svg onload=x>", "- SHORT",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_names_from_a_file_reach_no_output_raw(name: str) -> None:
    document = deepcopy(DEMO)
    document["face"][0]["name"] = name
    document["nearby"][0] |= {"face": name, "name": f"{name} 2"}
    del document["planned"]
    for drawing in drawn(Job.from_document(document)):
        for width, height in SIZES:
            assert_within(drawing, width, height, ascii=True)
            assert_plain("".join(assert_within(drawing, width, height, ascii=False)))
        assert_plain(describe(drawing).replace("\n", ""))
        svg = as_svg(drawing)
        assert_plain(svg.replace("\n", ""))
        assert "<script" not in svg
        assert "<svg onload" not in svg
        ElementTree.fromstring(svg)
        assert all(cells(label.text) <= 44 for label in drawing.labels)


def assert_plain(text: str) -> None:
    assert not [sign for sign in text if category(sign) in {"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"}]


def test_a_long_name_is_cut_with_an_ellipsis() -> None:
    document = record.set_entry(DEMO, 'nearby."pine mantel".name', "the great carved pine mantel of the hall")
    text = as_text(view(Job.from_document(document), "taproom"), 80, 24)
    assert any("- SHORT the great carved pine m…" in line for line in text)
    assert any(
        "- SHORT the great carved pine m~" in line
        for line in as_text(view(Job.from_document(document), "taproom"), 80, 24, ascii=True)
    )


def test_a_wide_sign_takes_two_cells() -> None:
    document = record.set_entry(DEMO, "face.taproom.name", "居間")
    document["nearby"][0]["face"] = "居間"
    drawing = view(Job.from_document(document), "居間")
    rows = as_text(drawing, 80, 24)
    (row,) = (line for line in rows[1:] if "居間" in line)
    plain = next(line for line in rows if line.count("│") == row.count("│") == 3)
    assert sum(2 if east_asian_width(sign) == "W" else 1 for sign in row) == len(plain)


def test_a_drawing_cannot_be_changed() -> None:
    drawing = demo("found")["plan"]
    with pytest.raises(AttributeError, match="immutable"):
        drawing.title = "other"  # type: ignore[misc]
    assert drawn(Job.from_document(DEMO))[-1] == drawing


ELEVATION = """
taproom: elevation, as found
                  ┌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌┐
                  └──────────────────────────┘
                       - SHORT pine mantel
              ↔ 4 1/2 in  ↕ - SHORT 9 in (needs 12 in)
      ┬           ━━┳━━━━━━━━━━━━━━━━━━━━━━┳━━━
      │             │                      │
      │             │                      │
      │             │        taproom       │
30 in │             │                      │
      │             │                      │
      │             │      glass doors     │
      │             │                      │
      │             │                      │
      ┴ ─────┬──────┴──────────────────────┴───────┬───── ┬
             └─────────────────────────────────────┘      ┴ 3 in
       12 in ├──────┼─────── 36 in ────────┼───────┤ 13 1/4 in


╌╌ not measured: place is schematic
"""

SECTION = """
Section, front to back, as found
                            ┌┐░╎     ╎░░░╎
                            ││░╎     ╎░░░╎
                            ││░╎     ╎░░░╎ ← flue liner 13x13, top at 270 in
                            ││░╎     ╎░░░╎                 ┬
                            ││░╱     ╲░░░╎                 │
                            ││░╱     ╲░░░╎                 │
                 ↔ 5 1/2 in ││░╱      ╲░░╎ ← smoke chamber │ 31 in
        - SHORT pine mantel ││╱       ╲░░╎                 │
                          ┌╌┤│╱ ┃     ╲░░╎                 │
               ┬          └─┤││ ┗──────░░│ ← damper        ┼
      8 1/2 in │            │││  ╲░░░░░░░│                 │
               ┼            └┻┛   ╲░░░░░░│ back sill       │
               │                    ╲░░░░│ ┌┐              │
               │                     ╲░░░│ │╎              │ 38 1/2 in
         30 in │    taproom           │░░│ │╎              │
               │              firebox │░░│ │╎              │
               │                      │░░│ └┘              │
               ┼ ───┬────────┬────────┤░░│                 ┴
          3 in ┴    └────────┴────────┴──┘
                   on concrete on masonry

          20 1/2 in ├────────┼ 21 in ─┼──┤ 8 in
╌╌ not measured: place is schematic  ░░ masonry
"""

PLAN = """
Plan of the hearths, as planned
                      12 in +-----+----- 36 in ------+------+ 12 in
                            +-------------------------------+ +
                            |%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%| |
                            |%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%| |
                            |%%%%%%%%%%% dining %%%%%%%%%%%%| | 20 in
                            |%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%| |
       ? MEASURE wall studs +-+---+------------------+----+-+ +
                           :.:|&&&|                  |&&&&|   |
                           :#:|&&&|                  |&&&&|   |
                           :#:|&&&|      firebox     |&&&&|   | 24 in
                           :#:|&&&|                  |&&&&|   |
                           :#:|&&&|                  |&&&&|   |
                           :.:|&&&|                  |&&&&|   |
                            +-+---+------------------+----+-+ +
                            |%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%| |
                            |%%%%%%%%%%% taproom %%%%%%%%%%%| | 20 1/2 in
                            |%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%| |
                            |%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%| |
                            +-------------------------------+ +
                      12 in +-----+----- 36 in ------+------+ 13 1/4 in
.. not measured: place is schematic  && masonry  %% hearth  ## can burn
"""
