"""A document in, a job out, with the mistakes told by address."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice, zip_longest
from typing import Any, Literal

from msgspec import Struct

from hearthcalc.entry import FieldSpec, clean, cut, read_list, shown
from hearthcalc.errors import EntryError, HearthError
from hearthcalc.job.addresses import Path, address_of, get, join_address, locate, names
from hearthcalc.job.record import Job, T, with_values
from hearthcalc.lengths import Unit
from hearthcalc.tables import Document, Sub, Table, item_of

MOST_FACES = 4
MOST_TOLD = 100  # mistakes of one document


class Problem(Struct, frozen=True):
    """An entry that cannot stand. address: of the entry.  path: its place in the document, lists by index."""

    address: str
    what: str
    fix: str
    path: Path = ()


class JobError(HearthError):
    """A document that is not a job. problems: the mistakes found in it, a hundred at most."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        first = problems[0]
        super().__init__("Not a valid job", first.what, where=first.address, fix=first.fix)
        self.problems = tuple(problems)


def from_document(document: Mapping[str, Any]) -> Job:
    """The job that a document says. Raises JobError with the mistakes in it."""
    job, problems, _ = _attempt(dict(document))
    if problems or job is None:
        raise JobError(problems)
    return job


Like = tuple[Mapping[str, Any], Table]


def read(document: Mapping[str, Any], like: Like | None = None) -> tuple[Job, dict[str, Problem]]:
    """The job that a document says, without what cannot be read, and that by address.

    like: another document without a mistake in it and its job. Tables that both documents share are not read again; so none of them
    may have been changed since.
    """
    mistakes: dict[str, Problem] = {}
    rest: Document = dict(document)
    if like and like[0].get("units") != rest.get("units"):
        like = None
    while True:  # each turn leaves something out, until what is left can be read
        job, problems, places = _attempt(rest, like)
        for problem in problems:
            mistakes.setdefault(problem.address, problem)
        less = _without_paths(rest, places)
        if less == rest:
            assert job is not None
            return job, mistakes
        rest = less


def _attempt(document: Document, like: Like | None = None) -> tuple[Job | None, list[Problem], list[Path]]:
    """The job, if a document can be read as it is; the first mistakes in it; the places of all that cannot stand."""
    unit = document.get("units", "in")
    faults: list[Fault] = []
    job = _table(Job, document, (), unit if unit in ("in", "mm") else None, faults, like)
    if job is None or faults:
        return (
            None,
            [_problem(document, fault) for fault in faults[:MOST_TOLD]],
            [fault.place for fault in faults],
        )
    job = _named(job)
    problems = list(islice(_wrong_lists(job), MOST_TOLD))
    problems = problems or list(islice(_wrong_together(job, document), MOST_TOLD))
    return job, problems, [problem.path for problem in problems if problem.path]


def stands(job: Job) -> bool:
    """Can the entries of a job that has been read all be right."""
    return next(_wrong_together(job, {}), None) is None


class Fault(Struct, frozen=True):
    """What is wrong at a place of the document. value: what stands there.  what, fix: of an entry that cannot be read."""

    kind: Literal["entry", "no table", "no name", "no such key"]
    path: Path
    value: Any = None
    what: str = ""
    fix: str = ""

    @property
    def place(self) -> Path:
        """What cannot stand: a thing without the name that it needs, and a list of values with one of them, as a whole."""
        part = self.kind == "no name" or (self.kind == "entry" and isinstance(self.path[-1], int))
        return self.path[:-1] if part else self.path


def _table(
    kind: type[T], value: Any, path: Path, unit: Unit | None, faults: list[Fault], like: Like | None = None
) -> T | None:
    """A table of the document as one of the record; what is wrong in it joins the faults. like: what stands there in another."""
    if not isinstance(value, Mapping):
        faults.append(Fault("no table", path, value))
        return None
    said: Mapping[str, Any] = {}
    read: Mapping[str, Any] = {}
    if like:
        said, other = like
        if value is said and isinstance(other, kind) and _keeps_its_name(other):
            return other
        read = other.__dict__
    fields = kind.fields
    values: dict[str, Any] = {}
    for key, node in fields.items():
        if key not in value:
            if key in kind.needed:
                faults.append(Fault("no name", (*path, key)))
            continue
        here = (*path, key)
        if isinstance(node, FieldSpec) and node.kind != "list":
            same = key in said and value[key] is said[key]
            values[key] = read[key] if same else _entry(node, value[key], here, unit, faults)
        elif isinstance(node, Sub) and not node.many:
            beside = (said[key], read[key]) if isinstance(said.get(key), Mapping) else None
            values[key] = _table(node.table, value[key], here, unit, faults, beside)
        else:
            beside = (said[key], read[key]) if key in said else ((), ())
            values[key] = _list(kind, key, value[key], here, unit, faults, beside)
    faults.extend(Fault("no such key", (*path, key)) for key in value if key not in fields)
    return kind(frozenset(values), values)


def _keeps_its_name(thing: Table) -> bool:
    """Is a thing not called by what it is, which goes by the others of its list."""
    return "name" not in type(thing).fields or "name" in thing.entered


def _list(
    kind: type[Table],
    key: str,
    value: Any,
    path: Path,
    unit: Unit | None,
    faults: list[Fault],
    like: tuple[Any, tuple[Any, ...]],
) -> tuple[Any, ...]:
    """A list of things, or of values."""
    try:
        items = read_list(value)
    except EntryError as err:
        faults.append(Fault("entry", path, value, err.what, err.fix))
        return ()
    node = kind.fields[key]
    if isinstance(node, Sub):
        pairs = zip_longest(items, zip(*like, strict=False))
        return tuple(
            _table(node.table, one, (*path, at), unit, faults, beside)
            for at, (one, beside) in enumerate(islice(pairs, len(items)))
        )
    spec = item_of(kind, key)
    assert spec is not None
    return tuple(_entry(spec, one, (*path, at), unit, faults) for at, one in enumerate(items))


def _entry(spec: FieldSpec, value: Any, path: Path, unit: Unit | None, faults: list[Fault]) -> Any:
    try:
        return spec.read(value, unit)
    except EntryError as err:
        faults.append(Fault("entry", path, value, err.what, err.fix))
        return None


def _without_paths(document: Any, paths: Sequence[Path]) -> Any:
    """A document without some places."""
    if () in paths:
        return None
    if not paths:
        return document
    below: dict[str | int, list[Path]] = {}
    for first, *rest in paths:
        below.setdefault(first, []).append(tuple(rest))
    pairs = enumerate(document) if isinstance(document, list | tuple) else document.items()
    kept = [(key, _without_paths(value, below.get(key, []))) for key, value in pairs]
    left = [(key, value) for key, value in kept if () not in below.get(key, [])]
    return dict(left) if isinstance(document, Mapping) else [value for _, value in left]


def _problem(document: Document, fault: Fault) -> Problem:
    """A fault as a person reads it."""
    path = fault.place
    if fault.kind == "no name":
        what, fix = f"A {path[-2]} has no name.", 'Add name = "...": no two share one.'
        return Problem(address_of(document, path), what, fix, path)
    if fault.kind == "entry":
        last = fault.path[-1]
        number = f"Number {last + 1}: " if isinstance(last, int) else ""
        return Problem(address_of(document, path), number + fault.what, fault.fix, path)
    if fault.kind == "no such key":
        return Problem(clean(address_of(document, path)), *_unknown_key(path), path)
    fix = f"Write {_header(path)} and its keys below it."
    return Problem(address_of(document, path), f"{shown(fault.value)} is not a table.", fix, path)


def _header(path: Path) -> str:
    """The line that a table begins with in the file, or a thing of a list."""
    keys = [step for step in path if isinstance(step, str)]
    table: type[Table] = Job
    node: Any = None
    for key in keys:
        node = table.fields[key]
        table = node.table
    return f"[[{'.'.join(keys)}]]" if node.many else f"[{'.'.join(keys)}]"


def _unknown_key(path: Path) -> tuple[str, str]:
    """What is wrong with a key that its table does not have, and what to do."""
    key = str(path[-1])
    table: type[Table] = Job
    above: list[tuple[Path, type[Table]]] = [((), table)]
    for number, step in enumerate(path[:-1]):
        if isinstance(step, str):
            table = table.fields[step].table  # type: ignore[union-attr]
            above.append((path[: number + 1], table))
    here = _header(path[:-1]) if len(path) > 1 else "the top of the file"
    name = shown(key).strip('"')
    for place, upper in reversed(above[:-1]):
        if key in upper.fields:
            owner = _header(place) if place else "the top of the file"
            return (
                f"{name} is a key of {owner}, but it stands in {here}.",
                f"Move it up, above the line {here}: in TOML a key belongs to the last table header above it.",
            )
    fields = table.fields
    for sub, node in fields.items():
        if isinstance(node, Sub) and key in node.table.fields:
            return (
                f"{name} is not a key of {here}.",
                f"Move it below {_header((*path[:-1], sub))}, which has it.",
            )
    near = difflib.get_close_matches(key, fields, 1) if len(key) < 60 else []
    fix = f"Did you mean {near[0]}?" if near else f"Its keys are: {', '.join(fields)}."
    return f"{name} is not a key of {here}.", fix


def _named(job: Job) -> Job:
    """The job with a name on every thing: one without is called by what it is."""
    values: dict[str, Any] = {
        "nearby": _called(job.nearby),
        "roof": _called(job.roof),
        "photo": _called(job.photo),
    }
    if job.air.fans:
        values["air"] = with_values(job.air, {"fans": _called(job.air.fans)})
    if job.planned.air.fans:
        air = with_values(job.planned.air, {"fans": _called(job.planned.air.fans)})
        values["planned"] = with_values(job.planned, {"air": air})
    return with_values(job, values)


def _called(things: tuple[T, ...]) -> tuple[T, ...]:
    if all(getattr(thing, "name", None) for thing in things):
        return things
    called = names(things, type(things[0]))
    return tuple(with_values(thing, {"name": name}) for thing, name in zip(things, called, strict=True))


def _wrong_lists(job: Job) -> Iterator[Problem]:
    """Mistakes in the lists: missing, doubled and unknown names, too few or too many faces."""
    for key in ("format", "version"):
        if key not in job.entered:
            yield Problem(
                key, f"The file has no {key}.", f"Write {key} = {json.dumps(getattr(job, key))} at the top."
            )
    if not job.face:
        yield Problem("face", "There is no face.", "Add [[face]] with a name: one face is the least.")
    for number in range(MOST_FACES, len(job.face)):
        path: Path = ("face", number)
        yield Problem(
            join_address(("face", job.face[number].name)),
            f"There are more than {MOST_FACES} faces.",
            "Enter four at most.",
            path,
        )
    lists: list[tuple[Path, Sequence[Any]]] = [
        (("face",), job.face), (("nearby",), job.nearby), (("roof",), job.roof), (("air", "fans"), job.air.fans or ()),
        (("photo",), job.photo), (("signed",), job.signed), (("planned", "face"), job.planned.face),
        (("planned", "nearby"), job.planned.nearby),
        (("planned", "roof"), job.planned.roof), (("planned", "air", "fans"), job.planned.air.fans or ()),
    ]  # fmt: skip
    for path, things in lists:
        seen: set[str] = set()
        for number, thing in enumerate(things):
            if thing.name in seen:
                what = f"Two entries of {_header(path)} are called {cut(thing.name)}."
                yield Problem(
                    join_address((*map(str, path), thing.name, "name")),
                    what,
                    "Give each a name of its own.",
                    (*path, number),
                )
            elif thing.name is not None:
                seen.add(thing.name)
    for key in ("face", "nearby", "roof"):
        yield from _wrong_overlay(key, getattr(job, key), getattr(job.planned, key))


def _wrong_overlay(key: str, found: Sequence[Any], planned: Sequence[Any]) -> Iterator[Problem]:
    entered = {thing.name: "name" in thing.entered for thing in found}
    for number, thing in enumerate(planned):
        path = ("planned", key, number)
        if thing.name is None:
            fix = "Add name: it says which one is changed, and a new name adds one."
            yield Problem(join_address(("planned", key)), f"A planned {key} has no name.", fix, path)
            continue
        address = join_address(("planned", key, thing.name))
        if not entered.get(thing.name, True):
            what = f"{cut(thing.name)} is planned, but what was found is not called so: it has no name."
            yield Problem(
                address, what, f'Write name = "{cut(thing.name)}" at [[{key}]] if it is the same.', path
            )
        elif thing.remove and thing.name not in entered:
            yield Problem(
                address,
                f"{cut(thing.name)} is to be taken away, but was not found.",
                f"Name one of: {_listed(entered)}.",
                path,
            )
        elif thing.remove and thing.entered - {"name", "remove"}:
            what = f"{cut(thing.name)} is taken away, and yet more is planned of it."
            yield Problem(f"{address}.remove", what, "Keep remove alone, or take it out.", (*path, "remove"))


MOST_LISTED = 20  # names in one message


def _listed(words: Iterable[str]) -> str:
    return ", ".join(map(cut, islice(words, MOST_LISTED))) or "none was"


Mistake = tuple[list[tuple[str, ...]], str, str]


def _wrong_together(job: Job, document: Document) -> Iterator[Problem]:
    """Entries that cannot all be right: only what is certainly a mistake."""
    for parts, what, fix in chain(_wrong_names(job), _wrong_measures(job)):
        address = join_address(parts[0])
        yield Problem(address, what, fix, locate(document, address))
    stages = job.stages()
    if "planned" not in stages:
        return
    planned = stages["planned"].job
    if not 1 <= len(planned.face) <= MOST_FACES:
        what = "No face is left." if not planned.face else f"There would be more than {MOST_FACES} faces."
        last = job.planned.face[-1].name
        address = join_address(("planned", "face", last))
        yield Problem(address, what, "One to four faces can be planned.", locate(document, address))
    for parts, what, fix in _wrong_measures(planned):
        mine = next((path for path in parts if get(job, join_address(("planned", *path))) is not None), None)
        if mine:
            address = join_address(("planned", *mine))
            yield Problem(address, f"As planned: {what}", fix, locate(document, address))


def _wrong_names(job: Job) -> Iterator[Mistake]:
    found = [face.name for face in job.face]
    gone = {face.name for face in job.planned.face if face.remove}
    known = dict.fromkeys([*found, *(face.name for face in job.planned.face)])
    left = [name for name in known if name not in gone]
    for prefix, part, faces in (((), job, list(known)), (("planned",), job.planned, left)):
        for thing in part.nearby:
            mine = (*prefix, "nearby", str(thing.name))
            if thing.face and thing.at:
                yield (
                    [(*mine, "at")],
                    f"{cut(str(thing.name))} is near a face and at a wall.",
                    "Keep one of face and at.",
                )
            elif thing.face and thing.face not in faces:
                yield (
                    [(*mine, "face")],
                    f"There is no face called {cut(thing.face)}.",
                    f"Name one of: {_listed(faces)}.",
                )
        if part.site.wind_on and part.site.wind_on not in faces:
            what = f"There is no face called {cut(part.site.wind_on)}."
            yield [(*prefix, "site", "wind_on")], what, f"Name one of: {_listed(faces)}."


def _wrong_measures(job: Job) -> Iterator[Mistake]:
    for face in job.face:
        rise, width, height = (
            ("face", face.name, "rise"),
            ("face", face.name, "width"),
            ("face", face.name, "height"),
        )
        if face.arch == "flat" and face.rise:
            yield (
                [rise, ("face", face.name, "arch")],
                "A flat opening has no rise.",
                "Take the rise out, or change arch.",
            )
        if face.arch == "segmental" and face.rise and face.width and face.rise.value > face.width.value / 2:
            what = "The rise is more than half the width: that is more than a half circle."
            yield [rise, width], what, "Measure the rise from the string between the springings."
        if face.arch == "segmental" and face.rise and face.height and face.rise.value >= face.height.value:
            what = "The rise is not less than the whole height."
            yield [rise, height], what, "Measure the rise from the string between the springings."
        if (
            face.arch == "semicircular"
            and face.width
            and face.height
            and face.width.value > 2 * face.height.value
        ):
            what = "A half circle over this width would be higher than the opening."
            yield [height, width], what, "Measure the height to the crown, or change arch."
    box, flue = job.firebox, job.flue
    if box.lining and box.wall and box.lining.value > box.wall.value:
        what = "The lining is thicker than the wall, which includes it."
        yield [("firebox", "lining"), ("firebox", "wall")], what, "Measure both again."
    if flue.height and box.throat_height and flue.height.value <= box.throat_height.value:
        what = "The flue would end below the throat."
        yield [("flue", "height"), ("firebox", "throat_height")], what, "Measure both from the firebox floor."
