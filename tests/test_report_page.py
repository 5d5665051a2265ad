"""The page of HTML for every reader and every sheet of paper: contrast, names, order, and widths, by its own style sheet.

Limits are those of WCAG 2.2, level AA: 1.4.3 (4.5:1 for text), 1.4.11 (3:1 for what is drawn), 1.3.1, 1.1.1, 2.4.2, 3.1.1 and 1.4.10
(nothing wider than 320 px). Nesting and names of elements are those of the HTML standard. The page is read with html.parser.
"""

import datetime as dt
import re
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from hearthcalc import jobfile, reference, steps, takeoff
from hearthcalc.assess import assess
from hearthcalc.drawing.svg import HATCHES
from hearthcalc.drawing.svg import STYLE as DRAWN
from hearthcalc.job import Job, blank
from hearthcalc.report import contents, html, measuring, photos
from hearthcalc.report.contents import Choice, Given

EDITION = reference.load("irc-2021")
DAY = dt.date(2026, 5, 4)
WHITE = "#ffffff"
VOID = {"meta", "br", "img", "col"}  # elements that hold nothing, of those that stand here
NARROWEST = 320  # px, by 1.4.10
PX = {"px": 1.0, "rem": 16.0, "em": 16.0, "pt": 96 / 72, "mm": 96 / 25.4}


@cache
def source(name: str) -> str:
    if name == "sheet":
        job = Job.from_document(blank())
        return html.write(measuring.compose(assess(job, EDITION), job, DAY))
    document = jobfile.document(jobfile.demo("inn"), "inn")
    pictures: tuple[photos.Picture, ...] = ()
    job = Job.from_document(document if name == "demo" else blank())
    assessment = assess(job, EDITION)
    if name == "demo":
        pictures = (photos.Picture("mantel", "m.jpg", "Soot over the jamb", "taproom", b"\xff\xd8", 4, 3),)
    given = Given(
        steps=contents.ordered(steps.order(job, assessment, EDITION)),
        coverage=contents.unjudged(EDITION, assessment.deciding, Choice()),
        items=takeoff.take_off(job, EDITION),
        pictures=pictures,
    )
    return html.write(contents.compose(assessment, job, EDITION, DAY, Choice(), given))


PAGES = ("demo", "blank", "sheet")


class Element:
    """One element of a page: what it is called, what it says of itself, what it holds."""

    def __init__(self, tag: str, attributes: dict[str, str | None]) -> None:
        self.tag, self.attributes = tag, attributes
        self.inside: list[Element | str] = []

    def every(self, *tags: str) -> Iterator["Element"]:
        for one in self.inside:
            if isinstance(one, Element):
                if one.tag in tags or not tags:
                    yield one
                yield from one.every(*tags)

    @property
    def text(self) -> str:
        return "".join(one if isinstance(one, str) else one.text for one in self.inside)


class Reader(HTMLParser):
    """A page as a tree; an end that does not belong to what is open is a fault."""

    def __init__(self) -> None:
        super().__init__()
        self.open = [Element("", {})]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        self.open[-1].inside.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].inside.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop().tag == tag, f"</{tag}> closes another"

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


@cache
def tree(name: str) -> Element:
    reader = Reader()
    reader.feed(source(name))
    reader.close()
    (root,) = reader.open
    return root


def light(colour: str) -> float:
    """Relative luminance of a color, by the definition in WCAG 2.2."""
    value = colour.removeprefix("#")
    value = "".join(2 * sign for sign in value) if len(value) == 3 else value
    parts = [int(value[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    dark, bright = sorted((light(one), light(other)))
    return (bright + 0.05) / (dark + 0.05)


def grey(colour: str) -> str:
    """A color as a printer of black ink makes it: luma by ITU-R BT.601."""
    value = colour.removeprefix("#")
    value = "".join(2 * sign for sign in value) if len(value) == 3 else value
    parts = [int(value[at : at + 2], 16) for at in (0, 2, 4)]
    luma = round(0.299 * parts[0] + 0.587 * parts[1] + 0.114 * parts[2])
    return f"#{luma:02x}{luma:02x}{luma:02x}"


def over_white(colour: str, opacity: float) -> str:
    value = colour.removeprefix("#")
    parts = [round(int(value[at : at + 2], 16) * opacity + 255 * (1 - opacity)) for at in (0, 2, 4)]
    return "#" + "".join(f"{part:02x}" for part in parts)


def colours(style: str, *names: str) -> set[str]:
    """The colors that a style sheet gives to some of its properties."""
    found = re.findall(rf"(?<![-\w])(?:{'|'.join(names)}):([^;}}]*)", style)
    return {colour for value in found for colour in re.findall(r"#[0-9a-f]{3,6}\b", value)}


def test_the_measure_of_contrast_is_that_of_the_standard() -> None:
    """WCAG 2.2: black on white is 21:1; #767676 is the lightest gray that text on white may have, as W3C's notes say."""
    assert contrast("#000", WHITE) == pytest.approx(21)
    assert contrast("#767676", WHITE) >= 4.5 > contrast("#777777", WHITE)


def test_every_text_can_be_read_on_every_ground_in_color_and_in_gray() -> None:
    texts = colours(html.STYLE, "color")
    texts |= {colour for rule in re.findall(r"text[^{]*\{[^}]*\}", DRAWN) for colour in colours(rule, "fill")}
    grounds = colours(html.STYLE, "background") | {WHITE}
    assert len(texts) >= 5 and len(grounds) >= 2
    for text in texts:
        for ground in grounds:
            assert contrast(text, ground) >= 4.5, (text, ground)
            assert contrast(grey(text), grey(ground)) >= 4.5, (text, ground, "in gray")


def test_every_line_and_every_hatching_can_be_seen_in_color_and_in_gray() -> None:
    drawn = colours(html.STYLE, "border", "border-left", "border-bottom", "border-top")
    drawn |= colours(DRAWN, "stroke", "fill") - {"#fff"}
    strokes = dict(re.findall(r"\.hearth-drawing \.(\w+)\{(?:stroke|fill):(#[0-9a-f]{6})", DRAWN))
    for tile in HATCHES.values():
        for name, opacity in re.findall(r'class="hatch (\w+)"[^>]*opacity="([.\d]+)"', tile):
            drawn.add(over_white(strokes[name], float(opacity)))
    assert len(drawn) >= 9
    for colour in drawn:
        assert contrast(colour, WHITE) >= 3, colour
        assert contrast(grey(colour), WHITE) >= 3, (colour, "in gray")


def test_no_answer_is_told_by_color_alone() -> None:
    """1.4.1: the word stands there, the bars beside it differ in kind, and the hatchings in shape."""
    bars = dict(re.findall(r"\.(\w+)>td:first-child\{border-left:\d+px (\w+)", html.STYLE))
    assert len(bars) == len(set(bars.values())) == 4
    shapes = [re.sub(r'class="[^"]*"', "", tile) for tile in HATCHES.values()]
    assert len(set(shapes)) == len(shapes)
    for row in tree("demo").every("tr"):
        if verdict := row.attributes.get("class"):
            assert next(row.every("span")).text == verdict


@pytest.mark.parametrize("name", PAGES)
def test_a_page_says_what_it_is_and_in_which_language_and_may_be_enlarged(name: str) -> None:
    root = tree(name)
    (page,) = root.every("html")
    assert page.attributes["lang"] == "en"
    assert next(page.every("title")).text.strip()
    (view,) = [one for one in page.every("meta") if one.attributes.get("name") == "viewport"]
    assert view.attributes["content"] == "width=device-width, initial-scale=1"
    assert len(list(page.every("main"))) == 1


@pytest.mark.parametrize("name", PAGES)
def test_headings_go_down_one_level_at_a_time_and_none_is_empty(name: str) -> None:
    headings = list(tree(name).every("h1", "h2", "h3", "h4", "h5", "h6"))
    levels = [int(one.tag[1]) for one in headings]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert all(one.text.strip() for one in headings)


@pytest.mark.parametrize("name", PAGES)
def test_every_cell_of_a_table_knows_its_heads(name: str) -> None:
    tables = list(tree(name).every("table"))
    assert tables
    for table in tables:
        (thead,) = table.every("thead")
        heads = [one.text for one in thead.every("th")]
        assert all(heads) and all(one.attributes["scope"] == "col" for one in thead.every("th"))
        (body,) = table.every("tbody")
        for row in body.every("tr"):
            cells = [one for one in row.inside if isinstance(one, Element)]
            assert len(cells) == len(heads)
            for head, cell in zip(heads, cells, strict=True):
                assert cell.attributes.get("data-head", head) == head
                if cell.tag == "th":
                    assert cell.attributes["scope"] == "row" and cell.text.strip()


def test_every_picture_and_every_drawing_has_a_name() -> None:
    root = tree("demo")
    (picture,) = root.every("img")
    assert picture.attributes["alt"] == "Soot over the jamb (taproom)"
    named = {one.attributes["id"]: one.text for one in root.every() if one.attributes.get("id")}
    drawings = list(root.every("svg"))
    assert len(drawings) == 3 + 6, (
        "three small ones; all views of both stages, but the one that stays the same"
    )
    for drawing in drawings:
        assert drawing.attributes["role"] == "img"
        names = (drawing.attributes["aria-labelledby"] or "").split()
        assert len(names) == 2 and all(named[one].strip() for one in names)
    for one in root.every("nav", "div"):
        if one.tag == "nav" or one.attributes.get("role"):
            assert one.attributes["aria-label"]


@pytest.mark.parametrize("name", PAGES)
def test_elements_stand_where_the_standard_lets_them(name: str) -> None:
    """HTML, 4.4 to 4.9: a paragraph holds no blocks, a list only items, a row only cells; ids are there once."""
    root = tree(name)
    holds = {
        "ul": {"li"},
        "ol": {"li"},
        "tr": {"td", "th"},
        "thead": {"tr"},
        "tbody": {"tr"},
        "colgroup": {"col"},
    }
    for one in root.every():
        within = {inner.tag for inner in one.inside if isinstance(inner, Element)}
        assert within <= holds.get(one.tag, within), one.tag
        if one.tag == "p":
            assert not {inner.tag for inner in one.every()} & {
                "div",
                "p",
                "ul",
                "ol",
                "table",
                "h1",
                "h2",
                "h3",
            }
    ids = [one.attributes["id"] for one in root.every() if "id" in one.attributes]
    assert len(ids) == len(set(ids))
    for link in root.every("a"):
        assert (link.attributes["href"] or "").removeprefix("#") in ids


def test_nothing_is_wider_than_the_narrowest_screen_or_than_a_sheet_of_paper() -> None:
    sheet = html.STYLE
    for name, number, unit in re.findall(r"(?<![-\w])((?:min-)?width):([.\d]+)(px|rem|em|pt|mm)", sheet):
        assert float(number) * PX[unit] <= NARROWEST, f"{name}:{number}{unit}"
    assert "table-layout:fixed;width:100%" in sheet and "overflow-wrap:anywhere" in sheet
    assert re.search(r"figure svg\{max-width:100%", sheet) and re.search(r"figure img\{max-width:100%", sheet)
    narrow = sheet.split("@media screen and (max-width:44rem){")[1].split("@media print")[0]
    assert "table,tbody,tr,td,tbody th{display:block" in narrow, "tables are stacked on a telephone"
    assert "td[data-head]::before{content:attr(data-head)" in narrow


def test_on_paper_each_page_has_its_number_and_no_row_and_no_drawing_is_cut() -> None:
    """CSS Paged Media 3: margins and their boxes. 215 mm of drawing go on Letter (279.4 mm) and on A4 (297 mm) within the margins."""
    page = source("demo")
    (margins,) = re.findall(r"@page\{margin:(\d+)mm \d+mm (\d+)mm;", page)
    assert 'content:"page " counter(page) " of " counter(pages)' in page
    printed = page.split("@media print{")[1].split("@page")[0]
    (highest,) = re.findall(r"figure svg\{max-height:(\d+)mm\}", printed)
    assert int(highest) + sum(map(int, margins)) < 279.4
    for rule in (
        "tbody tr{break-inside:avoid}",
        "break-after:avoid",
        "figure{margin:1rem 0;break-inside:avoid}",
    ):
        assert rule in page
    assert ".first{break-after:page}" in printed and "nav{display:none}" in printed
