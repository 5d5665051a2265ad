"""A job and an edition in, an assessment out: stages, operating states, and which rules run on what."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import caution, coverage
from hearthcalc.asked import left_out
from hearthcalc.asked import runs as is_asked
from hearthcalc.errors import EntryError
from hearthcalc.findings import Assessment, Finding, Measure, StageResult, State, Verdict, worst
from hearthcalc.job import FIELDS, Face, Job, Stage, Table, parse_address, signing, spec_of
from hearthcalc.job.differences import Reshaped, differences, of_maps, of_stages
from hearthcalc.reference import BASES, Edition, find_liner
from hearthcalc.rules import agreement
from hearthcalc.rules.case import (
    CONFLICTS,
    RULES,
    STATES,
    Case,
    LinerElsewhere,
    NotKnown,
    Rule,
    Run,
    Subject,
    run,
)
from hearthcalc.rules.doors import DOORS, FIXED, PANEL
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.inputs import models_of, resistances
from hearthcalc.rules.openings import opening
from hearthcalc.rules.reading import Reading

FEW = 3 / 4  # of the questions: below that an edition says how many it answers
ORDER = {key: number for number, key in enumerate(FIELDS)}
T = TypeVar("T", bound=Table)
R = TypeVar("R")


def can_open(face: Face) -> bool:
    """Does this face count as an opening: fixed glass does, unless it is rated for being closed over a fire."""
    return face.closure != FIXED or face.burning_closed != "yes"


def can_shut(face: Face) -> bool:
    """Can this face be shut, or is it shut for good. A closure that is not known is taken as none.

    A panel or a fixed pane shuts a face only where it is rated for being closed over a fire.
    """
    if face.closure in (PANEL, FIXED):
        return face.burning_closed == "yes"
    return face.closure in DOORS


def states_of(job: Job) -> tuple[State, ...]:
    """The ways in which the fireplace can be used: all open; one open with the others shut; all shut while burning down."""
    openable = [face for face in job.face if can_open(face)] or list(job.face)
    one_at_a_time = job.use.open_together is False and all(can_shut(face) for face in job.face)
    several = len(job.face) > 1
    states = [
        State("all open", tuple(f.name for f in openable), None, None, counts=not (several and one_at_a_time))
    ]
    if several:
        for face in openable:
            if all(can_shut(other) for other in job.face if other is not face):
                states.append(State(f"{face.name} open", (face.name,), None, None, counts=True))
        if all(can_shut(face) for face in job.face):
            states.append(State("all shut", (), None, None, counts=True))
    return tuple(states)


def problems(job: Job, edition: Edition) -> dict[str, str]:
    """Entries that only the reference values can tell to be wrong, by address: a liner that no shipped table holds."""
    wrong = {}
    for address, size in (("flue.liner", job.flue.liner), ("planned.flue.liner", job.planned.flue.liner)):
        if size is None:
            continue
        try:
            here, elsewhere = find_liner(edition, size)
        except EntryError as err:
            here, elsewhere, why = None, (), f"{err.what} {err.fix}"
        else:
            why = f"No table holds a liner {size}. Measure the inside of the flue and enter that instead."
        if here is None and not elsewhere:
            wrong[address] = why
    return wrong


def assess(job: Job, edition: Edition, unread: Mapping[str, str] | None = None) -> Assessment:
    """Judge a job by an edition: the rule findings of every stage.

    unread: entries that could not be read, by address, with the reason; what needs them says so.
    """
    return Judge(edition).assess(job, unread)


class Judge:
    """Judges one job after another by an edition. Of the last one it keeps the findings that rest on nothing that has changed.

    kept: how many runs of rules it has not had to make again.
    """

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.kept = 0
        self._last: dict[str, _Kept] = {}

    def assess(self, job: Job, unread: Mapping[str, str] | None = None) -> Assessment:
        """As the function of that name, which remembers nothing."""
        edition = self.edition
        told = {**(unread or {}), **problems(job, edition)}
        known = _without(job, told)
        stages, last, kept = {}, self._last, {}
        for name, stage in known.stages().items():
            stages[name], kept[name] = _judge_stage(stage, known, edition, told, last.get(name))
            self.kept += kept[name].again
        self._last = kept
        return Assessment(
            title=job.about.title or "",
            job_fingerprint=job.fingerprint,
            edition_id=edition.id,
            edition_title=edition.title,
            edition_fingerprint=edition.fingerprint,
            edited=edition.edited,
            cautions=(caution.LINE, *doubts(edition), *signing.voided(job, edition.fingerprint)),
            stages=stages,
            amended_for=edition.amended_for,
        )

    def of_rule(self, job: Job, rule: str) -> tuple[Finding, ...]:
        """What one rule, by its id, finds of the deciding stage: its findings in the whole assessment, without the cost of the others."""
        told = problems(job, self.edition)
        known = _without(job, told)
        *_, stage = known.stages().values()
        case, runs = _case(stage, known, self.edition, told, self._last.get(stage.name))
        findings = _found(case, runs, rules_of(case, rule))
        self.kept += runs.again
        self._last = {stage.name: _Kept(case, runs.made, runs.again)}
        return findings


class _Kept(Struct):
    """What was made of a stage. case: of that time.  runs: of its agreements and rules, by what each is of.

    again: how many of them are those of the time before.
    """

    case: Case
    runs: dict[object, Run[Any]]
    again: int


class _Runs:
    """The runs of a stage: anew where something that they looked at has changed since the last time, else as they were."""

    def __init__(self, case: Case, before: _Kept | None) -> None:
        self.made: dict[object, Run[Any]] = {}
        self.again = 0
        changed = None if before is None else _changed(before.case, case)
        self._before = {} if before is None or changed is None else before.runs
        self.changed = changed or set()
        if before is not None and changed is not None:
            case.shared.update(before.case.shared)
            case.entries.update(before.case.entries)
            self.forget(case)

    def forget(self, case: Case) -> None:
        """Drop what was worked out from something that has changed."""
        for key in [
            key for key, made in case.shared.items() if not made.asked.looked.isdisjoint(self.changed)
        ]:
            del case.shared[key]
        for as_read in [as_read for as_read in case.entries if as_read[1] in self.changed]:
            del case.entries[as_read]

    def run(self, key: object, make: Callable[..., Run[R]], *of: Any) -> Run[R]:
        """One run by its key, made of these where it has to be made."""
        run: Run[R] | None = self._before.get(key)
        if run is None or not run.looked.isdisjoint(self.changed):
            run = make(*of)
        else:
            self.again += 1
        self.made[key] = run
        return run


def _changed(old: Case, new: Case) -> set[str] | None:
    """The addresses of what is no longer as it was in a stage; None where nothing can be kept: other things, or other units."""
    compared: set[tuple[int, int]] = set()
    try:
        changed = differences(old.found, new.found, compared) | of_stages(old.stage, new.stage, compared)
    except Reshaped:
        return None
    unread = {address.removeprefix("planned.") for address in of_maps(old.unread, new.unread)}
    return None if "units" in changed else changed | unread


def answers(edition: Edition) -> tuple[int, int]:
    """How many of the questions of the rules an edition answers, and how many there are; not those that this tool settles itself."""
    asked = {rule.asks for rule in tuple(RULES.values()) if rule.kind == "rule" and rule.asks}
    own = {key for key in asked & edition.values.keys() if edition[key].edition in BASES}
    return len((asked - own) & edition.values.keys()), len(asked - own)


def doubts(edition: Edition) -> list[str]:
    """What a person has to know of an edition wherever it is chosen: history, and how much it leaves open."""
    return [*_doubts(edition, len(RULES))]


@lru_cache(maxsize=64)
def _doubts(edition: Edition, rules: int) -> list[str]:
    """The same. rules: how many there are, which is more once those of the models are loaded."""
    told = [f"{edition.title} is history. {edition.applies}."] if edition.history else []
    answered, asked = answers(edition)
    if not answered:
        told.append(
            f"{edition.id} holds a figure for none of the {asked} questions: each is referred to a person. {edition.applies}."
        )
    elif answered < asked * FEW:
        told.append(
            f"{edition.id} answers {answered} of {asked} questions; on the others it is silent, and they are referred."
        )
    return told


def assess_models(
    job: Job, edition: Edition, assessment: Assessment, unread: Mapping[str, str] | None = None
) -> Assessment:
    """The assessment with what the models of draft and heat say beside the rules: the second, slower step."""
    told = {**(unread or {}), **problems(job, edition)}
    known = _without(job, told)
    results = {
        name: _with_models(_case(stage, known, edition, told)[0], assessment.stages[name])
        for name, stage in known.stages().items()
    }
    return replace(assessment, stages=results)


def case_of(job: Job, edition: Edition) -> Case:
    """The deciding stage of a job as rules take it."""
    told = problems(job, edition)
    known = _without(job, told)
    *_, stage = known.stages().values()
    return _case(stage, known, edition, told)[0]


def of_models(case: Case, *ids: str) -> tuple[Finding, ...]:
    """What the models of heat and steel say of a stage, without the draft. ids: how the ids of the findings begin."""
    from hearthcalc.rules import draft  # noqa: F401 - all rules of models are entered together

    case = replace(case, models=models_of(case))
    rules = [rule for rule in rules_of(case) if rule.kind == "model" and rule.id.startswith(ids)]
    return tuple(
        finding
        for rule in rules
        for subject in subjects(case, rule)
        for finding in run(case, rule, *subject).made
    )


def _with_models(case: Case, result: StageResult) -> StageResult:
    from hearthcalc.rules import draft, draft_inputs  # noqa: F401 - the first answers do without its physics

    drafts, models = draft_inputs.drafts(case), models_of(case)
    states = tuple(replace(state, draft=drafts.get(state.name)) for state in case.every_state)
    case = replace(case, every_state=states, models=models)
    findings = (
        *result.findings,
        *(
            finding
            for rule in rules_of(case)
            if rule.kind == "model"
            for subject in subjects(case, rule)
            for finding in run(case, rule, *subject).made
        ),
    )
    states = tuple(replace(state, overall=_overall(findings, state)) for state in states)
    measure = _site_list(case, findings)
    return replace(result, findings=findings, states=states, measure=measure, models=models)


def _case(
    stage: Stage, found: Job, edition: Edition, unread: Mapping[str, str], before: _Kept | None = None
) -> tuple[Case, _Runs]:
    case = Case(stage, found, edition, unread=unread)
    runs = _Runs(case, before)
    case = replace(case, every_state=tuple(_measured(case.apart(), state) for state in states_of(stage.job)))
    if before is not None and before.case.every_state != case.every_state:
        runs.changed.add(STATES)
    checked = [runs.run(check, agreement.checked, case, check) for check in agreement.AGREEMENTS]
    case = replace(case, conflicts=agreement.conflicts_of(checked))
    if before is not None and (conflicts := of_maps(before.case.conflicts, case.conflicts)):
        runs.changed |= {CONFLICTS, *conflicts}
        runs.forget(case)
    return case, runs


def _judge_stage(
    stage: Stage, found: Job, edition: Edition, unread: Mapping[str, str], before: _Kept | None
) -> tuple[StageResult, _Kept]:
    case, runs = _case(stage, found, edition, unread, before)
    findings = _found(case, runs, [rule for rule in rules_of(case) if rule.kind != "model"])
    states = tuple(replace(state, overall=_overall(findings, state)) for state in case.every_state)
    insulate = {face.name: resistances(case, face) for face in case.faces}
    not_asked = left_out(found.asked.questions)
    result = StageResult(
        stage.name,
        findings,
        states,
        _site_list(case, findings),
        insulate,
        left_out=not_asked,
        covered=coverage.covered(edition, findings),
    )
    return result, _Kept(case, runs.made, runs.again)


def readable(job: Job, edition: Edition, unread: Mapping[str, str] | None = None) -> Job:
    """The job as it is judged: what cannot be read, or stands in no table, is not known in it."""
    return _without(job, {**(unread or {}), **problems(job, edition)})


def _without(job: Job, unread: Mapping[str, str]) -> Job:
    """The job with every unreadable entry not known; a planned one then hides what was found, instead of showing it."""
    for address in unread:
        parts = parse_address(address)
        if parts[-1] != "name":
            job = _not_known(job, parts)
    return job


def _not_known(table: T, parts: Sequence[str]) -> T:
    key, *rest = parts
    value: Any = getattr(table, key, None)
    if isinstance(value, Table) and rest:
        value = _not_known(value, rest)
    elif isinstance(value, tuple) and rest[1:]:
        value = tuple(
            _not_known(one, rest[1:]) if getattr(one, "name", None) == rest[0] else one for one in value
        )
    elif key not in table.fields or getattr(type(table), key, "") is not None or rest:
        return table
    else:
        value = None
    return type(table)(table.entered | {key}, table.__dict__ | {key: value})


def _found(case: Case, runs: _Runs, rules: Iterable[Rule]) -> tuple[Finding, ...]:
    """What some rules find, in their order."""
    found: list[Finding] = []
    for rule in rules:
        for subject in subjects(case, rule):
            found += runs.run((rule.id, *subject), run, case, rule, *subject).made
    return tuple(found)


def rules_of(case: Case, only: str = "") -> list[Rule]:
    """The rules that answer what the job asks, those of the models too; or of them the one of an id."""
    asked = case.questions
    every = tuple(RULES.values())
    if only:
        every = tuple(rule for rule in every if rule.id == only)
    return [rule for rule in every if is_asked(rule.id, asked)]


def subjects(case: Case, rule: Rule) -> list[tuple[Subject | State, ...]]:
    """What a rule runs on: the job as a whole, or one thing after another."""
    if rule.each == "job":
        return [()]
    if rule.each == "state":
        return [(state,) for state in case.every_state if state.open]
    return [(subject,) for subject in case.subjects(rule.each)]


def _measured(case: Case, state: State) -> State:
    """The state with what is open and the flue it stands against, where both are known."""
    try:
        area_open: Fraction | None = sum(
            (opening(case, case.face(name)).area for name in state.open), start=Reading.exact(0)
        ).value
    except NotKnown:
        area_open = None
    try:
        area: Fraction | None = flue_of(case).area.value
    except (NotKnown, LinerElsewhere):
        area = None
    return replace(state, opening_area=area_open, flue_area=area)


def _overall(findings: Iterable[Finding], state: State) -> Verdict | None:
    """The worst of a state's own findings and of those that hold in every state."""
    return worst(
        f.verdict
        for f in findings
        if f.kind != "advice" and (f.state == state.name or (f.state is None and f.counts))
    )


def _site_list(case: Case, findings: Iterable[Finding]) -> tuple[Measure, ...]:
    """What is still to be measured, in the order of the walk, and which answers wait for it."""
    waits: dict[str, dict[str, None]] = {}
    for finding in findings:
        for address in finding.missing:
            waits.setdefault(address, {})[finding.title] = None
    needs_closure = not case.questions.isdisjoint(("flue", "draft"))
    for face in case.job.face if needs_closure else ():
        if face.closure is None:
            waits.setdefault(
                case.address("face", face.name, "closure"), {"Taken as open, with nothing to shut it": None}
            )
    in_walk = [(address, spec_of(address)) for address in sorted(waits, key=walk_order(case.job))]
    return tuple(
        Measure(address, spec.label, spec.how, tuple(waits[address]), case.unread.get(address, ""))
        for address, spec in in_walk
    )


def walk_order(job: Job) -> Callable[[str], tuple[int, int, str]]:
    """Where an entry stands in the walk round the fireplace, by its address: its section, then its thing, then its field."""
    names = [thing.name for things in (job.face, job.nearby, job.roof) for thing in things]

    def place(address: str) -> tuple[int, int, str]:
        section, name, field = _in_walk(address)
        return (section, names.index(name) if name in names else -1, field)

    return place


@lru_cache(maxsize=4096)
def _in_walk(address: str) -> tuple[int, str, str]:
    """The place of an entry's section, the name of its thing, and the place of its field."""
    table, *rest = parse_address(address.removeprefix("planned."))
    section = min((number for key, number in ORDER.items() if key.split(".")[0] == table), default=0)
    return (section, rest[0] if rest else "", f"{ORDER.get(spec_of(address).key, 0):04}")


def verdict_lines(assessment: Assessment) -> list[str]:
    """Each rule's answer on a line of its own, as a job keeps what it was judged to be."""
    return [
        " | ".join((stage, *finding.key, finding.verdict))
        for stage, result in assessment.stages.items()
        for finding in result.findings
        if finding.kind == "rule"
    ]


class Since(Struct, frozen=True):
    """What has become of a job's answers since it was saved. edition: another one is chosen.  values: they have changed.

    changed: (then, now) lines of the answers that are others, "" where there was or is none.
    """

    edition: bool
    values: bool
    changed: tuple[tuple[str, str], ...]


def since_judged(job: Job, edition: Edition, unread: Mapping[str, str] | None = None) -> Since | None:
    """What differs from when the job was saved, with the entries as they stood then; None where it was never judged.

    It is judged anew only where the values have changed.
    """
    judged = job.judged
    if judged.fingerprint is None:
        return None
    if judged.fingerprint == edition.fingerprint:
        return Since(False, False, ())
    then, now = (
        dict(line.rsplit(" | ", 1) for line in lines if " | " in line)
        for lines in (judged.verdicts or (), verdict_lines(assess(job, edition, unread)))
    )
    changed = tuple(
        (f"{key} | {then[key]}" if key in then else "", f"{key} | {now[key]}" if key in now else "")
        for key in dict.fromkeys([*then, *now])
        if then.get(key) != now.get(key)
    )
    return Since(judged.edition != edition.id, True, changed)
