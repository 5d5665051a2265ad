"""The document that an assessment makes: what every writer of a report sets in its own way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from hearthcalc import caution
from hearthcalc.asked import in_words, left_out
from hearthcalc.findings import Assessment, Basis, Finding, Margin, StageResult, Verdict
from hearthcalc.job import Job
from hearthcalc.rules.case import in_unit, tidy

if TYPE_CHECKING:
    from hearthcalc.drawing import Drawing
    from hearthcalc.report.photos import Picture
    from hearthcalc.report.stamp import Stamp
    from hearthcalc.whatif.sweep import Sweep

Style = Literal["title", "heading", "subheading", "caution", "text", "verdict", "item", "note"]
Cell = str | int | float

SUBJECTS = {
    "record": "Entries that disagree",
    "flue": "The flue",
    "hearth": "The hearths",
    "clearance": "What stands near the fire",
    "firebox": "The firebox",
    "smoke_chamber": "The smoke chamber",
    "doors": "The doors",
    "lintel": "Over the opening",
    "chimney": "The chimney",
    "structure": "What is built in",
    "air": "Air",
    "gas_logs": "Gas logs",
    "draft": "Will it smoke",
    "house": "The house",
    "heat": "Heat on the hearth",
    "change": "What the work sets going",
}

STAGES = {"found": "As found", "planned": "As planned"}

WORDS = {
    Verdict.MEETS: "What was judged meets the reference values used",
    Verdict.CLOSE: "Close to a limit: measure again",
    Verdict.REFER: "Something is for a person to decide",
    Verdict.MEASURE: "Something is still to be measured",
    Verdict.SHORT: "Something falls short of the reference values used",
}


class Paragraph(Struct, frozen=True):
    """A run of words. style: how it is set."""

    text: str
    style: Style = "text"


class Answer(Struct, frozen=True):
    """A finding as it is set: its verdict, what it is about, its sentence, and rows of detail (label, text).

    figures: what is required, what was found and the margin, as text, "" where there is none.  when: the stages it holds in.
    of: the finding, for who needs its numbers.
    """

    verdict: Verdict
    about: str
    text: str
    details: tuple[tuple[str, str], ...]
    figures: tuple[str, str, str] = ("", "", "")
    when: str = ""
    of: Finding | None = None


class Rows(Struct, frozen=True):
    """A table: column titles and rows of cells. widths: of the columns, as shares of a page.  ink: with room to sign by hand."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[float, ...] = ()
    ink: bool = False


class Figures(Struct, frozen=True):
    """Drawings: small ones side by side, or each over the width of the page."""

    drawings: tuple[Drawing, ...]
    small: bool = False


class Pictures(Struct, frozen=True):
    """Photographs, two side by side where there is room."""

    pictures: tuple[Picture, ...]


class Swept(Struct, frozen=True):
    """What is found while one entry or two run over a range, as a map."""

    sweep: Sweep


class Box(Struct, frozen=True):
    """Room to write one measurement in. mark: its letter.  limits: what is asked of it.  choices: where it is one of some words."""

    mark: str
    label: str
    how: str
    limits: tuple[str, ...]
    choices: tuple[str, ...]
    unit: str


class Blank(Struct, frozen=True):
    """Room for notes, so many lines."""

    lines: int


class PageEnd(Struct, frozen=True):
    """What follows starts a page."""


Block = Paragraph | Answer | Rows | Figures | Pictures | Swept | Box | Blank | PageEnd


class Report(Struct, frozen=True):
    """A document in order. stamp: what stands at the foot of its pages; without one it is for the screen alone."""

    title: str
    blocks: tuple[Block, ...]
    stamp: Stamp | None = None


def build(
    assessment: Assessment,
    job: Job,
    *,
    explain: bool = False,
    stage: str | None = None,
    buy: Rows | None = None,
) -> Report:
    """The report of an assessment.

    explain: with the working and the basis of each finding.  stage: only "found" or "planned", both where None.
    buy: the shopping list, where it belongs to the report.
    """
    title = assessment.title or "A fireplace"
    blocks: list[Block] = [Paragraph(title, "title")]
    about = job.about
    facts = [
        ("Place", about.place),
        ("Measured by", about.measured_by),
        ("Date", str(about.date) if about.date else None),
        ("Judged by", judged_by(assessment)),
    ]
    blocks += [Paragraph(f"{name}: {value}") for name, value in facts if value]
    blocks += [Paragraph(text, "caution") for text in (*caution.FULL, *assessment.cautions[1:])]
    for name, result in assessment.stages.items():
        if stage is None or name == stage:
            blocks += _stage(name, result, f"{job.units}2", explain)
    if buy and buy.rows:
        blocks += [Paragraph("What to buy", "heading"), buy]
    return Report(title, tuple(blocks))


def judged_by(assessment: Assessment) -> str:
    """The edition, and the place whose amendments are used."""
    amended = f", with the amendments of {assessment.amended_for}" if assessment.amended_for else ""
    return f"{assessment.edition_title} ({assessment.edition_id}){amended}"


def _stage(name: str, result: StageResult, unit: str, explain: bool) -> Iterator[Block]:
    yield Paragraph(STAGES[name], "heading")
    yield overall(result)
    if result.left_out:
        yield left_out_line(result)
    if len(result.states) > 1:
        yield Paragraph("Ways of using it", "subheading")
        yield states(result, unit)
    for subject, group in groupby(by_subject(result.findings), key=lambda f: f.subject):
        yield Paragraph(subject_of(subject), "subheading")
        for finding in group:
            yield answer(finding, explain)
    if result.measure:
        yield Paragraph("Still to be measured", "subheading")
        yield Rows(
            ("Measure", "How", "Entry"),
            tuple((m.label, m.unread or m.how, m.address) for m in result.measure),
        )


def by_subject(findings: Iterable[Finding]) -> list[Finding]:
    """Findings in the order of the subjects."""
    order = {subject: number for number, subject in enumerate(SUBJECTS)}
    return sorted(
        findings, key=lambda f: (order.get(f.subject, len(order)), f.subject * (f.subject not in order))
    )


def subject_of(subject: str) -> str:
    """The heading of a subject."""
    return SUBJECTS.get(subject) or subject.replace("_", " ").capitalize()


def overall(result: StageResult, before: str = "") -> Paragraph:
    """The overall verdict of a stage with how many answers there are of each kind. before: words to begin with."""
    tally = ", ".join(f"{number} {verdict}" for verdict, number in result.counts.items())
    sign = "" if before else f"{result.overall.sign} "
    return Paragraph(
        f"{before}{sign}{result.overall}: {overall_words(result)} ({tally or 'nothing could be judged'}).",
        "verdict",
    )


def left_out_line(result: StageResult) -> Paragraph:
    """What the job does not ask, so that nobody takes it for judged."""
    return Paragraph(f"Left out, so not judged: {in_words(result.left_out)}.", "note")


def states(result: StageResult, unit: str) -> Rows:
    """The ways of using it, with what is then open against the flue. unit: of areas."""
    return Rows(
        ("State", "Open", "Flue", "Opening over flue", "Worst"),
        tuple(
            (
                state.name,
                _area(state.opening_area, unit),
                _area(state.flue_area, unit),
                f"{float(state.ratio):.1f}" if state.ratio else "-",
                f"{state.overall or '-'}{'' if state.counts else ' (does not count)'}",
            )
            for state in result.states
        ),
    )


def _area(area: Fraction | None, unit: str) -> str:
    return "not known" if area is None else f"{float(in_unit(area, unit)):.0f} {unit}"


def overall_words(result: StageResult) -> str:
    """The overall verdict in words; never that anything is safe or approved."""
    words = WORDS[result.overall]
    if any(state.name == "all open" and not state.counts for state in result.states):
        words += ", with one face open at a time"
    if result.overall in (Verdict.MEETS, Verdict.CLOSE):
        words += f"; {covered_words(result)}"
    if result.left_out:
        words += f"; this covers only: {in_words(left_out(result.left_out))}"
    return words


def covered_words(result: StageResult) -> str:
    """How much of the edition was not judged, in words."""
    covered = result.covered
    if covered is None:
        return "how much else the edition asks is not listed"
    return f"{covered.listed - covered.judged} of the {covered.listed} clauses of the edition that bear on it were not judged"


def where(finding: Finding) -> str:
    """What a finding is about: its thing, its face, its state."""
    parts = [finding.item, finding.face, finding.state]
    values = [
        part
        for number, part in enumerate(parts)
        if part and not (number == 1 and finding.state == f"{part} open")
    ]
    return ", ".join(values)


def question(finding: Finding) -> str:
    """What a finding asks, and of what."""
    place = where(finding)
    return f"{finding.title} ({place})" if place else finding.title


def about_line(finding: Finding) -> str:
    """The line that a finding stands under: its question, and how much its answer weighs."""
    about = question(finding)
    if finding.kind == "model":
        about += ", by this tool's model"
    if not finding.counts and finding.kind != "advice":
        about += ", does not count"
    return about


def figures(finding: Finding) -> tuple[str, str, str]:
    """What is required, what was found and the margin of a finding, as text."""
    words = {">=": "at least ", "<=": "at most "}
    required, found, margin = finding.required, finding.found, finding.margin
    return (
        f"{words.get(required.op, '')}{required.text}" if required else "",
        found.text if found else "",
        _margin(margin) if margin else "",
    )


def _margin(margin: Margin) -> str:
    sign = "+" if margin.value > 0 else ""
    number = f"{sign}{tidy(margin.value)} {margin.unit}".strip()
    return number if margin.percent is None else f"{number} ({sign}{margin.percent:.0f} %)"


def figures_line(answer: Answer) -> str:
    """The figures of an answer on one line, "" where there are none."""
    names = ("required", "found", "margin")
    line = "; ".join(f"{name} {figure}" for name, figure in zip(names, answer.figures, strict=True) if figure)
    return f"{line[:1].upper()}{line[1:]}." if line else ""


def cell_text(cell: Cell) -> str:
    """A cell of a table as text."""
    return cell if isinstance(cell, str) else f"{cell:,.10g}".replace(",", "")


def answer(finding: Finding, explain: bool) -> Answer:
    """One finding as it is set."""
    about = about_line(finding)
    details = [("Do", text) for text in finding.remedy]
    if finding.caution and finding.verdict is not Verdict.MEETS:
        details.insert(0, ("Caution", finding.caution))
    if explain:
        details += [("Working", step.line()) for step in finding.working]
        details += [("Basis", basis_line(basis)) for basis in finding.basis if basis.clause]
    elif finding.kind == "model":
        standings = Counter(basis.standing for basis in finding.basis)
        counted = ", ".join(f"{number} {standing}" for standing, number in standings.items())
        details += (
            [("Rests on", f"values of the model ({counted}); --explain lists them.")] if counted else []
        )
    else:
        details += [("Basis", basis_line(basis)) for basis in finding.basis if basis.standing != "published"]
    return Answer(finding.verdict, about, finding.text, tuple(details))


def basis_line(basis: Basis) -> str:
    """A reference value with its source, clause and standing."""
    named = "_" in basis.value  # a method or a table by its name in the files, which says nothing to a reader
    value = "" if named else f": {basis.value}"
    own = basis.source in ("project", "trade")
    origin = ", ".join(part for part in ("" if own else basis.source, basis.clause) if part)
    standing = "" if basis.standing in origin else f"; {basis.standing}"
    note = f" ({basis.note})" if basis.note else ""
    return f"{basis.title}{value}. {origin}{standing}{note}."
