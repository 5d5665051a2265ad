"""The report as it is handed over: which parts it has, for whom, and in what order."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import groupby
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import assess, caution, coverage, steps, takeoff, validation  # noqa: F401 - the rules are entered in the order that assess names them
from hearthcalc.asked import QUESTIONS, left_out
from hearthcalc.drawing import Drawing, views
from hearthcalc.findings import (
    STANDINGS,
    Assessment,
    Basis,
    Finding,
    Measure,
    StageResult,
    Verdict,
    side_by_side,
)
from hearthcalc.job import Job, entries, signing
from hearthcalc.reference import Edition
from hearthcalc.report import photos, stamp
from hearthcalc.report.model import (
    STAGES,
    Answer,
    Block,
    Figures,
    PageEnd,
    Paragraph,
    Pictures,
    Report,
    Rows,
    Swept,
    about_line,
    basis_line,
    by_subject,
    figures,
    judged_by,
    left_out_line,
    overall,
    question,
    states,
    subject_of,
)
from hearthcalc.report.photos import Picture
from hearthcalc.rules.draft import taken
from hearthcalc.steps import Step, held_line
from hearthcalc.takeoff.lines import Item
from hearthcalc.validation import Held
from hearthcalc.whatif.sweep import Sweep, turns

Audience = Literal["all", "homeowner", "permit", "inspection"]

MOST_NEXT = 6  # lines of what to do next that a page has room for beside the rest
MOST_NOTES = 600  # characters of notes on the first page
CHANGED = {
    "face": "the openings",
    "nearby": "what stands near the fire",
    "roof": "the roofs",
    "air": "the air",
    "use": "how it is used",
}
SEEN_IN_ITS_SOURCE = ("published", "edited here")
BOTH = "found and planned"
WORST_FIRST = tuple(reversed(Verdict))

EVERY = (
    "compared", "findings", "remedies", "swept", "site-list", "drawings", "photographs", "measurements", "take-off", "steps", "coverage",
    "assumptions", "edits", "models", "validation", "sign-off", "working", "rule",
)  # fmt: skip
LEFT_OUT: dict[Audience, frozenset[str]] = {
    "all": frozenset(),
    "homeowner": frozenset({"measurements", "assumptions", "validation", "working"}),
    "permit": frozenset({"take-off"}),
    "inspection": frozenset({"take-off", "remedies"}),
}
SHORT = frozenset({"findings", "swept", "site-list", "coverage", "edits", "models", "sign-off", "rule"})


class Choice(Struct, frozen=True):
    """What a report is wanted for.

    short: the first page and what is not met.  working: with the appendix of it.  only: one part alone, under the cautions.
    """

    audience: Audience = "all"
    short: bool = False
    working: bool = True
    only: str = ""

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts after the first page, in order."""
        if self.only:
            return (self.only,)
        kept = [part for part in EVERY if part not in LEFT_OUT[self.audience]]
        return tuple(
            part for part in kept if (not self.short or part in SHORT) and (self.working or part != "working")
        )

    @property
    def only_what_is_not_met(self) -> bool:
        return self.short or self.audience == "homeowner"


class Given(Struct, frozen=True):
    """What other parts of the program have to add to a report; a part that is None is left out.

    asked: what the person wants to know.  steps: the order of work.  coverage: what was not judged.  validation: of the models.
    pictures: the photographs that the job names.  swept: what is found while entries run over a range.
    """

    asked: tuple[str, ...] = ()
    steps: Rows | None = None
    coverage: Rows | None = None
    validation: Rows | None = None
    items: tuple[Item, ...] = ()
    pictures: tuple[Picture, ...] = ()
    swept: Sweep | None = None


class _Answered(Struct, frozen=True):
    """A finding, and the stages in which it reads the same."""

    finding: Finding
    when: str


def compose(
    assessment: Assessment,
    job: Job,
    edition: Edition,
    date: dt.date,
    choice: Choice | None = None,
    given: Given | None = None,
) -> Report:
    """The report of a job: the first page answers alone, the rest says why."""
    return _Contents(assessment, job, edition, choice or Choice(), given or Given()).report(date)


def gather(
    job: Job,
    edition: Edition,
    assessment: Assessment,
    choice: Choice,
    folder: Path | None = None,
    swept: Sweep | None = None,
) -> Given:
    """What goes into a report beside the findings. folder: of the job file, for its photographs.  swept: a sweep that was asked for."""
    return Given(
        items=takeoff.take_off(job, edition),
        validation=_held_to(edition) if "validation" in choice.parts else None,
        steps=ordered(steps.order(job, assessment, edition)),
        coverage=unjudged(edition, assessment.deciding, choice),
        pictures=photos.load(job, folder),
        swept=swept,
    )


class _Contents:
    """The parts of one report."""

    def __init__(
        self, assessment: Assessment, job: Job, edition: Edition, choice: Choice, given: Given
    ) -> None:
        self.assessment = assessment
        self.job = job
        self.edition = edition
        self.choice = choice
        self.given = given
        self.answered = _merged(assessment)
        self.drawings = {
            name: views(stage, assessment.stages[name])
            for name, stage in job.stages().items()
            if name in assessment.stages
        }

    def report(self, date: dt.date) -> Report:
        makers = {
            "compared": self.compared, "findings": self.findings, "remedies": self.remedies, "site-list": self.site_list,
            "coverage": lambda: _given("What was not judged", self.given.coverage),
            "steps": lambda: _given("The order of work", self.given.steps),
            "swept": self.swept, "drawings": self.large, "photographs": self.photographs, "measurements": self.measurements,
            "take-off": self.takeoff, "sign-off": self.sign_off,
            "assumptions": self.assumptions, "edits": self.edits, "models": self.models,
            "validation": lambda: _given("How far the models can be trusted", self.given.validation),
            "working": self.working, "rule": self.rule,
        }  # fmt: skip
        title = self.assessment.title or "A fireplace"
        blocks: list[Block] = [*self.head(title)]
        if not self.choice.only:
            blocks += [*self.first_page(), PageEnd()]
        for part in self.choice.parts:
            blocks += makers[part]()
        mark = stamp.of(self.job, self.assessment, date, photos.digest(self.given.pictures))
        return Report(title, tuple(blocks), mark)

    # The first page

    def head(self, title: str) -> Iterator[Block]:
        """Whose job it is, and the cautions."""
        assessment, about = self.assessment, self.job.about
        yield Paragraph(title, "title")
        facts = [
            about.place,
            f"measured by {about.measured_by}" if about.measured_by else None,
            str(about.date) if about.date else None,
            f"judged by {judged_by(assessment)}",
        ]
        yield Paragraph(" · ".join(fact for fact in facts if fact), "note")
        for text in (*caution.FULL, *assessment.cautions[1:]):
            yield Paragraph(text, "caution")

    def first_page(self) -> Iterator[Block]:
        """The answer to who reads no further, under the head."""
        assessment = self.assessment
        yield Paragraph("What was asked", "subheading")
        for text in self.asked():
            yield Paragraph(text)
        yield Paragraph("The answer", "subheading")
        for name, result in reversed(list(assessment.stages.items())):
            yield overall(result, f"{STAGES[name]}: ")
        if assessment.deciding.left_out:
            yield left_out_line(assessment.deciding)
        yield Paragraph("What to do next", "subheading")
        for number, text in enumerate(self.next_steps(), 1):
            yield Paragraph(f"{number}. {text}", "item")
        if drawings := self.three():
            yield Figures(drawings, small=True)

    def asked(self) -> Iterator[str]:
        if self.given.asked:
            yield from self.given.asked
            return
        if left := self.assessment.deciding.left_out:
            yield " ".join(QUESTIONS[question] for question in left_out(left))
        planned = self.job.planned.document() if "planned" in self.assessment.stages else {}
        how = "as it stands, and as it is to be changed," if planned else "as it stands"
        yield f"Whether the fireplace {how} meets the reference values of {self.assessment.edition_title}."
        if planned:
            there = {face.name for face in self.job.face}
            new = [f"a new opening ({face.name})" for face in self.job.planned.face if face.name not in there]
            others = [
                CHANGED.get(key, f"the {key}")
                for key in planned
                if key != "face" or len(new) < len(planned["face"])
            ]
            changes = f"changes to {_listed(others)}" if others else ""
            yield f"Planned: {', and '.join(part for part in (_listed(new), changes) if part)}."
        if notes := self.job.about.notes:
            yield f"Notes: {notes if len(notes) <= MOST_NOTES else notes[:MOST_NOTES].rstrip() + '…'}"

    def next_steps(self) -> list[str]:
        """What to do next, the worst first, no more than a page has room for."""
        result = self.assessment.deciding
        of: dict[Verdict, list[Finding]] = {verdict: [] for verdict in Verdict}
        for finding in result.findings:
            if finding.counts:
                of[finding.verdict].append(finding)
        lines = []
        rules_first = sorted(of[Verdict.SHORT], key=lambda finding: finding.kind == "model")
        cures: dict[str, list[Finding]] = {}
        for finding in rules_first:
            cures.setdefault(finding.remedy[0] if finding.remedy else finding.text, []).append(finding)
        for cure, cured in list(cures.items())[:MOST_NEXT]:
            lines.append(f"{'; '.join(map(_short_of, cured))}. {cure}")
        if left := sum(len(cured) for cured in list(cures.values())[MOST_NEXT:]):
            lines.append(f"And {left} more that fall short: see the findings.")
        if result.measure:
            lines.append(f"Measure what is still missing: {_some([m.label for m in result.measure])}.")
        if of[Verdict.CLOSE]:
            lines.append(f"Measure again: {_some([question(f) for f in of[Verdict.CLOSE]])}.")
        if of[Verdict.REFER]:
            lines.append(
                f"Have a person decide, a licensed mason or the building department: {_some([question(f) for f in of[Verdict.REFER]])}."
            )
        advice = [f for f in result.findings if f.kind == "advice" and f.subject != "draft"]
        if advice:
            lines.append(f"Read before work starts, among the findings: {_some([f.title for f in advice])}.")
        return lines or [
            "Nothing falls short of the values used. Have the flue inspected by camera before the next fire."
        ]

    def three(self) -> tuple[Drawing, ...]:
        """An elevation, the section and the plan of the stage that decides."""
        drawn = self.drawings.get(self.assessment.deciding.name, ())
        kinds: dict[str, Drawing] = {}
        for drawing in drawn:
            kinds.setdefault(drawing.view, drawing)
        return tuple(kinds.values())

    # The parts

    def compared(self) -> Iterator[Block]:
        if len(self.assessment.stages) < 2:
            return
        found, planned = self.assessment.stages["found"], self.assessment.stages["planned"]
        pairs = [
            pair for pair in side_by_side(by_subject(found.findings), by_subject(planned.findings))
            if pair.either.kind != "advice"
        ]  # fmt: skip
        differing = [pair for pair in pairs if pair.differs]
        yield Paragraph("Found beside planned", "heading")
        yield Paragraph(
            f"{len(pairs) - len(differing)} answers are the same before and after the work. These are not:"
            if differing
            else "All answers are the same before and after the work."
        )
        if differing:
            rows = tuple((question(pair.either), _cell(pair.first), _cell(pair.second)) for pair in differing)
            yield Rows(("Question", STAGES["found"], STAGES["planned"]), rows, (2, 2, 2))
        for name, result in self.assessment.stages.items():
            if len(result.states) > 1:
                yield Paragraph(f"Ways of using it, {STAGES[name].lower()}", "subheading")
                yield states(result, f"{self.job.units}2")

    def findings(self) -> Iterator[Block]:
        yield Paragraph("Findings", "heading")
        yield from self._answers(("rule", "advice"))

    def models(self) -> Iterator[Block]:
        answers = list(self._answers(("model",)))
        if answers:
            yield Paragraph("This tool's own models", "heading")
            yield Paragraph("Second opinions: they never turn a rule's SHORT into MEETS.")
            yield from answers

    def _answers(self, kinds: Sequence[str]) -> Iterator[Block]:
        mine = [one for one in self.answered if one.finding.kind in kinds]
        shown = [
            one for one in mine
            if not self.choice.only_what_is_not_met or one.finding.verdict is not Verdict.MEETS
        ]  # fmt: skip
        for subject, group in groupby(shown, key=lambda one: one.finding.subject):
            yield Paragraph(subject_of(subject), "subheading")
            yield from (self._answer(one) for one in group)
        if len(shown) < len(mine):
            yield Paragraph(f"{len(mine) - len(shown)} more answers meet the reference values used.", "note")

    def _answer(self, one: _Answered) -> Answer:
        finding = one.finding
        details: list[tuple[str, str]] = []
        if finding.caution and finding.verdict is not Verdict.MEETS:
            details.append(("Caution", finding.caution))
        if "remedies" not in self.choice.parts or finding.kind == "model":
            details += [("Do", text) for text in finding.remedy]
        if self.choice.audience != "homeowner":
            details += [("Basis", _basis(basis)) for basis in finding.basis if basis.clause]
        return Answer(
            finding.verdict,
            about_line(finding),
            finding.text,
            tuple(details),
            figures(finding),
            one.when,
            finding,
        )

    def remedies(self) -> Iterator[Block]:
        rows = tuple(
            (str(one.finding.verdict), question(one.finding), one.when, " ".join(one.finding.remedy))
            for verdict in WORST_FIRST
            for one in self.answered
            if one.finding.verdict is verdict and one.finding.remedy and one.finding.kind != "model"
        )
        if rows:
            yield Paragraph("What would cure it", "heading")
            yield _without_empty(Rows(("Verdict", "Question", "Stage", "What to do"), rows, (1, 2, 1, 5)))

    def site_list(self) -> Iterator[Block]:
        lines: dict[str, Measure] = {}
        for result in self.assessment.stages.values():
            for line in result.measure:
                before = lines.get(line.address)
                waits = dict.fromkeys((*(before.waits if before else ()), *line.waits))
                lines[line.address] = replace(line, waits=tuple(waits))
        yield Paragraph("Site list: still to be measured", "heading")
        if not lines:
            yield Paragraph("Nothing is missing.")
            return
        rows = tuple((m.label, m.unread or m.how, "; ".join(m.waits), m.address) for m in lines.values())
        yield Rows(("Measure", "How", "Needed for", "Entry"), rows, (2, 4, 2, 2))

    def large(self) -> Iterator[Block]:
        seen: set[Drawing] = set()
        drawn = []
        for name in reversed(self.drawings):
            for drawing in self.drawings[name]:
                bare = replace(drawing, title="")
                if bare not in seen:
                    drawn.append(drawing)
                seen.add(bare)
        if drawn:
            yield Paragraph("Drawings", "heading")
            yield Figures(tuple(drawn))

    def swept(self) -> Iterator[Block]:
        """A map of what was asked for beside the job as it stands."""
        sweep = self.given.swept
        if sweep is None:
            return
        yield Paragraph("What if", "heading")
        moved = " and ".join(f"{axis.spec.label} ({axis.address})" for axis in sweep.axes)
        yield Paragraph(f"{sweep.title}, while this runs over a range: {moved}. All else stays as it is.")
        yield Swept(sweep)
        for text in turns(sweep) if len(sweep.axes) == 1 else ():
            yield Paragraph(text)

    def photographs(self) -> Iterator[Block]:
        pictures = self.given.pictures
        if not pictures:
            return
        yield Paragraph("Photographs", "heading")
        if shown := tuple(picture for picture in pictures if not picture.why):
            yield Pictures(shown)
        for text in photos.told(pictures):
            yield Paragraph(text, "note")

    def sign_off(self) -> Iterator[Block]:
        yield Paragraph("Sign-off", "heading")
        yield Paragraph(signing.ATTESTS)
        job, values = self.job, self.assessment.edition_fingerprint
        rows = [
            (
                signing.ROLES[one.role] if one.role else "Role not given",
                ", ".join(part for part in (one.name, one.trade) if part),
                one.license or "",
                str(one.date or ""),
                signing.standing(job, one, values),
                "",
            )
            for one in job.signed
        ]
        there = {one.role for one in job.signed}
        rows += [
            (words, "", "", "", "Not signed yet.", "")
            for role, words in signing.ROLES.items()
            if role not in there
        ]
        columns = (
            "Signs for",
            "Name and trade",
            "License or certificate",
            "Date",
            "How it stands",
            "Signature in ink",
        )
        yield Rows(columns, tuple(rows), (2, 3, 3, 2, 3, 4), ink=True)

    def measurements(self) -> Iterator[Block]:
        found: dict[str, tuple[str, str]] = {}
        planned: dict[str, tuple[str, str]] = {}
        for address, spec, value in entries(self.job):
            if address.split(".")[0] in ("format", "version", "judged", "about", "photo", "signed"):
                continue
            side = planned if address.startswith("planned.") else found
            side[address.removeprefix("planned.")] = (spec.label, _typed(value))
        rows = tuple(
            (
                (found.get(key) or planned[key])[0],
                found.get(key, ("", ""))[1],
                planned.get(key, ("", ""))[1],
                key,
            )
            for key in dict.fromkeys((*found, *planned))
        )
        if rows:
            yield Paragraph("What was entered", "heading")
            yield _without_empty(
                Rows(("Entry", STAGES["found"], STAGES["planned"], "Address"), rows, (3, 2, 2, 3))
            )

    def takeoff(self) -> Iterator[Block]:
        if not self.given.items:
            if "planned" in self.assessment.stages:
                yield Paragraph("What to buy", "heading")
                yield Paragraph(takeoff.NOTHING)
            return
        rows = tuple(
            (
                item.trade,
                item.name,
                "" if item.quantity is None else math.ceil(float(item.quantity) * 100 - 1e-9) / 100,
                item.unit,
                item.text,
                " ".join(part for part in (item.caution, item.note) if part),
            )
            for item in self.given.items
        )
        yield Paragraph("What to buy", "heading")
        yield Rows(("Trade", "Item", "Quantity", "Unit", "What", "Note"), rows, (3, 4, 3, 3, 6, 8))

    def assumptions(self) -> Iterator[Block]:
        used: dict[str, tuple[Basis, int]] = {}
        for one in self.answered:
            for basis in one.finding.basis:
                if basis.standing not in SEEN_IN_ITS_SOURCE:
                    used[basis.key] = (basis, used.get(basis.key, (basis, 0))[1] + 1)
        ordered = sorted(used.values(), key=lambda pair: (-STANDINGS.index(pair[0].standing), pair[0].title))
        rows = tuple(
            (basis.standing, basis_line(replace(basis, note="")), number) for basis, number in ordered
        )
        taken = self._taken()
        if rows or taken:
            yield Paragraph("Assumptions", "heading")
        for text in taken:
            yield Paragraph(text)
        if rows:
            yield Paragraph(
                "Values used that have not been seen in a published source. Check them before you rely on them."
            )
            yield Rows(("Standing", "Value", "Findings"), rows, (2, 8, 1))

    def _taken(self) -> list[str]:
        """What the models took where nothing was entered, a sentence to a state."""
        lines: dict[str, None] = {}
        for name, result in self.assessment.stages.items():
            for state in result.states:
                assumed = list(taken(state.draft)) if state.draft else []
                if assumed:
                    line = f"{STAGES[name]}, {state.name}: the draft model took {_listed(assumed)}."
                    lines[line] = None
        return list(lines)

    def edits(self) -> Iterator[Block]:
        if not self.assessment.edited:
            return
        rows = []
        for key in self.assessment.edited:
            value = self.edition.get(key)
            if value is not None:
                rows.append((value.title, value.shown, value.note, key))
        yield Paragraph("Values edited here", "heading")
        yield Rows(
            ("Value", "Now", "Published, and who changed it, when and why", "Key"), tuple(rows), (3, 2, 5, 2)
        )

    def working(self) -> Iterator[Block]:
        with_working = [one for one in self.answered if one.finding.working]
        if not with_working:
            return
        yield Paragraph("Appendix: the working", "heading")
        for subject, group in groupby(with_working, key=lambda one: one.finding.subject):
            yield Paragraph(subject_of(subject), "subheading")
            for one in group:
                finding = one.finding
                steps = [("", step.line()) for step in finding.working]
                steps += [("Note", f"{basis.title}: {basis.note}.") for basis in finding.basis if basis.note]
                yield Answer(finding.verdict, about_line(finding), "", tuple(steps), when=one.when)

    def rule(self) -> Iterator[Block]:
        """The decision rule: how an answer follows from what is required, what was found and what the tape may be off."""
        tape, joint = (
            self.edition[key].shown
            for key in (f"tolerance.length.{self.job.units}", "tolerance.nominal_masonry")
        )
        yield Paragraph("The decision rule", "heading")
        yield Rows(
            ("Answer", "When it is given"),
            (
                (
                    "MEETS",
                    "The figure is at the limit or on the right side of it. Nothing is taken off for the tape.",
                ),
                (
                    "CLOSE",
                    f"A measured figure misses the limit by no more than the tape may be off: {tape} each. Masonry sold by a "
                    f"nominal size may be {joint} under it. A planned figure has no such allowance.",
                ),
                ("SHORT", "The figure misses the limit by more than that."),
                (
                    "MEASURE",
                    "Something that the answer needs is not known, or cannot be read. It is never guessed.",
                ),
                (
                    "REFER",
                    "A person decides: the rule says so, the edition is silent, or a model's figure falls on both sides of its "
                    "limit as its uncertain values go from one end to the other.",
                ),
                (
                    "Overall",
                    "The worst answer that counts: SHORT, then MEASURE, REFER, CLOSE, MEETS. What does not count is marked so. "
                    "A model never turns a rule's SHORT into MEETS.",
                ),
            ),
            (1, 6),
        )


def _merged(assessment: Assessment) -> list[_Answered]:
    """The findings of all stages in the order of the subjects, once where two stages tell the same, with the stages told."""
    stages = assessment.stages
    if len(stages) == 1:
        return [
            _Answered(finding, "") for result in stages.values() for finding in by_subject(result.findings)
        ]
    found, planned = stages["found"], stages["planned"]
    rows: dict[tuple[str, str, str, str], list[_Answered]] = {}
    same = {finding.key: finding for finding in planned.findings}
    for finding in found.findings:
        when = BOTH if same.get(finding.key) == finding else "found"
        rows.setdefault(finding.key, []).append(_Answered(finding, when))
    for finding in planned.findings:
        mine = rows.setdefault(finding.key, [])
        if not any(one.finding == finding for one in mine):
            mine.append(_Answered(finding, "planned"))
    by_finding = {id(one.finding): one for row in rows.values() for one in row}
    return [
        by_finding[id(finding)] for finding in by_subject(one.finding for row in rows.values() for one in row)
    ]


def _short_of(finding: Finding) -> str:
    """What falls short, with its figures where it has any."""
    required, found, _ = figures(finding)
    if not (finding.required and found):
        return question(finding)
    return f"{question(finding)}: {found} where {required} is {'allowed' if finding.required.op == '<=' else 'required'}"


def _basis(basis: Basis) -> str:
    """A value as it stands beside a finding: its note is for the appendix, but for who changed it."""
    return basis_line(basis if basis.standing == "edited here" else replace(basis, note=""))


def _given(title: str, rows: Rows | None) -> Iterator[Block]:
    if rows is not None:
        yield Paragraph(title, "heading")
        yield rows


@lru_cache(maxsize=16)
def _held_to(edition: Edition) -> Rows:
    """The same for each report by an edition; worked out once, as it takes long."""
    return validated(validation.hold_all(edition))


def validated(held: Iterable[Held]) -> Rows:
    """The published figures beside what the models give."""
    rows = tuple(
        (
            one.row.name,
            f"{one.row.published} ({one.row.standing})",
            one.shown,
            one.off,
            one.outcome if one.outcome == "within" else f"{one.outcome}: {one.row.miss or 'not explained'}",
        )
        for one in held
    )
    return Rows(("What", "Published", "Model", "Difference", "Within its scatter"), rows, (4, 2, 1, 1, 3))


def ordered(work: Sequence[Step]) -> Rows | None:
    """The order of work; None where nothing is planned."""
    if not work:
        return None
    rows = tuple(
        (
            f"{number}. {step.title}",
            f"{step.text} Stop: {step.stop}" if step.stop else step.text,
            "; ".join(held_line(finding) for finding in step.held_by) or "nothing in the findings",
        )
        for number, step in enumerate(work, 1)
    )
    return Rows(("Step", "What is done", "What still holds it up"), rows, (2, 4, 4))


def unjudged(edition: Edition, result: StageResult, choice: Choice) -> Rows:
    """The clauses of the edition that a stage was not judged by, and why; for a short report, one line for each reason."""
    listed = coverage.load(edition)
    if listed is None:
        return Rows(
            ("Clauses", "Why not"), ((f"All of {edition.title} beyond the findings", coverage.UNLISTED),)
        )
    rows = [row for row in coverage.in_job(listed, result.findings, result.left_out) if row[1]]
    if choice.only_what_is_not_met:
        grouped = tuple(
            (why.rstrip("."), ", ".join(clauses)) for why, clauses in coverage.by_reason(rows).items()
        )
        return Rows(("Why not", "Clauses"), grouped, (1, 2))
    return Rows(
        ("Clause", "What it asks", "Why not"), tuple((c.clause, c.asks, why) for c, why in rows), (2, 4, 4)
    )


def _cell(finding: Finding | None) -> str:
    if finding is None:
        return "does not apply"
    required, found, _ = figures(finding)
    both = "; ".join(part for part in (found, required) if part)
    return f"{finding.verdict} {both}".strip()


def _without_empty(rows: Rows) -> Rows:
    """A table without the columns in which nothing stands."""
    kept = [at for at in range(len(rows.columns)) if any(row[at] != "" for row in rows.rows)]
    return Rows(
        tuple(rows.columns[at] for at in kept),
        tuple(tuple(row[at] for at in kept) for row in rows.rows),
        tuple(rows.widths[at] for at in kept) if rows.widths else (),
    )


def _typed(value: Any) -> str:
    """An entry as it was typed."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return "; ".join(_typed(one) for one in value) or "none"
    if hasattr(value, "document"):
        return ", ".join(str(part) for part in value.document().values())
    return str(getattr(value, "text", value))


def _listed(words: Sequence[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _some(words: Sequence[str], most: int = 5) -> str:
    """The first of some words, and how many more there are."""
    once = list(dict.fromkeys(word[:1].lower() + word[1:] if word[1:2].islower() else word for word in words))
    more = [f"{len(once) - most} more"] if len(once) > most else []
    return _listed([*once[:most], *more])
