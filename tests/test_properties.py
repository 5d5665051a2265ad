"""What holds for every job: units, order, missing entries and larger flues change answers only as they should."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from truth.every_entry import SAMPLE

from hearthcalc import job as record
from hearthcalc import lengths, reference
from hearthcalc.assess import Judge, assess
from hearthcalc.findings import Assessment, Finding, StageResult, Verdict
from hearthcalc.job import FIELDS, Job, with_units

F = Fraction
Document = dict[str, Any]
CODE = reference.load("irc-2021")
VERDICTS = list(Verdict)

KEPT = {"format", "version", "face", "name", "remove"}  # without which the rest has no meaning


def judged(document: Mapping[str, Any], unread: bool = False) -> dict[str, StageResult]:
    if not unread:
        return dict(assess(Job.from_document(document), CODE).stages)
    job, problems = record.read(document)
    return dict(assess(job, CODE, {address: p.what for address, p in problems.items()}).stages)


def verdicts(stages: Mapping[str, StageResult]) -> dict[tuple[str, ...], str]:
    return {(name, *f.key): str(f.verdict) for name, stage in stages.items() for f in stage.findings}


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place of a document that can be left out."""
    rows = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in rows:
        if key not in KEPT:
            yield (*path, key)
        yield from places(inner, (*path, key))


PLACES = [path for path in places(SAMPLE) if path != ("face", 0)]


def without(document: Document, paths: list[tuple[Any, ...]]) -> Document:
    """The document without some places."""
    less = deepcopy(document)
    for *above, last in sorted(paths, key=lambda path: [str(step) for step in path], reverse=True):
        here: Any = less
        try:
            for step in above:
                here = here[step]
            del here[last]
        except (KeyError, IndexError):
            continue
    return less


def test_the_sample_holds_every_field_of_the_job_file() -> None:
    held = {spec.key for _, spec, _ in record.entries(Job.from_document(SAMPLE))}
    lists = {"face", "nearby", "roof", "air.fans", "face.hearth.layers", "photo", "signed"}
    rest = {key for key in FIELDS if not key.startswith("judged.") and not key.endswith(".remove")}
    looked = {key for key in FIELDS if ".looked." in f".{key}"}
    assert rest - held <= lists | looked | {
        "face.jamb_moved",
        "flue.outside",
        "flue.shaft",
        "asked.questions",
    }


# However little or much is entered, and however wrongly, there is an answer.


@given(st.lists(st.sampled_from(PLACES), unique=True, max_size=60))
def test_no_part_of_a_job_crashes_the_assessment(gone: list[tuple[Any, ...]]) -> None:
    stages = judged(without(SAMPLE, gone), unread=True)
    assert stages["found"].findings
    for stage in stages.values():
        assert stage.overall in VERDICTS
        assert {a for f in stage.findings for a in f.missing} <= {m.address for m in stage.measure}


@given(
    st.lists(st.sampled_from(PLACES), min_size=1, max_size=8, unique=True),
    st.sampled_from(
        ["7,5", "", None, 0, -1, True, [], {}, ["x"], "9**9", "1e400 in", "0", "1/64", "unknown"]
    ),
)
def test_no_wrong_entry_crashes_the_assessment(broken: list[tuple[Any, ...]], value: Any) -> None:
    document = deepcopy(SAMPLE)
    for *above, last in broken:
        here: Any = document
        try:
            for step in above:
                here = here[step]
            here[last] = value
        except (KeyError, IndexError, TypeError):
            continue
    assert judged(document, unread=True)["found"].findings


@pytest.mark.parametrize("edition", reference.edition_ids())
@settings(max_examples=8)
@given(gone=st.lists(st.sampled_from(PLACES), unique=True, max_size=40))
def test_every_edition_judges_whatever_is_entered(edition: str, gone: list[tuple[Any, ...]]) -> None:
    job, _ = record.read(without(SAMPLE, gone))
    assert assess(job, reference.load(edition)).stages["found"].findings


# A missing entry only ever takes away the answers that wait for it.


# What a thing is, where it is and how the fireplace is used decide which questions there are; the rest are measurements.
QUESTIONS = {
    "closure", "what", "at", "face", "from_lining", "arch", "side", "where", "damper", "liner", "cap", "fans", "lining", "gas_logs",
    "gas_input", "passes_through",
}  # fmt: skip
MEASURED = [
    path
    for path in PLACES
    if path[0] not in ("planned", "use", "fireplace")
    and path[-1] not in QUESTIONS
    and isinstance(path[-1], str)
]


@given(st.lists(st.sampled_from(PLACES), unique=True, max_size=30), st.sampled_from(MEASURED))
def test_adding_a_measurement_removes_no_other_finding(
    gone: list[tuple[Any, ...]], back: tuple[Any, ...]
) -> None:
    less = without(SAMPLE, list({*gone, back}))
    more = without(SAMPLE, [path for path in gone if path[: len(back)] != back])
    before, after = judged(less, unread=True)["found"], judged(more, unread=True)["found"]
    answered = {finding.key for finding in before.findings if not finding.missing}
    assert answered <= {finding.key for finding in after.findings}


# Units.


def lengths_as(document: Document, unit: lengths.Unit) -> Document:
    """The document with every length written out exactly in a unit."""
    changed = with_units(document, unit)
    for address, spec, value in record.entries(Job.from_document(document)):
        if spec.kind == "length":
            text = lengths.show(value.value, unit)
            assert lengths.parse(text, "in") == value.value
            changed = record.set_entry(changed, address, text)
    return changed


EIGHTHS = st.integers(8 * 8, 8 * 60).map(lambda n: f"{n // 8} {n % 8}/8" if n % 8 else str(n // 8))


@given(width=EIGHTHS, height=EIGHTHS, front=EIGHTHS, throat=EIGHTHS, above=EIGHTHS, gap=EIGHTHS)
def test_inches_and_millimeters_give_one_verdict(
    width: str, height: str, front: str, throat: str, above: str, gap: str
) -> None:
    """Intended lengths only: the tape is read to 1/8 in or to 3 mm, which are not the same."""
    document = deepcopy(without(SAMPLE, [("planned",)]))
    document["about"]["measured"] = False
    document["face"][0] |= {"width": width, "height": height}
    document["face"][0]["hearth"]["front"] = front
    document["firebox"]["throat_height"] = throat
    document["nearby"][0]["above"] = above
    document["nearby"][1]["gap"] = gap
    inches, millimeters = judged(document), judged(lengths_as(document, "mm"))
    assert verdicts(inches) == verdicts(millimeters)
    for one, other in zip(inches["found"].findings, millimeters["found"].findings, strict=True):
        assert (one.margin and one.margin.value) == (other.margin and other.margin.value)
        assert one.missing == other.missing


@given(st.lists(st.sampled_from(PLACES), unique=True, max_size=20))
def test_units_toggled_twice_change_nothing(gone: list[tuple[Any, ...]]) -> None:
    document = record.read(without(SAMPLE, gone))[0].document()
    twice = with_units(with_units(document, "mm"), "in")
    assert judged(twice) == judged(document)


# Order, and whatever was judged before.


@cache
def first() -> Assessment:
    """The sample judged once, before all that is judged after it."""
    return assess(Job.from_document(SAMPLE), CODE)


@cache
def three_faces() -> tuple[Document, dict[tuple[str, ...], str]]:
    """A job with faces and things in the order in which they were entered, and its verdicts."""
    document = deepcopy(without(SAMPLE, [("planned",)]))
    document["face"].append(
        {"name": "court", "side": "back", "width": "30", "height": "28", "closure": "panel"}
    )
    return document, verdicts(judged(document))


@given(st.permutations([0, 1, 2]), st.permutations([0, 1, 2, 3]))
def test_the_order_of_faces_and_things_changes_no_verdict(faces: list[int], things: list[int]) -> None:
    document, told = three_faces()
    shuffled = {
        **document,
        "face": [document["face"][n] for n in faces],
        "nearby": [document["nearby"][n] for n in things],
    }
    assert verdicts(judged(shuffled)) == told


@settings(max_examples=20)
@given(st.lists(st.sampled_from(PLACES), unique=True, max_size=20))
def test_the_answer_does_not_depend_on_what_was_judged_before(gone: list[tuple[Any, ...]]) -> None:
    job, before = Job.from_document(SAMPLE), first()
    judged(without(SAMPLE, gone), unread=True)
    assert assess(job, CODE) == before
    assert Job.from_document(SAMPLE).fingerprint == before.job_fingerprint


# A larger flue never makes it worse.


def area_of(document: Document) -> Finding:
    (only,) = Judge(CODE).of_rule(Job.from_document(document), "flue.area")
    return only


def opening(width: int, height: int, measured: bool, flue: Document) -> Document:
    head = {"format": "hearthcalc-job", "version": 1, "about": {"measured": measured}}
    return {**head, "face": [{"name": "room", "width": str(width), "height": str(height)}], "flue": flue}


RANK = {Verdict.MEETS: 0, Verdict.CLOSE: 1, Verdict.REFER: 2, Verdict.MEASURE: 3, Verdict.SHORT: 4}


@given(
    st.integers(20, 60),
    st.integers(20, 44),
    st.booleans(),
    st.fractions(6, 24, max_denominator=8),
    st.fractions(0, 6, max_denominator=8),
)
def test_a_larger_flue_never_worsens_its_finding(
    width: int, height: int, measured: bool, size: F, more: F
) -> None:
    for entries in (
        lambda side: {"diameter": str(float(side))},
        lambda side: {"inside": f"{float(side)} x {float(side)}"},
        lambda side: {"area": f"{float(side * side)} in2", "shape": "square"},
    ):
        small, large = (
            area_of(opening(width, height, measured, entries(side))) for side in (size, size + more)
        )
        assert RANK[large.verdict] <= RANK[small.verdict]
        assert small.margin and large.margin and large.margin.value >= small.margin.value


@settings(max_examples=20)
@given(st.integers(20, 60), st.integers(20, 44), st.booleans())
@pytest.mark.parametrize("shape", ["round", "rectangular"])
def test_a_larger_liner_of_one_share_never_worsens_its_finding(
    shape: str, width: int, height: int, measured: bool
) -> None:
    liners = [
        liner
        for liner in CODE.liners(shape)
        if liner.round or (liner.sides[1] < 2 * liner.sides[0] and liner.name != "4.5x8.5")
    ]
    ranks = [
        RANK[area_of(opening(width, height, measured, {"liner": liner.name})).verdict] for liner in liners
    ]
    assert ranks == sorted(ranks, reverse=True)


@given(st.integers(20, 60), st.integers(20, 44), st.integers(0, 10))
def test_a_smaller_opening_never_worsens_its_flue(width: int, height: int, less: int) -> None:
    large = area_of(opening(width, height, True, {"liner": "13x13"}))
    small = area_of(opening(width, height - less, True, {"liner": "13x13"}))
    assert RANK[small.verdict] <= RANK[large.verdict]
