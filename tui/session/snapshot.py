"""The job at one moment, and all that is read in it; a snapshot never changes."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any, Self

from msgspec import Struct

from hearthcalc.job import Job, Problem, Stage, get, parse_address, read, typed, unusual
from hearthcalc_tui.entries import NONE, Document, text_of
from hearthcalc_tui.session.document import PATHS, PLANNED, whole_list


class Snapshot(Struct, frozen=True, dict=True):
    """The job at one moment. document: as typed, never changed once it is here.

    what: the entry that made it.  words: what made it, where that is more than one entry or none.
    """

    document: Document
    what: str = ""
    words: str = ""

    def beside(self, other: Snapshot) -> Self:
        """The same, read quicker: what both documents share is read once. other: what this one was made from."""
        if "_read" in other.__dict__ and not other.problems:
            self.__dict__["_like"] = (other.document, other.job)
        return self

    @cached_property
    def _read(self) -> tuple[Job, dict[str, Problem]]:
        return read(self.document, self.__dict__.pop("_like", None))

    @property
    def job(self) -> Job:
        """What of it can be read."""
        return self._read[0]

    @property
    def problems(self) -> Mapping[str, Problem]:
        """What cannot, by address."""
        return self._read[1]

    @cached_property
    def unread(self) -> Mapping[str, str]:
        """What cannot be read, by address, with why and what to do."""
        return {address: f"{problem.what} {problem.fix}" for address, problem in self.problems.items()}

    @cached_property
    def stages(self) -> Mapping[str, Stage]:
        """The job as found, and as planned where anything is."""
        return self.job.stages()

    @cached_property
    def unusual(self) -> Mapping[str, str]:
        """What is outside its usual range, by address."""
        return unusual(self.job)

    def job_of(self, stage: str) -> Job:
        """The job of a stage; as found, where nothing is planned."""
        return (self.stages.get(stage) or self.stages["found"]).job

    def things(self, kind: str, stage: str) -> tuple[str, ...]:
        """The names of the faces, things nearby, roofs or fans of a stage."""
        held: Any = self.job_of(stage)
        for part in PATHS[kind]:
            held = getattr(held, part)
        return tuple(thing.name for thing in held or ())

    def entry(self, address: str) -> str:
        """What was entered at an address, as typed, also where it cannot be read."""
        problem = self.problem(address)
        if problem is None:
            value = get(self.job, address)
            return NONE if value == "" else text_of(value)
        here: Any = self.document
        for step in problem.path[: problem.path.index(parse_address(address)[-1]) + 1]:
            here = here[step]
        return text_of(here)

    def problem(self, address: str) -> Problem | None:
        """Why an entry, or a part of one that is a list, cannot be read."""
        inside = (held for at, held in self.problems.items() if at.startswith(f"{address}."))
        return self.problems.get(address) or next(inside, None)

    def replaces(self, address: str) -> bool:
        """Is this a part of planned layers, which stand for all that were found."""
        whole = whole_list(address)
        return whole.startswith(PLANNED) and typed(self.document, whole) is not None
