"""The record of a job: what was found, what is planned over it, and the addresses of its entries."""

from __future__ import annotations

import difflib
import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import Annotated, Any, Literal, TypeVar, cast, get_args

from pydantic import ValidationError

from hearthcalc import lengths
from hearthcalc.entry import Amount, FieldSpec, Size, bare, clean, shown
from hearthcalc.errors import EntryError, HearthError
from hearthcalc.findings import Step
from hearthcalc.lengths import Unit
from hearthcalc.tables import (
    FACES,
    NEARBY,
    ROOFS,
    About,
    Air,
    Document,
    Face,
    Fan,
    Fire,
    Firebox,
    Fireplace,
    Flue,
    Hearth,
    Judged,
    Layer,
    Lintel,
    Nearby,
    Planned,
    PlannedFace,
    PlannedNearby,
    PlannedRoof,
    Roof,
    Site,
    Sub,
    Table,
    Use,
    What,
    choice,
    fields_of,
)  # fmt: skip

__all__ = [
    "FIELDS", "FORMAT", "VERSION", "About", "Air", "Amount", "Document", "Face", "Fan", "FieldSpec", "Fire", "Firebox", "Fireplace",
    "Flue", "Hearth", "Job", "JobError", "Layer", "Lintel", "Nearby", "Planned", "Problem", "Roof", "Site", "Size", "Stage", "Table",
    "Use", "blank", "entries", "get", "job_schema", "join_address", "names", "parse_address", "read", "set_entry",
    "slip_of_unit", "spec_of", "typed", "unusual", "with_units",
]  # fmt: skip

FORMAT = "hearthcalc-job"
VERSION = 1
MOST_FACES = 4
MOST_TOLD = 100  # mistakes of one document

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
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


class Job(Table):
    """A fireplace as it was found, and what is planned."""

    format: Annotated[
        Literal["hearthcalc-job"],
        choice(Literal["hearthcalc-job"], "Format", "Marks the file as a job of this program."),
    ] = "hearthcalc-job"
    version: Annotated[int, FieldSpec("Version", "version", "Of the file's format.")] = VERSION
    units: Annotated[
        Unit,
        choice(
            Unit,
            "Units",
            "The unit of numbers without one, and of what is printed.",
            {"in": "inches", "mm": "millimetres"},
        ),
    ] = "in"
    about: About = About()
    fireplace: Fireplace = Fireplace()
    face: Annotated[tuple[Face, ...], FACES] = ()
    firebox: Firebox = Firebox()
    flue: Flue = Flue()
    nearby: Annotated[tuple[Nearby, ...], NEARBY] = ()
    use: Use = Use()
    air: Air = Air()
    site: Site = Site()
    fire: Fire = Fire()
    roof: Annotated[tuple[Roof, ...], ROOFS] = ()
    planned: Planned = Planned()
    judged: Judged = Judged()

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> Job:
        """The job that a document says. Raises JobError with the mistakes in it."""
        job, problems, _ = _attempt(dict(document))
        if problems or job is None:
            raise JobError(problems)
        return job

    @property
    def fingerprint(self) -> str:
        """Changes when any entry of the job does, but for what it was last judged by."""
        entered = {key: value for key, value in self.document().items() if key != "judged"}
        text = json.dumps(entered, sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()

    def stages(self) -> dict[str, Stage]:
        """The job as found and, where anything is planned, as planned.

        A thing near a face that is yet to be made is not part of the found stage.
        """
        found = self if self.about.measured else _intended(self)
        stages = {"found": Stage("found", _present(found), {}, {})}
        if _says(self.planned):
            stages["planned"] = _plan(found, self.planned)
        return stages


def _says(table: Table) -> bool:
    """Is anything entered in a table, be it that it is not known."""
    values = (getattr(table, key) for key in table.model_fields_set)
    return any(_says(value) if isinstance(value, Table) else value != () for value in values)


@dataclass(frozen=True, slots=True)
class Stage:
    """The job at one time: "found" or "planned". voided: addresses of found entries that the work destroys."""

    name: str
    job: Job
    voided: Mapping[str, tuple[str, ...]]
    moved: Mapping[str, Step]


# Addresses: keys parted by points, things of a list by their name, quoted where it is not one bare word


def _specs(table: type[Table], prefix: str = "") -> Iterator[tuple[str, FieldSpec]]:
    for key, node in fields_of(table).items():
        if isinstance(node, FieldSpec):
            yield prefix + key, node
        elif key != "planned":
            if node.spec:
                yield prefix + key, node.spec
            yield from _specs(node.table, f"{prefix}{key}.")


FIELDS: Mapping[str, FieldSpec] = {
    key: replace(spec, key=key) for key, spec in dict(chain(_specs(Planned), _specs(Job))).items()
}

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PART = re.compile(r'([A-Za-z0-9_-]+)|"((?:[^"\\]|\\.)*)"')


def join_address(parts: Iterable[str]) -> str:
    """An address from its parts: ("face", "east room", "width") is face."east room".width."""
    return ".".join(part if _BARE.fullmatch(part) else f'"{_escaped(part)}"' for part in parts)


def _escaped(part: str) -> str:
    return part.replace("\\", "\\\\").replace('"', '\\"')


def parse_address(address: str) -> tuple[str, ...]:
    """The parts of an address. Raises EntryError where it is not one."""
    parts = []
    place = 0
    while match := _PART.match(address, place):
        bare, quoted = match.groups()
        parts.append(bare if quoted is None else re.sub(r"\\(.)", r"\1", quoted))
        if match.end() == len(address):
            return tuple(parts)
        if address[match.end()] != ".":
            break
        place = match.end() + 1
    raise EntryError(
        "Not an address", f"{shown(address)} is not an address.", fix="Write it as in face.study.width."
    )


def spec_of(address: str) -> FieldSpec:
    """What there is to know of the entry at an address, found or planned. Raises EntryError where there is no such entry."""
    parts = parse_address(address)
    node = _node(parts)
    if isinstance(node, Sub) or node is None:
        raise _no_entry(address)
    return node


def _no_entry(address: str) -> EntryError:
    return EntryError(
        "No such entry", f"{shown(address)} is not an entry of a job.", fix="Write it as in face.study.width."
    )


def _node(parts: Sequence[str]) -> FieldSpec | Sub | None:
    """What stands at an address: an entry (with its key), a table or one thing of a list, or nothing."""
    table: type[Table] = Job
    keys: list[str] = []
    node: FieldSpec | Sub | None = None
    rest = list(parts)
    while rest:
        key = rest.pop(0)
        node = fields_of(table).get(key)
        if key != "planned":
            keys.append(key)
        if isinstance(node, Sub):
            table = node.table
            if node.many and not rest:
                return FIELDS[".".join(keys)]
            if node.many:
                rest.pop(0)
        elif node is None or rest:
            return None
        else:
            return FIELDS[".".join(keys)]
    return node


def names(things: Iterable[Any], kind: type[Table]) -> list[str]:
    """What the things of a list are called in addresses: by name, else by what they are; by number where they have none.

    things: tables of a document, or of the record.
    """
    rows = [
        thing if isinstance(thing, Mapping) else thing.__dict__ if isinstance(thing, Table) else {}
        for thing in things
    ]
    if "name" not in kind.model_fields:
        return [str(number) for number in range(1, len(rows) + 1)]
    given = [clean(row["name"]) if isinstance(row.get("name"), str) else "" for row in rows]
    taken = set(given)
    counts: dict[str, int] = {}
    called = []
    for row, name in zip(rows, given, strict=True):
        what = row.get("what")
        word = what if isinstance(what, str) and what in get_args(What) else kind.DEFAULT_NAME
        while not name:
            counts[word] = counts.get(word, 0) + 1
            default = word if counts[word] == 1 else f"{word} {counts[word]}"
            name = "" if default in taken else default
        called.append(name)
    return called


def _address(document: Mapping[str, Any], path: Path) -> str:
    """The address of a place in a document."""
    parts: list[str] = []
    table: type[Table] = Job
    here: Any = document
    node: FieldSpec | Sub | None = None
    for step in path:
        if isinstance(step, int):
            if not isinstance(node, Sub):
                break
            parts.append(names(here, node.table)[step])
        else:
            node = fields_of(table).get(step)
            table = node.table if isinstance(node, Sub) else table
            parts.append(step)
        here = _item(here, step)
    return join_address(parts)


def _item(here: Any, step: str | int) -> Any:
    if isinstance(here, Mapping):
        return here.get(step)
    return (
        here[step] if isinstance(here, list | tuple) and isinstance(step, int) and step < len(here) else None
    )


def _locate(document: Mapping[str, Any], address: str) -> Path:
    """The place of an address in a document, lists by index; as much of it as is there."""
    path: list[str | int] = []
    table: type[Table] = Job
    here: Any = document
    rest = list(parse_address(address))
    while rest and isinstance(here, Mapping) and rest[0] in here:
        key = rest.pop(0)
        path.append(key)
        here = here[key]
        node = fields_of(table).get(key)
        if not isinstance(node, Sub):
            break
        table = node.table
        if node.many and rest and isinstance(here, list | tuple):
            called = names(here, table)
            name = rest.pop(0)
            if name not in called:
                break
            path.append(called.index(name))
            here = here[called.index(name)]
    return tuple(path)


def get(job: Job, address: str) -> Any:
    """The value of the record at an address, None where it is not known."""
    value: Any = job
    for part in parse_address(address):
        if isinstance(value, tuple):
            called = names(value, type(value[0])) if value and isinstance(value[0], Table) else []
            value = value[called.index(part)] if part in called else None
        else:
            value = getattr(value, part, None)
        if value is None:
            return None
    return value


def typed(document: Mapping[str, Any], address: str) -> Any:
    """What a document holds at an address, also where it cannot be read; None where it holds nothing."""
    path = _locate(document, address)
    here: Any = document if len(path) == len(parse_address(address)) else None
    for step in path:
        here = _item(here, step)
    return here


def entries(job: Job) -> Iterator[tuple[str, FieldSpec, Any]]:
    """Every entry that is known: its address, what there is to know of it, its value; in the order of the file."""
    return _entries(job, (), "")


def _entries(table: Table, parts: tuple[str, ...], key: str) -> Iterator[tuple[str, FieldSpec, Any]]:
    for name, node in fields_of(type(table)).items():
        value = getattr(table, name)
        if name not in table.model_fields_set or value is None:
            continue
        under = f"{key}{name}"
        if isinstance(node, FieldSpec):
            yield join_address((*parts, name)), FIELDS[under], value
        elif not node.many:
            yield from _entries(value, (*parts, name), "" if name == "planned" else f"{under}.")
        else:
            for thing, called in zip(value, names(value, node.table), strict=True):
                yield from _entries(thing, (*parts, name, called), f"{under}.")


# Reading a document


def read(document: Mapping[str, Any]) -> tuple[Job, dict[str, Problem]]:
    """The job that a document says, without what cannot be read, and that by address."""
    told: dict[str, Problem] = {}
    rest: Document = dict(document)
    while True:  # each turn leaves something out, until what is left can be read
        job, problems, places = _attempt(rest)
        for problem in problems:
            told.setdefault(problem.address, problem)
        less = _without_paths(rest, places)
        if less == rest:
            assert job is not None
            return job, told
        rest = less


def _attempt(document: Document) -> tuple[Job | None, list[Problem], list[Path]]:
    """The job, if a document can be read as it is; the first mistakes in it; the places of all that cannot stand."""
    unit = document.get("units", "in")
    try:
        job = Job.model_validate(document, context={"unit": unit if unit in ("in", "mm") else None})
    except ValidationError as err:
        told = err.errors(include_url=False)
        problems = [_problem(document, error) for error in told[:MOST_TOLD]]
        return None, problems, [_place(error) for error in told]
    job = _named(job)
    problems = list(islice(_wrong_lists(job), MOST_TOLD))
    problems = problems or list(islice(_wrong_together(job, document), MOST_TOLD))
    return job, problems, [problem.path for problem in problems if problem.path]


def _place(error: Any) -> Path:
    """What cannot stand: a thing without the name that it needs, and a list of values with one of them, as a whole."""
    path: Path = error["loc"]
    part = error["type"] == "missing" or (error["type"] == "entry" and isinstance(path[-1], int))
    return path[:-1] if part else path


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


def _problem(document: Document, error: Any) -> Problem:
    """What pydantic found, in the words of this program."""
    path = _place(error)
    if error["type"] == "missing":
        what, fix = f"A {path[-2]} has no name.", 'Add name = "...": no two share one.'
        return Problem(_address(document, path), what, fix, path)
    if error["type"] == "entry":
        what, fix = error["ctx"]["what"], error["ctx"]["fix"]
        last = error["loc"][-1]
        number = f"Number {last + 1}: " if isinstance(last, int) else ""
        return Problem(_address(document, path), number + what, fix, path)
    if error["type"] == "extra_forbidden":
        return Problem(clean(_address(document, path)), *_unknown_key(path), path)
    fix = f"Write [{_header(path)}] and its keys below it."
    return Problem(_address(document, path), f"{shown(error['input'])} is not a table.", fix, path)


def _header(path: Path) -> str:
    return ".".join(step for step in path if isinstance(step, str))


def _unknown_key(path: Path) -> tuple[str, str]:
    """What is wrong with a key that its table does not have, and what to do."""
    key = str(path[-1])
    table: type[Table] = Job
    above: list[tuple[Path, type[Table]]] = [((), table)]
    for number, step in enumerate(path[:-1]):
        if isinstance(step, str):
            table = fields_of(table)[step].table  # type: ignore[union-attr]
            above.append((path[: number + 1], table))
    here = f"[{_header(path[:-1])}]" if len(path) > 1 else "the top of the file"
    name = shown(key).strip('"')
    for place, upper in reversed(above[:-1]):
        if key in fields_of(upper):
            owner = f"[{_header(place)}]" if place else "the top of the file"
            return (
                f"{name} is a key of {owner}, but it stands in {here}.",
                f"Move it up, above the line {here}: in TOML a key belongs to the last table header above it.",
            )
    fields = fields_of(table)
    for sub, node in fields.items():
        if isinstance(node, Sub) and key in fields_of(node.table):
            return (
                f"{name} is not a key of {here}.",
                f"Move it below [{_header((*path[:-1], sub))}], which has it.",
            )
    near = difflib.get_close_matches(key, fields, 1) if len(key) < 60 else []
    fix = f"Did you mean {near[0]}?" if near else f"Its keys are: {', '.join(fields)}."
    return f"{name} is not a key of {here}.", fix


def _named(job: Job) -> Job:
    """The job with a name on every thing: one without is called by what it is."""
    values: dict[str, Any] = {"nearby": _called(job.nearby), "roof": _called(job.roof)}
    if job.air.fans:
        values["air"] = _with(job.air, {"fans": _called(job.air.fans)})
    if job.planned.air.fans:
        air = _with(job.planned.air, {"fans": _called(job.planned.air.fans)})
        values["planned"] = _with(job.planned, {"air": air})
    return _with(job, values)


T = TypeVar("T", bound=Table)


def _called(things: tuple[T, ...]) -> tuple[T, ...]:
    if all(getattr(thing, "name", None) for thing in things):
        return things
    called = names(things, type(things[0]))
    return tuple(_with(thing, {"name": name}) for thing, name in zip(things, called, strict=True))


def _with(table: T, values: dict[str, Any]) -> T:
    """A table with some values changed; a name that was not entered still counts as not entered."""
    return _made(table, table.model_fields_set, table.__dict__ | values)


def _without(table: T, keys: Iterable[str]) -> T:
    """A table in which some keys are not known."""
    gone = set(keys)
    kept = {key: value for key, value in table.__dict__.items() if key not in gone}
    return _made(table, table.model_fields_set - gone, kept)


def _made(like: T, entered: set[str], values: dict[str, Any]) -> T:
    return cast("T", type(like).model_construct(_fields_set=entered, **values))


def _wrong_lists(job: Job) -> Iterator[Problem]:
    """Mistakes in the lists: missing, doubled and unknown names, too few or too many faces."""
    for key in ("format", "version"):
        if key not in job.model_fields_set:
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
        (("planned", "face"), job.planned.face), (("planned", "nearby"), job.planned.nearby),
        (("planned", "roof"), job.planned.roof), (("planned", "air", "fans"), job.planned.air.fans or ()),
    ]  # fmt: skip
    for path, things in lists:
        seen: set[str] = set()
        for number, thing in enumerate(things):
            if thing.name in seen:
                what = f"Two entries of [[{_header(path)}]] are called {thing.name}."
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
    entered = {thing.name: "name" in thing.model_fields_set for thing in found}
    for number, thing in enumerate(planned):
        path = ("planned", key, number)
        if thing.name is None:
            fix = "Add name: it says which one is changed, and a new name adds one."
            yield Problem(join_address(("planned", key)), f"A planned {key} has no name.", fix, path)
            continue
        address = join_address(("planned", key, thing.name))
        if not entered.get(thing.name, True):
            what = f"{thing.name} is planned, but what was found is not called so: it has no name."
            yield Problem(address, what, f'Write name = "{thing.name}" at [[{key}]] if it is the same.', path)
        elif thing.remove and thing.name not in entered:
            yield Problem(
                address,
                f"{thing.name} is to be taken away, but was not found.",
                f"Name one of: {_listed(entered)}.",
                path,
            )
        elif thing.remove and thing.model_fields_set - {"name", "remove"}:
            what = f"{thing.name} is taken away, and yet more is planned of it."
            yield Problem(f"{address}.remove", what, "Keep remove alone, or take it out.", (*path, "remove"))


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or "none was"


Mistake = tuple[list[tuple[str, ...]], str, str]


def _wrong_together(job: Job, document: Document) -> Iterator[Problem]:
    """Entries that cannot all be right: only what is certainly a mistake."""
    for parts, what, fix in chain(_wrong_names(job), _wrong_measures(job)):
        address = join_address(parts[0])
        yield Problem(address, what, fix, _locate(document, address))
    stages = job.stages()
    if "planned" not in stages:
        return
    planned = stages["planned"].job
    if not 1 <= len(planned.face) <= MOST_FACES:
        what = "No face is left." if not planned.face else f"There would be more than {MOST_FACES} faces."
        last = job.planned.face[-1].name
        address = join_address(("planned", "face", last))
        yield Problem(address, what, "One to four faces can be planned.", _locate(document, address))
    for parts, what, fix in _wrong_measures(planned):
        mine = next((path for path in parts if get(job, join_address(("planned", *path))) is not None), None)
        if mine:
            address = join_address(("planned", *mine))
            yield Problem(address, f"As planned: {what}", fix, _locate(document, address))


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
                    f"{thing.name} is near a face and at a wall.",
                    "Keep one of face and at.",
                )
            elif thing.face and thing.face not in faces:
                yield (
                    [(*mine, "face")],
                    f"There is no face called {thing.face}.",
                    f"Name one of: {_listed(faces)}.",
                )
        if part.site.wind_on and part.site.wind_on not in faces:
            what = f"There is no face called {part.site.wind_on}."
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


# The planned job: what is planned over what was found

SIZES = ("liner", "shape", "diameter", "inside", "area")
THROAT = (
    "depth", "throat_height", "throat_depth", "throat_width", "damper", "damper_area", "damper_works",
    "smoke_chamber_height", "smoke_chamber_wall", "smoke_chamber_form", "smoke_chamber_slope", "smoke_chamber_parged",
)  # fmt: skip
WALLS: Mapping[str, tuple[str, ...]] = {
    "front": (),
    "back": ("back_wall",),
    "left": ("wall",),
    "right": ("wall",),
}
AT_WALL = {"front": "firebox front", "back": "firebox back", "left": "firebox side", "right": "firebox side"}
FROM_OPENING = ("above", "beside", "ahead")
DISTANCES = (*FROM_OPENING, "projection", "gap", "filled", "from_lining")


class _Overlay:
    """What is planned over what was found, and what of that the work destroys."""

    def __init__(self, planned: Planned) -> None:
        self.planned = planned
        self.voided: set[str] = set()

    def void(self, found: T, over: Table | None, keys: Iterable[str], *path: str) -> T:
        """A found table without keys that the work destroys; they count as voided unless planned again."""
        again = over.model_fields_set if over else set()
        self.voided.update(join_address((*path, key)) for key in keys if key not in again)
        return _without(found, keys)


def _plan(found: Job, planned: Planned) -> Stage:
    """The planned stage, by the rules of the job file."""
    over = _Overlay(planned)
    faces = {face.name: face for face in found.face}
    changed = {face.name: face for face in planned.face}
    gone = {name for name, face in changed.items() if face.remove}
    cut = _new_sides(faces, planned.face)
    firebox, flue = found.firebox, found.flue
    if cut:
        keys = (*THROAT, *dict.fromkeys(key for side in cut for key in WALLS[side]))
        firebox = over.void(firebox, planned.firebox, keys, "firebox")
    sized = bool(planned.flue.model_fields_set & set(SIZES))
    if sized:
        flue = _without(flue, SIZES)
    reshaped = any(
        face.remove or face.model_fields_set & {"width", "height", "arch", "rise"} or face.name not in faces
        for face in planned.face
    )
    if flue.figure_area and (sized or reshaped or planned.flue.height):
        flue = over.void(
            flue, planned.flue, ("figure_area",), "flue"
        )  # it was read for that opening and flue
    for name, face in faces.items():
        new = changed.get(name)
        if face.rise and new and new.arch and new.arch != face.arch:
            faces[name] = over.void(face, new, ("rise",), "face", name)
    values = {
        "fireplace": _merge(found.fireplace, planned.fireplace),
        "face": _merge_named(tuple(faces.values()), planned.face, Face),
        "firebox": _merge(firebox, planned.firebox),
        "flue": _merge(flue, planned.flue),
        "nearby": _merge_named(
            _nearby_left(over, found.nearby, {AT_WALL[side] for side in cut}, gone), planned.nearby, Nearby
        ),
        "use": _merge(found.use, planned.use),
        "air": _merge(found.air, planned.air),
        "site": _merge(found.site, planned.site),
        "fire": _merge(found.fire, planned.fire),
        "roof": _merge_named(found.roof, planned.roof, Roof),
        "planned": Planned(),
    }
    job = Job.model_construct(_fields_set=found.model_fields_set | set(values), **(found.__dict__ | values))
    return Stage("planned", _present(job), dict.fromkeys(over.voided, ()), {})


def _new_sides(found: Mapping[str, Face], planned: Iterable[PlannedFace]) -> list[str]:
    """The sides of the firebox that the work opens: all of them where a new face does not say its side."""
    open_before = {face.side for face in found.values()}
    sides: list[str] = []
    for face in planned:
        before = found.get(face.name)
        if face.remove or (before and (before.side is None or face.side is None)):
            continue
        if face.side is None:
            return list(WALLS)
        if face.side not in open_before:
            sides.append(face.side)
    return sides


def _nearby_left(
    over: _Overlay, things: Iterable[Nearby], walls: set[str], gone: set[str]
) -> tuple[Nearby, ...]:
    """Things nearby, without the distances that the work destroys."""
    changed = {thing.name: thing for thing in over.planned.nearby}
    left = []
    for thing in things:
        new = changed.get(thing.name)
        path = ("nearby", str(thing.name))
        if new and new.remove:
            left.append(thing)
            continue
        if thing.at in walls:
            thing = over.void(thing, new, DISTANCES, *path)
        if thing.face in gone:
            thing = over.void(thing, new, ("face", *FROM_OPENING), *path)
        if new and new.at:
            thing = _without(thing, ("face",))
        if new and new.face:
            thing = _without(thing, ("at",))
        left.append(thing)
    return tuple(left)


def _merge(found: T, planned: Table) -> T:
    """A found table with what is planned laid over it, key by key."""
    entered = planned.model_fields_set - {"remove"}
    if not entered:
        return found
    values = dict(found.__dict__)
    for key in entered:
        value = getattr(planned, key)
        values[key] = _merge(getattr(found, key), value) if isinstance(value, Table) else _intended(value)
    return _made(found, found.model_fields_set | entered, values)


def _merge_named(found: tuple[T, ...], planned: Sequence[Any], kind: type[T]) -> tuple[T, ...]:
    """A list of found things with planned ones laid over it by name."""
    by_name: dict[str, T] = {thing.name: thing for thing in found}  # type: ignore[attr-defined]
    for thing in planned:
        if thing.remove:
            by_name.pop(thing.name, None)
        else:
            blank_one = cast("T", kind.model_construct(_fields_set=set()))
            by_name[thing.name] = _merge(by_name.get(thing.name) or blank_one, thing)
    return tuple(by_name.values())


def _intended(value: Any) -> Any:
    """A value whose lengths are intentions, not measurements."""
    if isinstance(value, Amount):
        return replace(value, intended=True)
    if isinstance(value, Size):
        return replace(value, a=_intended(value.a), b=_intended(value.b))
    if isinstance(value, tuple):
        return tuple(_intended(item) for item in value)
    if isinstance(value, Table):
        return _with(value, {key: _intended(item) for key, item in value.__dict__.items()})
    return value


def _present(job: Job) -> Job:
    """The job without what is said of a face that it does not have."""
    faces = {None, *(face.name for face in job.face)}
    nearby = tuple(thing for thing in job.nearby if thing.face in faces)
    site = job.site if job.site.wind_on in faces else _without(job.site, ("wind_on",))
    return _with(job, {"nearby": nearby, "site": site})


# What the ranges tell


def unusual(job: Job) -> dict[str, str]:
    """Entries outside their usual range, by address, with what to say about them."""
    told = {}
    for address, spec, value in entries(job):
        amounts = (
            (value,) if isinstance(value, Amount) else (value.a, value.b) if isinstance(value, Size) else ()
        )
        if spec.usual is None:
            continue
        low, high = spec.usual
        for amount in amounts:
            if not low <= amount.value <= high:
                range_text = f"{spec.show(low, job.units)} to {spec.show(high, job.units)}"
                told[address] = (
                    f"{spec.show(amount.value, job.units)} is outside the usual {range_text}: is it right?"
                )
    return told


_TYPED = re.compile(r"""(.*?)\s*(in|inch|inches|"|″|mm)?""")


def slip_of_unit(spec: FieldSpec, text: str, unit: Unit) -> str | None:
    """The question to ask where inches and millimetres look mixed up, else None.

    text: as typed.  unit: of a bare number.  Asked where the length is unusual, and would be usual in the other unit.
    """
    match = _TYPED.fullmatch(text.strip())
    if spec.kind != "length" or spec.usual is None or match is None:
        return None
    number, typed = match.groups()
    mine: Unit = unit if typed is None else "mm" if typed == "mm" else "in"
    other: Unit = "in" if mine == "mm" else "mm"
    low, high = spec.usual
    if lengths.with_unit(number, mine) == number:
        return None
    try:
        here, there = lengths.parse(number, mine), lengths.parse(number, other)
    except EntryError:
        return None
    if low <= here <= high or not low <= there <= high:
        return None
    return f"{number} {mine}? Did you mean {number} {other}?"


# Changing a document


def blank(units: Unit = "in") -> Document:
    """The document of a new job: one face, nothing measured."""
    face = {"name": "room", "side": "front"}
    return {"format": FORMAT, "version": VERSION, "units": units, "face": [face]}


def set_entry(document: Mapping[str, Any], address: str, value: object | None) -> Document:
    """A new document with one entry changed, or taken out where the value is None; the old one is left as it is.

    address: of an entry, or of one thing of a list.  Tables and things on the way are made where they are missing;
    a table that is left empty goes, and so does a planned thing that says no more than the name of a found one.
    Layers go by their number from the top, and one beyond the last adds one at the end; an emptied layer keeps its
    place, but for the last, which goes.
    The name of a face, a thing nearby or a roof is changed wherever it is used.
    Raises EntryError where there is no such entry, or the new name is taken.
    """
    parts = parse_address(address)
    if _node(parts) is None:
        raise _no_entry(address)
    listed = parts[1:] if parts[0] == "planned" else parts
    if len(listed) == 3 and listed[0] in ("face", "nearby", "roof") and listed[2] == "name":
        return _renamed(document, listed[0], listed[1], value)
    changed = _set(dict(document), Job, parts, value)
    if value is None and parts[0] == "planned":
        _drop_idle(changed, listed[0])
    return changed


def _set(table: Mapping[str, Any], kind: type[Table], parts: Sequence[str], value: object | None) -> Document:
    key, *rest = parts
    node = fields_of(kind)[key]
    changed = dict(table)
    new: Any = value
    if rest and isinstance(node, Sub):
        old = table.get(key)
        if node.many:
            new = _set_in_list(old if isinstance(old, list | tuple) else [], node, rest, value)
        else:
            new = _set(old if isinstance(old, Mapping) else {}, node.table, rest, value)
        new = new or None
    changed[key] = new
    if new is None:
        del changed[key]
    return changed


def _set_in_list(things: Sequence[Any], sub: Sub, parts: Sequence[str], value: object | None) -> list[Any]:
    name, *rest = parts
    changed = list(things)
    called = names(things, sub.table)
    if name not in called:
        if value is None:
            return changed
        if not sub.named and not _beyond(name, len(called)):
            raise EntryError(
                "Not a number", f"{shown(name)} is not the number of a layer.", fix="Count them from the top."
            )
        called.append(name)
        changed.append({"name": name} if sub.named else {})
    place = called.index(name)
    old = changed[place]
    if rest:
        changed[place] = _set(old if isinstance(old, Mapping) else {}, sub.table, rest, value)
        if not sub.named and not changed[place] and place == len(changed) - 1:
            del changed[place]
    elif value is None:
        del changed[place]
    else:
        changed[place] = value
    return changed


def _beyond(name: str, count: int) -> bool:
    """Is this the number of a thing after so many."""
    return re.fullmatch("[1-9][0-9]{0,5}", name) is not None and int(name) > count


def _drop_idle(document: Document, key: str) -> None:
    """Take planned things that say only the name of a found one out of a document of one's own."""
    planned, found = document.get("planned"), document.get(key)
    if (
        key not in ("face", "nearby", "roof")
        or not isinstance(planned, Mapping)
        or not isinstance(found, list)
    ):
        return
    said = [thing for thing in found if isinstance(thing, Mapping)]
    idle = [{"name": thing["name"]} for thing in said if "name" in thing]
    kept = [thing for thing in planned.get(key, ()) if thing not in idle]
    rest = {**planned, key: kept} if kept else {name: part for name, part in planned.items() if name != key}
    document["planned"] = rest
    if not rest:
        del document["planned"]


def _renamed(document: Mapping[str, Any], key: str, old: str, value: object | None) -> Document:
    """A document in which a face, a thing or a roof has another name wherever it is named."""
    kind: type[Table] = fields_of(Job)[key].table  # type: ignore[union-attr]
    new = FIELDS[f"{key}.name"].read(value if value is not None else "", None)
    planned = document.get("planned")
    parts = [document, *([planned] if isinstance(planned, Mapping) else [])]
    lists = [part[key] if isinstance(part.get(key), list) else [] for part in parts]
    if new != old and any(new in names(things, kind) for things in lists):
        raise EntryError(
            "Taken", f"Another {key} is called {shown(new)}.", fix="Give each a name of its own."
        )
    if not any(old in names(things, kind) for things in lists):
        raise _no_entry(join_address((key, old)))

    def refer(part: Mapping[str, Any]) -> Document:
        changed = dict(part)
        if isinstance(part.get(key), list):
            called = names(part[key], kind)
            changed[key] = [
                {**thing, "name": new} if name == old and isinstance(thing, Mapping) else thing
                for thing, name in zip(part[key], called, strict=True)
            ]
        if key == "face" and isinstance(part.get("nearby"), list):
            changed["nearby"] = [
                {**thing, "face": new} if isinstance(thing, Mapping) and thing.get("face") == old else thing
                for thing in part["nearby"]
            ]
        site = part.get("site")
        if key == "face" and isinstance(site, Mapping) and site.get("wind_on") == old:
            changed["site"] = {**site, "wind_on": new}
        return changed

    changed = refer(document)
    if isinstance(planned, Mapping):
        changed["planned"] = refer(planned)
    return changed


def with_units(document: Mapping[str, Any], unit: Unit) -> Document:
    """A document whose bare numbers mean another unit from now on; its lengths stay, each with its old unit written out."""
    old = document.get("units", "in")
    written = _with_unit_written(document, Job, old) if old in ("in", "mm") else dict(document)
    return {**written, "units": unit}


def _with_unit_written(table: Mapping[str, Any], kind: type[Table], unit: Unit) -> Document:
    changed = dict(table)
    for key, node in fields_of(kind).items():
        value = table.get(key)
        if isinstance(node, Sub) and node.many and isinstance(value, list | tuple):
            changed[key] = [
                _with_unit_written(thing, node.table, unit) if isinstance(thing, Mapping) else thing
                for thing in value
            ]
        elif isinstance(node, Sub) and isinstance(value, Mapping):
            changed[key] = _with_unit_written(value, node.table, unit)
        elif isinstance(node, FieldSpec) and node.kind in ("length", "size") and value is not None:
            try:
                changed[key] = lengths.with_unit(bare(value, "a length"), unit)
            except EntryError:
                continue
    return changed


# The schema of the file


def job_schema() -> dict[str, Any]:
    """The job file as a JSON Schema, draft 2020-12."""
    definitions: dict[str, Any] = {}
    root = _schema_of(Job, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "hearthcalc job file",
        **root,
        "required": ["format", "version", "face"],
        "$defs": definitions,
    }


def _schema_of(table: type[Table], definitions: dict[str, Any]) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    for key, node in fields_of(table).items():
        if isinstance(node, FieldSpec):
            properties[key] = _entry_schema(node)
            continue
        if node.table.__name__ not in definitions:
            definitions[node.table.__name__] = {}
            definitions[node.table.__name__] = _schema_of(node.table, definitions)
        reference = {"$ref": f"#/$defs/{node.table.__name__}"}
        properties[key] = (
            {"type": "array", "description": _told(node.spec), "items": reference} if node.spec else reference
        )
    if table is Job:
        properties["face"] |= {"minItems": 1, "maxItems": MOST_FACES}
    needed = ["name"] if table in (Face, PlannedFace, PlannedNearby, PlannedRoof) else []
    schema = {
        "type": "object",
        "description": table.__doc__,
        "properties": properties,
        "additionalProperties": False,
    }
    return {**schema, "required": needed} if needed else schema


def _told(spec: FieldSpec) -> str:
    """What a person has to know of an entry, in one text."""
    text = f"{spec.label}. {spec.how}"
    if spec.kind == "length":
        text += ' A length as text, as in "7 1/2", "2 ft 6 in" or "190 mm", or a number in `units`.'
    if spec.hard and spec.usual:
        hard, usual = (
            " to ".join(spec.show(bound, "in") for bound in bounds) for bounds in (spec.hard, spec.usual)
        )
        text += f" Refused outside {hard}; usually {usual}."
    if spec.words:
        text += " " + "; ".join(f"{word}: {words}" for word, words in spec.words.items()) + "."
    return text


def _entry_schema(spec: FieldSpec) -> dict[str, Any]:
    schemas: dict[str, dict[str, Any]] = {
        "length": {"type": ["string", "number"]},
        "ratio": {"type": ["string", "number"]},
        "count": {"type": ["string", "integer"]},
        "choice": {"type": "string", "enum": list(spec.choices)},
        "bool": {"type": "boolean"},
        "date": {"type": "string", "format": "date"},
        "version": {"type": "integer", "const": VERSION},
        "list": {"type": "array", "items": {"type": "string"}},
    }
    schema = schemas.get(spec.kind, {"type": "string"})
    if spec.kind not in ("choice", "bool", "version", "list", "date") and spec.form not in ("prose", "notes"):
        schema = {**schema, "minLength": 1}
    return {"description": _told(spec), **schema}
