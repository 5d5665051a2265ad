"""The document that an assessment makes: what every writer of a report sets in its own way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Literal

from hearthcalc import caution
from hearthcalc.findings import Assessment, Basis, Finding, StageResult, Verdict
from hearthcalc.job import Job
from hearthcalc.rules.case import in_unit

Style = Literal["title", "heading", "subheading", "caution", "text", "verdict"]

SUBJECTS = {
    "record": "Entries that disagree",
    "flue": "The flue",
    "hearth": "The hearths",
    "clearance": "What stands near the fire",
    "firebox": "The firebox",
    "smoke_chamber": "The smoke chamber",
    "doors": "The doors",
    "lintel": "Over the opening",
    "chimney": "The chimney at the roof",
    "air": "Air",
    "gas_logs": "Gas logs",
    "draft": "Will it smoke",
    "house": "The house",
    "heat": "Heat on the hearth",
    "change": "What the work sets going",
}

STAGES = {"found": "As found", "planned": "As planned"}

WORDS = {
    Verdict.MEETS: "Meets the reference values used",
    Verdict.CLOSE: "Close to a limit: measure again",
    Verdict.REFER: "Something is for a person to decide",
    Verdict.MEASURE: "Something is still to be measured",
    Verdict.SHORT: "Something falls short of the reference values used",
}


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A run of words. style: how it is set."""

    text: str
    style: Style = "text"


@dataclass(frozen=True, slots=True)
class Answer:
    """A finding as it is set: its verdict, what it is about, its sentence, and rows of detail (label, text)."""

    verdict: Verdict
    about: str
    text: str
    details: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: column titles and rows of cells."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Block = Paragraph | Answer | Rows


@dataclass(frozen=True, slots=True)
class Report:
    """A document in order."""

    title: str
    blocks: tuple[Block, ...]


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
        ("Judged by", f"{assessment.edition_title} ({assessment.edition_id})"),
    ]
    blocks += [Paragraph(f"{name}: {value}") for name, value in facts if value]
    blocks += [Paragraph(text, "caution") for text in (*caution.FULL, *assessment.cautions[1:])]
    for name, result in assessment.stages.items():
        if stage is None or name == stage:
            blocks += _stage(name, result, f"{job.units}2", explain)
    if buy and buy.rows:
        blocks += [Paragraph("What to buy", "heading"), buy]
    return Report(title, tuple(blocks))


def _stage(name: str, result: StageResult, unit: str, explain: bool) -> Iterator[Block]:
    yield Paragraph(STAGES[name], "heading")
    tally = ", ".join(f"{number} {verdict}" for verdict, number in result.counts.items())
    yield Paragraph(f"{result.overall.sign} {result.overall}: {overall_words(result)} ({tally}).", "verdict")
    if len(result.states) > 1:
        yield Paragraph("Ways of using it", "subheading")
        yield Rows(
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
    ordered = sorted(result.findings, key=lambda f: list(SUBJECTS).index(f.subject))
    for subject, group in groupby(ordered, key=lambda f: f.subject):
        yield Paragraph(SUBJECTS[subject], "subheading")
        for finding in group:
            yield answer(finding, explain)
    if result.measure:
        yield Paragraph("Still to be measured", "subheading")
        yield Rows(
            ("Measure", "How", "Entry"),
            tuple((m.label, m.unread or m.how, m.address) for m in result.measure),
        )


def _area(area: Fraction | None, unit: str) -> str:
    return "not known" if area is None else f"{float(in_unit(area, unit)):.0f} {unit}"


def overall_words(result: StageResult) -> str:
    """The overall verdict in words; never that anything is safe or approved."""
    words = WORDS[result.overall]
    if any(state.name == "all open" and not state.counts for state in result.states):
        words += ", with one face open at a time"
    return words


def where(finding: Finding) -> str:
    """What a finding is about: its thing, its face, its state."""
    parts = [finding.item, finding.face, finding.state]
    told = [
        part
        for number, part in enumerate(parts)
        if part and not (number == 1 and finding.state == f"{part} open")
    ]
    return ", ".join(told)


def answer(finding: Finding, explain: bool) -> Answer:
    """One finding as it is set."""
    place = where(finding)
    about = f"{finding.title} ({place})" if place else finding.title
    if finding.kind == "model":
        about += ", by this tool's model"
    if not finding.counts and finding.kind != "advice":
        about += ", does not count"
    details = [("Do", text) for text in finding.remedy]
    if finding.caution and finding.verdict is not Verdict.MEETS:
        details.insert(0, ("Caution", finding.caution))
    if explain:
        details += [("Working", step.line()) for step in finding.working]
        details += [("Basis", basis_line(basis)) for basis in finding.basis if basis.clause]
    elif finding.kind == "model":
        standings = Counter(basis.standing for basis in finding.basis)
        told = ", ".join(f"{number} {standing}" for standing, number in standings.items())
        details += [("Rests on", f"values of the model ({told}); --explain lists them.")] if told else []
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
