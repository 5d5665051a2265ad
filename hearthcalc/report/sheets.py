"""Drawing sheets for a permit: each view to a stated scale, with a title block, dimensions and materials."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from html import escape
from textwrap import wrap
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import caution, lengths
from hearthcalc.drawing import Drawing, as_text, views
from hearthcalc.drawing.shapes import ACROSS, told_below
from hearthcalc.drawing.svg import HATCHES, STYLE, painted
from hearthcalc.findings import Assessment
from hearthcalc.job import Job
from hearthcalc.report import paper
from hearthcalc.report.model import STAGES
from hearthcalc.report.paper import PAPER, Painting, PaperName
from hearthcalc.report.plain import plain
from hearthcalc.report.stamp import Stamp

# The scales of the trade, the largest first: their names, and how many inches one inch of paper stands for
SCALES = {
    "in": (
        ("1 1/2 in = 1 ft", 8), ("1 in = 1 ft", 12), ("3/4 in = 1 ft", 16), ("1/2 in = 1 ft", 24), ("3/8 in = 1 ft", 32),
        ("1/4 in = 1 ft", 48), ("3/16 in = 1 ft", 64), ("1/8 in = 1 ft", 96),
    ),
    "mm": (("1:10", 10), ("1:20", 20), ("1:25", 25), ("1:50", 50), ("1:100", 100)),
}  # fmt: skip
NOT_TO_SCALE = "not to scale"
CELL = 5.0  # pt that a column of the layout is wide: letters of 8 pt
EDGE, BLOCK, BAND, GAP = (
    30.0,
    66.0,
    101.0,
    8.0,
)  # pt: round the sheet, the title block, the band of notes over it
SMALL, LINE = 7.0, 8.6  # pt: letters and lines of the notes
LETTER = 0.46  # of its height, that a letter is wide on average
MOST = 90  # characters of a cell of the title block
POINTS = 72.0


class Put(Struct, frozen=True):
    """A text on a sheet, in pt from its upper left corner."""

    x: float
    y: float
    text: str
    size: float = SMALL
    bold: bool = False
    room: float = 1000.0


class Sheet(Struct, frozen=True):
    """One sheet, landscape. scale: its name.  at: where the drawing's cells begin, pt.  px: pt to a px of them."""

    drawing: Drawing
    stage: str
    scale: str
    size: tuple[float, float]
    painting: Painting
    at: tuple[float, float]
    texts: tuple[Put, ...]
    rules: tuple[tuple[float, float, float, float], ...]

    @property
    def px(self) -> float:
        return CELL / ACROSS


def lay_out(assessment: Assessment, job: Job, stamp: Stamp, size: PaperName = "letter") -> tuple[Sheet, ...]:
    """The sheets of a job: those of the planned stage first."""
    high, wide = PAPER[size]
    drawn = drawings(assessment, job)
    sheets = []
    for number, (stage, drawing) in enumerate(drawn, 1):
        scale, painting = _to_scale(drawing, job, (wide, high))
        texts, rules = _around(
            stage, painting, job, stamp, (wide, high), scale, f"sheet {number} of {len(drawn)}", assessment
        )
        sheets.append(
            Sheet(
                drawing,
                stage,
                scale,
                (wide, high),
                painting,
                (EDGE + GAP, EDGE + GAP + LINE * 2),
                tuple(texts),
                tuple(rules),
            )
        )
    return tuple(sheets)


def drawings(assessment: Assessment, job: Job) -> list[tuple[str, Drawing]]:
    """Every view of every stage; in the planned ones, what is not as found is said to be planned."""
    stages = {
        name: views(stage, assessment.stages[name])
        for name, stage in job.stages().items()
        if name in assessment.stages
    }
    there = {
        (drawing.view, drawing.face, item.what): item.text
        for drawing in stages.get("found", ())
        for item in drawing.dimensions
    }
    drawn = []
    for name in reversed(stages):
        for drawing in stages[name]:
            if name == "planned":
                drawing = _planned(drawing, there)
            drawn.append((name, drawing))
    return drawn


def _planned(drawing: Drawing, there: Mapping[Any, str]) -> Drawing:
    dimensions, notes = [], []
    for item in drawing.dimensions:
        was = there.get((drawing.view, drawing.face, item.what))
        if was == item.text or item.address:
            dimensions.append(item)
            continue
        dimensions.append(replace(item, text=f"{item.text} planned"))
        if was is not None:
            notes.append(f"{item.what}: {was} as found, {item.text} planned")
    return replace(drawing, dimensions=tuple(dimensions), notes=(*notes, *drawing.notes))


def _to_scale(drawing: Drawing, job: Job, size: tuple[float, float]) -> tuple[str, Painting]:
    """The drawing at the largest scale that the sheet has room for."""
    columns = int((size[0] - 2 * (EDGE + GAP)) / CELL)
    rows = int((size[1] - 2 * (EDGE + GAP) - BLOCK - BAND - LINE * 2) / (2 * CELL))
    for name, factor in SCALES[job.units]:
        least = factor * CELL / POINTS
        painting = Painting(drawing, (columns, rows), least)
        if painting.page.scale == least:
            return name, painting
    return NOT_TO_SCALE, Painting(drawing, (columns, rows))


def _around(
    stage: str, painting: Painting, job: Job, stamp: Stamp, size: tuple[float, float], scale: str, number: str, assessment: Assessment
) -> tuple[list[Put], list[tuple[float, float, float, float]]]:  # fmt: skip
    """The texts and lines round a drawing: its name, notes, materials and the title block."""
    wide, high = size
    right, bottom = wide - EDGE, high - EDGE
    block, band = bottom - BLOCK, bottom - BLOCK - BAND
    middle = EDGE + (right - EDGE) / 2
    about = job.about
    when = STAGES[stage].upper()
    texts = [
        Put(
            EDGE + GAP,
            EDGE + GAP + 11,
            f"{painting.page.drawing.title}",
            12,
            bold=True,
            room=right - EDGE - 2 * GAP,
        )
    ]
    room = middle - EDGE - 2 * GAP
    texts += _column(EDGE + GAP, band, "Materials", materials(job, stage), room)
    texts += _column(middle + GAP, band, "Notes", told_below(painting.page), room)
    measures = {"in": "inches", "mm": "millimeters"}[job.units]
    cells = (
        (
            0.0,
            0.40,
            11.0,
            (
                assessment.title or "A fireplace",
                _named("Place", about.place),
                _named("Measured by", about.measured_by),
            ),
        ),
        (0.40, 0.64, 12.0, (when, f"Edition: {assessment.edition_id}", f"Lengths in {measures}")),
        (0.64, 0.84, 10.0, (f"Scale: {scale}", _named("Measured", about.date), f"Drawn: {stamp.date}")),
        (0.84, 1.0, 10.0, (number, f"Paper: {wide / POINTS:.1f} x {high / POINTS:.1f} in")),
    )
    rules = [
        (EDGE, EDGE, right, EDGE), (right, EDGE, right, bottom), (EDGE, bottom, right, bottom), (EDGE, EDGE, EDGE, bottom),
        (EDGE, block, right, block), (EDGE, band, right, band), (middle, band, middle, block), (EDGE, bottom - 21, right, bottom - 21),
    ]  # fmt: skip
    for start, end, letters, lines in cells:
        x, room = EDGE + (right - EDGE) * start, (right - EDGE) * (end - start) - 10
        if start:
            rules.append((x, block, x, bottom - 21))
        for row, told in enumerate(lines):
            size_of = SMALL if row else letters
            texts.append(Put(x + 5, block + 14 + row * 12, told[:MOST], size_of, bold=not row, room=room))
    texts.append(Put(EDGE + 5, bottom - 12.5, caution.LINE, 6.4, room=right - EDGE - 10))
    texts.append(
        Put(
            EDGE + 5,
            bottom - 4.5,
            f"{stamp.line} · print at full size: do not fit to the page",
            6.4,
            room=right - EDGE - 10,
        )
    )
    return texts, rules


def _named(name: str, value: object) -> str:
    return f"{name}: {value or 'not entered'}"


def _column(x: float, y: float, head: str, lines: Sequence[str], room: float) -> Iterator[Put]:
    """A head and as many lines below it as the band has room for."""
    yield Put(x, y + LINE + 1, head, SMALL + 1, bold=True)
    most = int((BAND - LINE * 2) / LINE)
    width = int(room / (SMALL * LETTER))
    rows = [part for line in lines for part in wrap(plain(line), width)] or ["none"]
    if len(rows) > most:
        rows[most - 1 :] = ["The report has the rest."]
    for number, line in enumerate(rows, 2):
        yield Put(x, y + 1 + LINE * number, line, room=room)


def materials(job: Job, stage: str) -> list[str]:
    """What the parts of a stage are made of, as far as it was entered, a line each."""
    here = job.stages()[stage].job
    unit = job.units
    lines = ["Hatched: masonry. Dotted: hearth. Lined: wood. Heavy: steel. Dashed: not measured."]

    def long(amount: object) -> str:
        value = getattr(amount, "value", None)
        return "not known" if value is None else lengths.show(value, unit)

    for face in here.face:
        hearth, lintel = face.hearth, face.lintel
        if hearth.layers:
            layers = ", ".join(
                f"{long(layer.thickness)} {_in_words(layer.material)}" for layer in hearth.layers
            )
            lines.append(
                f"Hearth, {face.name}, from the top: {layers}; below it: {hearth.below or 'not known'}."
            )
        else:
            lines.append(
                f"Hearth, {face.name}: {long(hearth.thickness)} thick; below it: {hearth.below or 'not known'}."
            )
        if lintel.angle:
            lines.append(f"Lintel, {face.name}: {lintel.angle}, bearing {long(lintel.bearing)}.")
    box = here.firebox
    lines.append(
        f"Firebox: walls {long(box.wall)}, lining {long(box.lining)} of firebrick, floor {long(box.floor_slab)}."
    )
    flue = here.flue
    lines.append(f"Flue: {flue.lining or 'lining not known'}, {flue.liner or 'size as measured'}.")
    return lines


def _in_words(material: str | None) -> str:
    """A material by its name in the tables, whose last part is its density where it has one."""
    if material is None:
        return "of what is not known"
    *words, last = material.split("_")
    return f"{' '.join(words)} of {last} kg/m3" if last.isdigit() and words else material.replace("_", " ")


def text(sheets: Sequence[Sheet], width: int = 100) -> str:
    """The sheets as text, one after the other; characters keep no scale."""
    lines: list[str] = []
    for sheet in sheets:
        lines += [f"{STAGES[sheet.stage].upper()}. {NOT_TO_SCALE.capitalize()} in characters."]
        lines += as_text(sheet.drawing, width, 40)
        for put in sheet.texts[1:]:
            lines += wrap(plain(put.text), width)
        lines += ["", "-" * width, ""]
    return "\n".join(lines)


def pdf(sheets: Sequence[Sheet], stamp: Stamp, title: str, author: str = "") -> bytes:
    """The sheets as one PDF, at their scale where it is printed at full size. Raises UsageError without the library."""
    paper.load_fonts()
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(
        out,
        pagesize=sheets[0].size if sheets else (792.0, 612.0),
        invariant=1,
        pageCompression=1,
        lang="en-US",
        initialFontName=paper.REGULAR,  # type: ignore[arg-type]  # a name, which its stubs take for a size
    )
    canvas.setViewerPreference("DisplayDocTitle", "true")
    paper.head(canvas, title, author, stamp)
    for number, sheet in enumerate(sheets):
        high = sheet.size[1]
        name = plain(sheet.drawing.title, 120)
        canvas.bookmarkPage(f"s{number}")
        canvas.addOutlineEntry(name, f"s{number}", 0)
        sheet.painting.paint(canvas, sheet.at[0], high - sheet.at[1], sheet.px)
        canvas.setStrokeColorRGB(*paper.INK)
        canvas.setLineWidth(0.8)
        for x0, y0, x1, y1 in sheet.rules:
            canvas.line(x0, high - y0, x1, high - y1)
        canvas.setFillColorRGB(*paper.INK)
        for put in sheet.texts:
            font = paper.BOLD if put.bold else paper.REGULAR
            paper.fitted(canvas, plain(put.text), put.x, high - put.y, put.room, font, put.size)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def svg(sheets: Sequence[Sheet], stamp: Stamp, title: str) -> str:
    """The sheets as one SVG, one under the other, at their scale where it is printed at full size."""
    wide = max(sheet.size[0] for sheet in sheets)
    high = sum(sheet.size[1] for sheet in sheets)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="hearth-drawing" role="img" viewBox="0 0 {wide:.2f} {high:.2f}" '
        f'width="{wide / POINTS:.4f}in" height="{high / POINTS:.4f}in">',
        f"<title>{escape(plain(title))}</title>",
        f"<metadata>{escape(' '.join(stamp.tokens()))}</metadata>",
        f"<style>{STYLE}</style>",
        "<defs>",
        *(
            f'<pattern id="h{name}" width="8" height="8" patternUnits="userSpaceOnUse">{tile}</pattern>'
            for name, tile in HATCHES.items()
        ),
        "</defs>",
        f'<rect class="paper" width="{wide:.2f}" height="{high:.2f}"/>',
    ]
    down = 0.0
    for sheet in sheets:
        x, y = sheet.at
        lines.append(f'<g transform="translate(0 {down:.2f})">')
        lines.append(f'<g transform="translate({x:.2f} {y:.2f}) scale({sheet.px:.6f})">')
        lines += painted(sheet.painting.page, "h")
        lines.append("</g>")
        lines += [
            f'<line x1="{x0:.2f}" y1="{y0:.2f}" x2="{x1:.2f}" y2="{y1:.2f}" style="stroke-width:.8"/>'
            for x0, y0, x1, y1 in sheet.rules
        ]
        for put in sheet.texts:
            long = len(put.text) * put.size * LETTER * 1.25
            letters = put.size * min(1.0, put.room / long) if long else put.size
            weight = ";font-weight:bold" if put.bold else ""
            style = f"font:{letters:.1f}px sans-serif{weight}"
            lines.append(
                f'<text x="{put.x:.2f}" y="{put.y:.2f}" style="{style}">{escape(plain(put.text))}</text>'
            )
        lines.append("</g>")
        down += sheet.size[1]
    return "\n".join([*lines, "</svg>"]) + "\n"
