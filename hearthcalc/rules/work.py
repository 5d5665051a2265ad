"""What a plan does to a fireplace as a mason sees it: what is cut, laid anew, relined, built up."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from msgspec import Struct

from hearthcalc.job import Job, entries, parse_address
from hearthcalc.reference import Edition
from hearthcalc.rules.case import Case
from hearthcalc.rules.doors import DOORS
from hearthcalc.rules.firebox import cut_faces

_LINER = ("flue.liner", "flue.lining", "flue.shape", "flue.diameter", "flue.inside", "flue.area")
_QUIET = (
    "face.hearth.",
    "face.opening_above_hearth",
    "face.looked.",
    "looked.",
    "nearby.",
    "site.",
    "use.",
    "structure.",
)


class Work(Struct, frozen=True):
    """What a plan does. changed: the kinds of entries that it changes, as face.width.  cut: faces that masonry is cut for.

    gone: faces that are closed.  doors: faces that get doors.  hearths: faces whose hearth is laid or changed.
    lintels: faces whose lintel is set or changed.  gas: are gas logs set.  raised: how much higher the flue gets, in.
    """

    changed: frozenset[str]
    cut: tuple[str, ...]
    gone: tuple[str, ...]
    doors: tuple[str, ...]
    hearths: tuple[str, ...]
    lintels: tuple[str, ...]
    gas: bool
    raised: Fraction

    def touches(self, *starts: str) -> bool:
        """Does it change an entry whose kind begins so."""
        return any(key.startswith(starts) for key in self.changed)

    @property
    def firebox(self) -> bool:
        """Are walls, floor or lining of the firebox laid anew."""
        return bool(self.cut or self.gone) or self.touches(
            "firebox.depth", "firebox.wall", "firebox.back_wall", "firebox.front_wall", "firebox.lining", "firebox.joint",
            "firebox.floor", "face.width", "face.height", "face.arch",
        )  # fmt: skip

    @property
    def floor(self) -> bool:
        """Is the floor of the firebox laid anew."""
        return bool(self.cut) or self.touches("firebox.depth", "firebox.floor", "face.width")

    @property
    def throat(self) -> bool:
        """Are throat and smoke chamber built anew."""
        return bool(self.cut) or self.touches("firebox.throat", "firebox.smoke_chamber")

    @property
    def damper(self) -> bool:
        """Is a damper fitted."""
        return self.throat or self.touches("firebox.damper")

    @property
    def liner(self) -> bool:
        """Is the flue relined."""
        return self.touches(*_LINER)

    @property
    def stack(self) -> bool:
        """Is the chimney built up, taken down or met by another roof."""
        return self.touches("flue.height", "roof.", "chimney.wall", "chimney.corbel")

    @property
    def top(self) -> bool:
        """Are the cap of the masonry, the cap of the flue or its screen made anew."""
        return self.liner or self.touches(
            "flue.height", "flue.cap", "flue.arrestor", "chimney.crown", "chimney.arrestor"
        )

    @property
    def fire(self) -> bool:
        """Does it change anything that the fire and its smoke depend on."""
        return bool(self.gone) or any(not key.startswith(_QUIET) for key in self.changed)


def work_of(job: Job, edition: Edition) -> Work:
    """What the plan of a job does to what was found. Raises KeyError where nothing is planned."""
    planned = job.stages()["planned"]
    before = {face.name: face for face in job.face}
    found = {a: value for a, _, value in entries(job) if not a.startswith("planned.")}
    changed = {
        address: spec.key
        for address, spec, value in entries(job)
        if address.startswith("planned.")
        and _bare(found.get(address.removeprefix("planned."))) != _bare(value)
    }
    parts = [parse_address(address)[1:] for address in changed]  # face, its name, hearth, ...
    faces = planned.job.face

    def of(table: str) -> tuple[str, ...]:
        named = {part[1] for part in parts if part[0] == "face" and part[2] == table}
        return tuple(face.name for face in faces if face.name in named or face.name not in before)

    cut = tuple(face.name for face in cut_faces(Case(planned, job, edition)))
    height = _bare(job.flue.height), _bare(planned.job.flue.height)
    return Work(
        changed=frozenset(changed.values()),
        cut=cut,
        gone=tuple(name for name in before if all(face.name != name for face in faces)),
        doors=tuple(
            face.name
            for face in faces
            if face.closure in DOORS
            and (face.name not in before or before[face.name].closure != face.closure)
        ),
        hearths=of("hearth"),
        lintels=tuple(dict.fromkeys((*cut, *of("lintel")))),
        gas=planned.job.air.gas_logs not in (None, "none") and "air.gas_logs" in changed.values(),
        raised=max(height[1] - height[0], Fraction(0)) if None not in height else Fraction(0),
    )


def _bare(value: Any) -> Any:
    """An entry without how it was typed."""
    return getattr(value, "value", value)
