"""Where the person is: which job, stage and section, and in each list which thing. Knows no widget."""

from __future__ import annotations

from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.sections.table import Section, place_of, sections
from hearthcalc_tui.session import Session, address_of, stage_of

LISTS = ("nearby", "roof", "fans", "photo", "signed")
START = ("about", "")


class Place:
    """The one thing that every concern shares. session: the open job; stage: "found" or "planned"."""

    def __init__(self, session: Session) -> None:
        self.open(session)

    def open(self, session: Session) -> None:
        """Go to the beginning of a job."""
        self.session = session
        self.stage = "found"
        self._at = START
        self._picked: dict[str, str] = {}
        self.lay_out()

    def lay_out(self) -> None:
        """Find the sections of the job as it stands, and for each list a thing that is there."""
        for kind in LISTS:
            names = self.session.things(kind, self.stage)
            if self._picked.get(kind) not in names:
                self._picked[kind] = names[0] if names else ""
        waited = [measure.address for measure in self.session.assess().stages[self.judged_stage].measure]
        self.sections: tuple[Section, ...] = sections(
            self.session.job(self.stage), self._picked, waited, self.stage
        )
        self._at = self.section.id

    @property
    def section(self) -> Section:
        """The section shown; the first where the one shown before is gone."""
        return next((s for s in self.sections if s.id == self._at), self.sections[0])

    @property
    def number(self) -> int:
        """Which of the sections is shown."""
        return self.sections.index(self.section)

    def rows(self) -> tuple[Row, ...]:
        """What the fields of the section show."""
        return rows(self.session, self.section, self.stage)

    @property
    def judged_stage(self) -> str:
        """The stage whose findings are shown: as found, where nothing is planned."""
        return self.stage if self.stage in self.session.assess().stages else "found"

    # Moving

    def turn_to(self, section: Section) -> None:
        """To a section; to the first where that has gone meanwhile."""
        self._at = section.id

    def turn_stage(self) -> None:
        """To the other stage."""
        self.stage = "planned" if self.stage == "found" else "found"

    def go_to(self, address: str) -> bool:
        """To the section of an entry, in its stage. False where it has no field."""
        self.stage = stage_of(address)
        return self._find(address, self.stage)

    def _find(self, address: str, stage: str) -> bool:
        found = place_of(self.session.job(stage), address)
        if found is None:
            return False
        section, picked = found
        self._at = section.id
        self._picked.update(picked)
        return True

    def to_name_of(self, kind: str, name: str) -> str:
        """To the section where a face or a thing is named, in the stage in hand; returns the address of its name."""
        address = f"{address_of(kind, name)}.name"
        self._find(address, self.stage)
        return address

    def pick(self, kind: str, name: str) -> None:
        """To one thing of a list."""
        self._picked[kind] = name

    def renamed(self, old: str, new: str) -> None:
        """A thing has another name: stay with it."""
        self._at = (self._at[0], new if self._at[1] == old else self._at[1])
        self._picked = {kind: new if name == old else name for kind, name in self._picked.items()}
