"""The record of a job: what was found, and what is planned over it."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Set
from typing import Annotated, Any, Literal, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc.entry import Amount, FieldSpec, Size
from hearthcalc.findings import Step
from hearthcalc.lengths import Unit
from hearthcalc.tables import (
    FACES,
    NEARBY,
    PHOTOS,
    ROOFS,
    SIGNED,
    About,
    Air,
    Asked,
    Chimney,
    Face,
    Fire,
    Firebox,
    Fireplace,
    Flue,
    Judged,
    Looked,
    Nearby,
    Photo,
    Planned,
    Roof,
    Signed,
    Site,
    Structure,
    Table,
    Use,
    choice,
)  # fmt: skip

FORMAT = "hearthcalc-job"
VERSION = 1


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
            {"in": "inches", "mm": "millimeters"},
        ),
    ] = "in"
    about: About = About()
    asked: Asked = Asked()
    fireplace: Fireplace = Fireplace()
    face: Annotated[tuple[Face, ...], FACES] = ()
    firebox: Firebox = Firebox()
    flue: Flue = Flue()
    nearby: Annotated[tuple[Nearby, ...], NEARBY] = ()
    looked: Looked = Looked()
    use: Use = Use()
    air: Air = Air()
    site: Site = Site()
    fire: Fire = Fire()
    roof: Annotated[tuple[Roof, ...], ROOFS] = ()
    chimney: Chimney = Chimney()
    structure: Structure = Structure()
    photo: Annotated[tuple[Photo, ...], PHOTOS] = ()
    planned: Planned = Planned()
    signed: Annotated[tuple[Signed, ...], SIGNED] = ()
    judged: Judged = Judged()

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Job":
        """The job that a document says. Raises JobError with the mistakes in it."""
        from hearthcalc.job.reading import from_document  # it makes such records

        return from_document(document)

    @property
    def fingerprint(self) -> str:
        """Changes when any entry of the job does, but for what it was last judged by and who signed it."""
        entered = {key: value for key, value in self.document().items() if key not in ("judged", "signed")}
        text = json.dumps(entered, sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()

    def stages(self) -> Mapping[str, "Stage"]:
        """The job as found and, where anything is planned, as planned."""
        from hearthcalc.job.planning import stages  # it makes such records

        return stages(self)


def says(table: Table) -> bool:
    """Is anything entered in a table, be it that it is not known."""
    values = (getattr(table, key) for key in table.entered)
    return any(says(value) if isinstance(value, Table) else value != () for value in values)


class Voided(Struct, frozen=True):
    """A found entry that the plan takes the ground from.

    why: the planned entries that do.  ask: what would tell it, "" for itself.  known: it had been found.
    """

    why: tuple[str, ...]
    ask: str = ""
    known: bool = True


class Stage(Struct, frozen=True):
    """The job at one time: "found" or "planned".

    voided: found entries that the plan takes the ground from, by address.  moved: those it gives another value, with the working.
    """

    name: str
    job: Job
    voided: Mapping[str, Voided]
    moved: Mapping[str, Step]


T = TypeVar("T", bound=Table)


def with_values(table: T, values: dict[str, Any]) -> T:
    """A table with some values changed; a name that was not entered still counts as not entered."""
    held = table.__dict__
    if all(held.get(key) is value for key, value in values.items()):
        return table
    return type(table)(table.entered, held | values)


def without(table: T, keys: Iterable[str]) -> T:
    """A table in which some keys are not known."""
    gone = set(keys)
    if not gone:
        return table
    kept = {key: value for key, value in table.__dict__.items() if key not in gone}
    return made(table, table.entered - gone, kept)


def made(like: T, entered: Set[str], values: dict[str, Any]) -> T:
    """A table of the same kind, of values that have been read already; the very same where it holds nothing else."""
    if entered == like.entered and all(like.__dict__.get(key) is values[key] for key in values):
        return like
    return type(like)(entered, values)


def intended(value: Any) -> Any:
    """A value whose lengths are intentions, not measurements."""
    if isinstance(value, Amount):
        return replace(value, intended=True)
    if isinstance(value, Size):
        return replace(value, a=intended(value.a), b=intended(value.b))
    if isinstance(value, tuple):
        return tuple(intended(item) for item in value)
    if isinstance(value, Table):
        blank = type(value).blank
        entered = {key: intended(item) for key, item in value.__dict__.items() if item is not blank.get(key)}
        return with_values(value, entered)
    return value


def present(job: Job) -> Job:
    """The job without what is said of a face that it does not have."""
    faces = {None, *(face.name for face in job.face)}
    nearby = job.nearby
    if not all(thing.face in faces for thing in nearby):
        nearby = tuple(thing for thing in nearby if thing.face in faces)
    site = job.site if job.site.wind_on in faces else without(job.site, ("wind_on",))
    return with_values(job, {"nearby": nearby, "site": site})
