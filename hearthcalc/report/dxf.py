"""The drawings as a drawing file: full size in the job's unit, layers by stage, dimensions that measure themselves."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from hearthcalc import caution
from hearthcalc.drawing.parts import Dimension, Drawing, Point, in_ascii
from hearthcalc.findings import Assessment
from hearthcalc.job import Job
from hearthcalc.report.paper import missing
from hearthcalc.report.plain import plain
from hearthcalc.report.sheets import drawings, materials
from hearthcalc.report.stamp import Stamp

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

INCH = {"in": 1.0, "mm": 25.4}  # units of the file to an inch
UNIT_CODE = {"in": 1, "mm": 4}  # $INSUNITS
APART = 60.0  # inches between two drawings
HIGH = 1.5  # inches: letters
AWAY = 5.0  # inches between the rows of dimensions
COLOURS = {"found": 8, "planned": 1}  # of the format: grey and red
STROKES = {"solid": "CONTINUOUS", "dashed": "DASHED", "steel": "CONTINUOUS", "asked": "DOT"}
PATTERNS = {"masonry": ("ANSI31", 20.0), "hearth": ("AR-CONC", 0.6), "wood": ("ANSI32", 12.0)}


def write(assessment: Assessment, job: Job, stamp: Stamp) -> bytes:
    """Every view of every stage beside one another. Raises UsageError where the library for it is not installed."""
    try:
        from ezdxf.filemanagement import new
    except ImportError as err:
        raise missing("A drawing file", err) from err
    document = new("R2010", setup=True)
    unit = INCH[job.units]
    document.header["$INSUNITS"] = UNIT_CODE[job.units]
    document.header["$MEASUREMENT"] = int(job.units == "mm")
    document.header["$LTSCALE"] = 6 * unit
    drawn = drawings(assessment, job)
    for stage in dict.fromkeys(stage for stage, _ in drawn):
        for part in ("LINES", "FILLS", "DIMENSIONS", "NAMES"):
            document.layers.add(_layer(stage, part), color=COLOURS[stage] if part == "LINES" else 7)
    document.layers.add("TITLE", color=7)
    _style(document, unit)
    across = 0.0
    for stage, drawing in drawn:
        x0, y0, x1, _ = drawing.bounds
        _Sketch(document, stage, unit, across - x0).draw(drawing)
        _lines(
            document,
            unit,
            across,
            y0 - 5 * AWAY,
            [drawing.title, "Scale 1:1 in model space", *drawing.notes],
        )
        across += x1 - x0 + APART
    about = job.about
    title = [
        assessment.title or "A fireplace",
        f"Place: {about.place or 'not entered'}",
        f"Measured by: {about.measured_by or 'not entered'}",
        f"Layers FOUND: as found. Layers PLANNED: as planned. Lengths in {job.units}.",
        caution.LINE,
        stamp.line,
        *stamp.tokens(),
    ]
    for stage in dict.fromkeys(stage for stage, _ in drawn):
        title += [f"Materials, {stage}:", *materials(job, stage)]
    _lines(document, unit, 0.0, -110.0, title)
    document.ezdxf_metadata()["CREATED_BY_EZDXF"] = f"hearthcalc {stamp.program}"
    return _bytes(document)


def _layer(stage: str, part: str) -> str:
    return f"{stage.upper()}-{part}"


def _style(document: Document, unit: float) -> None:
    style = document.dimstyles.new("HEARTH")
    style.dxf.dimtxt = HIGH * unit
    style.dxf.dimasz = HIGH * unit * 0.7
    style.dxf.dimexe = 0.5 * unit
    style.dxf.dimexo = 0.5 * unit
    style.dxf.dimgap = 0.4 * unit
    style.dxf.dimtad = 1


def _lines(document: Document, unit: float, x: float, y: float, lines: Sequence[str]) -> None:
    for number, line in enumerate(lines):
        document.modelspace().add_text(
            _text(line), height=HIGH * unit, dxfattribs={"layer": "TITLE"}
        ).set_placement((x * unit, (y - number * HIGH * 2) * unit))


def _text(text: str) -> str:
    """Text without what the format reads as a command."""
    return (
        in_ascii(plain(text))
        .replace("%%", "% %")
        .replace("\\", "/")
        .replace("^", " ")
        .replace("{", "(")
        .replace("}", ")")
    )


class _Sketch:
    """One view in model space. shift: inches to the right."""

    def __init__(self, document: Document, stage: str, unit: float, shift: float) -> None:
        self.space = document.modelspace()
        self.stage = stage
        self.unit = unit
        self.shift = shift

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] + self.shift) * self.unit, point[1] * self.unit

    def draw(self, drawing: Drawing) -> None:
        from ezdxf.enums import TextEntityAlignment

        for area in drawing.areas:
            if area.fill != "plain":
                name, scale = PATTERNS[area.fill]
                hatch = self.space.add_hatch(color=9, dxfattribs={"layer": _layer(self.stage, "FILLS")})
                hatch.set_pattern_fill(name, scale=scale * self.unit)
                hatch.paths.add_polyline_path([self.at(point) for point in area.points], is_closed=True)
        for line in drawing.lines:
            self.space.add_lwpolyline(
                [self.at(point) for point in line.points],
                dxfattribs={
                    "layer": _layer(self.stage, "LINES"), "linetype": STROKES[line.stroke],
                    "lineweight": 70 if line.stroke == "steel" else 25,
                },
            )  # fmt: skip
        for label in drawing.labels:
            sign = f"{label.verdict} " if label.verdict else ""
            self.space.add_text(
                _text(f"{sign}{label.full}"),
                height=HIGH * self.unit,
                dxfattribs={"layer": _layer(self.stage, "NAMES")},
            ).set_placement(self.at(label.at), align=TextEntityAlignment.MIDDLE_CENTER)
        rows: dict[str, int] = {}
        for item in sorted(drawing.dimensions, key=lambda item: item.rank):
            self._dimension(drawing, item, rows)

    def _dimension(self, drawing: Drawing, item: Dimension, rows: dict[str, int]) -> None:
        x0, y0, x1, y1 = drawing.bounds
        row = rows[item.place] = rows.get(item.place, 0) + (item.place != "inside")
        beside: dict[str, Point] = {
            "above": (item.start[0], y1 + row * AWAY),
            "below": (item.start[0], y0 - row * AWAY),
            "left": (x0 - row * AWAY, item.start[1]),
            "right": (x1 + row * AWAY, item.start[1]),
        }
        base = beside.get(item.place, item.start)
        sign = f"{item.verdict} " if item.verdict else ""
        self.space.add_linear_dim(
            base=self.at(base), p1=self.at(item.start), p2=self.at(item.end), angle=90 if item.upright else 0,
            text=_text(f"{sign}{item.text}{item.asked}"), dimstyle="HEARTH", dxfattribs={"layer": _layer(self.stage, "DIMENSIONS")},
        ).render()  # fmt: skip


def _bytes(document: Document) -> bytes:
    """The file. The library would put a clock and random names in, but for this option, which it keeps for tests."""
    from ezdxf._options import options

    for kind in sorted(document.entitydb.dxf_types_in_use()):  # a set, in another order at another start
        document.classes.add_class(kind)
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        out = io.StringIO()
        document.write(out)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return out.getvalue().encode("utf-8")
