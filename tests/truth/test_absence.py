"""Nothing that is absent ever passes: what a job leaves out never makes an answer better.

The complete job is what a tape reads on a house; every list, table and entry of it is left out, alone and two at a time.
"""

from collections import Counter
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from itertools import combinations
from random import Random
from typing import Any

from hypothesis import settings
from truth.house import Document, build, measure, sound

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding, StageResult, Verdict, worst
from hearthcalc.job import Job, JobError

CODE = reference.load("irc-2021")
Path = tuple[str | int, ...]
LISTS = ("face", "nearby", "roof")

# What may be left out without harm, and why.
KEPT = {
    "format": "without it the file is refused",
    "version": "without it the file is refused",
    "units": "documented: inches where it is not told; no bare number stands in these jobs",
    "about": "documented: irc-2021 without the amendments of a place, measured on site; the rest decides nothing",
}
# A name tells things apart and measures nothing: without it the same finding goes on under another name.
NAMES = "name"

# A measured size overrules what the table says of a nominal one.
SIZE = "the measured inside overrules the nominal liner; without it the liner is the answer, as the table prints it"

# Where the answers to a whole job may get better, and why. Not the whole list: who enters no thing at all has not looked.
BETTER = {
    "a face": "what no one tells of cannot be known: with the face go its opening and its hearth",
    "a thing": "what no one tells of cannot be known, as long as other things are told of",
    "a roof": "what no one tells of cannot be known, as long as another roof is told of",
    "a fan": "what no one tells of cannot be known, as long as other fans are told of",
}

TOUCHES = "what is so far from the lining is then judged as touching, which is as short"

# The entries without which a finding may vanish or change, and why.
OTHERWISE = {
    (
        "closure",
        "doors.burning_closed",
    ): "documented: a face without a closure is taken as open, and is on the site list",
    (
        "from_lining",
        "clearance.abutting",
    ): "asked only of what touches the masonry; its clear space is judged in any case",
    ("gap", "clearance.framing"): TOUCHES,
    ("gap", "clearance.chimney"): TOUCHES,
    ("specified_r", "heat.resistance"): "asked only where the papers of a listed unit ask for it",
    ("inside", "chimney.arrestor_area"): SIZE,
    ("inside", "chimney.cap_area"): SIZE,
    ("inside", "firebox.passageway"): SIZE,
    ("inside", "flue.area"): SIZE,
}


def places(document: Document) -> Iterator[Path]:
    """Every list, table and entry of a job that can be left out."""
    for key, value in document.items():
        if key not in KEPT:
            yield from _places((key,), value)


def _places(path: Path, value: Any) -> Iterator[Path]:
    if path[-1] == NAMES:
        return
    yield path
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in parts:
        yield from _places((*path, key), part)


def without(document: Document, *paths: Path) -> Document:
    """A job without some of its places."""
    less = deepcopy(document)
    for path in sorted(paths, key=lambda path: [str(part).zfill(3) for part in path], reverse=True):
        here: Any = less
        try:
            for part in path[:-1]:
                here = here[part]
            del here[path[-1]]
        except (KeyError, IndexError):  # it went with what holds it
            continue
    return less


def label(document: Document, path: Path) -> str:
    """A place in words: things by their name."""
    words: list[str] = []
    here: Any = document
    for part in path:
        here = here[part]
        words.append(
            str(here.get("name", here.get("material")))
            if isinstance(part, int) and isinstance(here, dict)
            else str(part)
        )
    return ".".join(words)


def whole(path: Path) -> str:
    """What goes with a place that is one of a list: "a face" and so on, "" for any other."""
    kinds = {("face",): "a face", ("nearby",): "a thing", ("roof",): "a roof", ("air", "fans"): "a fan"}
    return kinds.get(path[:-1], "") if isinstance(path[-1], int) else ""


def taken(document: Document, path: Path) -> set[str]:
    """The names of the things that go with a place."""
    here: Any = document
    for part in path:
        here = here[part]
    if whole(path):
        return {here["name"]}
    fans = here if path == ("air", "fans") else here["fans"] if path == ("air",) else ()
    return {thing["name"] for thing in (here if path in ((key,) for key in LISTS) else fans)}


def passes(before: Verdict, after: Verdict) -> bool:
    """Is it a better answer, and not that someone has to measure or decide."""
    if after in (Verdict.MEASURE, Verdict.REFER):
        return False
    return worst([before, after]) is before is not after


@dataclass(frozen=True)
class Wrong:
    """What got better, by what was left out."""

    kind: str
    seed: int
    out: tuple[str, ...]
    what: str
    text: str


def judged(document: Document) -> StageResult:
    return assess(Job.from_document(document), CODE).stages["found"]


def wrongs(seed: int, document: Document, before: StageResult, paths: tuple[Path, ...]) -> Iterator[Wrong]:
    """What is better answered without these places."""
    try:
        after = judged(without(document, *paths))
    except JobError:  # refused is not passed
        return
    out = tuple(label(document, path) for path in paths)
    now = {finding.key: finding for finding in after.findings}
    gone = set[str]().union(*(taken(document, path) for path in paths))
    for finding in before.findings:
        if finding.kind == "advice" or any(excused(document, path, finding) for path in paths):
            continue
        new = now.get(finding.key)
        if new is not None and passes(finding.verdict, new.verdict):
            yield Wrong("better", seed, out, finding.id, f"{line(finding)}\n      now {line(new)}")
        if (
            new is None
            and finding.verdict is Verdict.SHORT
            and gone.isdisjoint({finding.face, finding.item} | opened(before, finding))
        ):
            if asked(
                after, out
            ):  # under another name: the place left out is on the site list, and holds up the overall
                continue
            yield Wrong("gone", seed, out, finding.id, line(finding))
    if passes(before.overall, after.overall) and not any(whole(path) in BETTER for path in paths):
        yield Wrong("overall", seed, out, "overall", f"{before.overall}, now {after.overall}")


def excused(document: Document, path: Path, finding: Finding) -> bool:
    """Is it one of the entries without which this finding may vanish; or a table with such an entry in it."""
    here: Any = document
    for part in path:
        here = here[part]
    entries = [str(path[-1]), *(here if isinstance(here, dict) else ())]
    return any((entry, finding.id) in OTHERWISE for entry in entries)


def asked(stage: StageResult, out: tuple[str, ...]) -> bool:
    """Does an answer that counts wait for what was left out, or for something in it."""
    waits = [address for finding in stage.findings if finding.counts for address in finding.missing]
    return any(address == place or address.startswith(f"{place}.") for address in waits for place in out)


def opened(stage: StageResult, finding: Finding) -> set[str]:
    """The faces that are open in the state that a finding speaks of."""
    return next((set(state.open) for state in stage.states if state.name == finding.state), set())


def line(finding: Finding) -> str:
    return f"{' '.join(part for part in finding.key if part)}: {finding.verdict} {finding.text}"


def told(wrong: list[Wrong], tried: int) -> str:
    """What is wrong: how often, by what was left out, and one example of each finding."""
    groups = Counter((one.kind, one.what, " + ".join(one.out)) for one in wrong)
    examples = {
        (
            one.kind,
            one.what,
        ): f"house {one.seed} without {' and '.join(one.out)}: {one.kind}\n      {one.text}"
        for one in reversed(wrong)
    }
    counts = "\n".join(f"{number:5}  {' / '.join(group)}" for group, number in sorted(groups.items()))
    return f"{len(wrong)} of {tried} jobs with something left out\n{counts}\n" + "\n".join(examples.values())


def is_long() -> bool:
    return settings.get_current_profile_name() == "long"


def conflicting(stage: StageResult) -> bool:
    return any(finding.id == "record.agreement" for finding in stage.findings)


def test_one_place_left_out_never_passes() -> None:
    wrong: list[Wrong] = []
    tried = 0
    for seed in range(40 if is_long() else 5):
        document = measure(build(seed))
        before = judged(document)
        if conflicting(before):
            continue  # with one of two entries gone, there is no conflict between them
        for path in places(document):
            wrong += wrongs(seed, document, before, (path,))
            tried += 1
    assert tried and not wrong, told(wrong, tried)


def test_two_places_left_out_never_pass() -> None:
    """All pairs of one house in the long run, some of many houses in the short one. Only what neither does alone is told."""
    wrong: list[Wrong] = []
    tried = 0
    for seed in range(100, 104 if is_long() else 110):
        document = measure(build(seed))
        before = judged(document)
        if conflicting(before):
            continue  # with one of two entries gone, there is no conflict between them
        every = list(combinations(places(document), 2))
        for pair in every if is_long() else Random(seed).sample(every, 15):
            both = list(wrongs(seed, document, before, pair))
            tried += 1
            if both:
                alone = {
                    (one.kind, one.what) for path in pair for one in wrongs(seed, document, before, (path,))
                }
                wrong += [one for one in both if (one.kind, one.what) not in alone]
    assert tried and not wrong, told(wrong, tried)


# One fault in a house that has no other: by what is entered for it.
FAULTS = {
    "face.0.width": "60", "face.0.hearth.front": "10", "face.0.hearth.left": "2", "face.0.hearth.thickness": "1/4",
    "face.0.hearth.below": "wood",
    "face.0.lintel.bearing": "1", "firebox.depth": "12", "firebox.wall": "4", "firebox.back_wall": "4", "firebox.floor_slab": "1",
    "firebox.floor_below": "wood", "firebox.throat_height": "30", "firebox.damper_works": "no", "firebox.smoke_chamber_slope": "70 deg",
    "firebox.smoke_chamber_parged": "no", "flue.liner": "8.5x8.5", "flue.condition": "cracked", "flue.lining": "unlined",
    "flue.shared_with": "a boiler", "flue.offsets": ["60 deg"], "flue.arrestor_area": "60 in2", "flue.cap_area": "60 in2",
    "nearby.0.above": "7", "nearby.1.gap": "0", "nearby.2.gap": "0", "nearby.3.gap": "0", "nearby.3.filled": True,
    "air.exterior_duct": "0 in2", "air.fans.0.flow": "900 cfm",
    "roof.0.above_penetration": "12", "roof.0.framing_gap": "0", "roof.0.size_change_gap": "0", "roof.1.above_highest": "3",
}  # fmt: skip


def faulty(address: str) -> Document:
    """The sound house with one fault."""
    document = measure(sound())
    *parts, last = (int(part) if part.isdecimal() else part for part in address.split("."))
    here: Any = document
    for part in parts:
        here = here[part]
    here[last] = FAULTS[address]
    return document


def test_the_sound_house_has_no_fault() -> None:
    findings = [
        finding
        for finding in judged(measure(sound())).findings
        if finding.counts and finding.verdict is not Verdict.MEETS
    ]
    assert not findings, "\n".join(map(line, findings))


def test_the_only_fault_of_a_house_is_never_left_out() -> None:
    """In the short run: by its own entry, and all that holds it; and some other places."""
    wrong: list[Wrong] = []
    tried = 0
    for address in FAULTS:
        document = faulty(address)
        before = judged(document)
        if conflicting(before):
            continue  # it is not relied on at all
        assert before.overall is Verdict.SHORT, address
        every = list(places(document))
        mine = [
            path for path in every if ".".join(map(str, path)) == address[: len(".".join(map(str, path)))]
        ]
        for path in every if is_long() else mine + Random(address).sample(every, 3):
            wrong += wrongs(-1, document, before, (path,))
            tried += 1
    assert tried and not wrong, told(wrong, tried)
