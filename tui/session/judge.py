"""What a job is judged by, and what comes of it: a snapshot in, findings out. Keeps the last answers, and nothing of the job."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from hearthcalc import amendments, reference
from hearthcalc import assess as engine
from hearthcalc.assess import Since, assess, assess_models, problems, readable, since_judged, verdict_lines
from hearthcalc.errors import EntryError, FileError
from hearthcalc.findings import Assessment
from hearthcalc.job import Job, set_entry
from hearthcalc.reference import Edition, OwnMaterial
from hearthcalc_tui import storage
from hearthcalc_tui.entries import Document
from hearthcalc_tui.session.document import LAYERS, as_found, as_planned, is_name
from hearthcalc_tui.session.snapshot import Snapshot


class Judge:
    """The editions with the local amendments, and the last judgement by them."""

    def __init__(self, job_file: Path | None, *, amended: bool = True) -> None:
        """job_file: beside it local amendments may lie.  amended: False for a demo, which uses none.  FileError where they cannot stand."""
        self._changes, self._materials = _amendments(job_file) if amended else ((), ())
        self._editions: dict[tuple[str, str], Edition] = {}
        self._keeping: engine.Judge | None = None
        self._judged: tuple[Snapshot, Assessment] | None = None
        self._modelled: Snapshot | None = None
        self._mistaken: tuple[Snapshot, Mapping[str, str]] | None = None

    def read_amendments(self, job_file: Path | None) -> None:
        """Read the local amendments anew. FileError where they cannot stand; the old ones then stay."""
        self._changes, self._materials = _amendments(job_file)
        self._editions.clear()
        self._keeping = None
        self._judged = self._mistaken = self._modelled = None

    def edition(self, snapshot: Snapshot) -> Edition:
        """What a job is judged by, with local amendments; the usual edition where it names none that is here."""
        return self._edition(snapshot.job)

    def places(self, job: Job) -> tuple[str, ...]:
        """The places of which amendments of the job's edition are kept."""
        return amendments.places(self._changes, job.about.edition)

    def _edition(self, job: Job, other: str = "") -> Edition:
        """What a job is judged by, or another edition with the amendments of the same place."""
        wanted = (other or job.about.edition, job.about.amendments or "")
        if wanted not in self._editions:
            name = wanted[0] if wanted[0] in reference.edition_ids() else reference.DEFAULT_EDITION
            amended = amendments.amend(reference.load(name), self._changes, wanted[1])
            self._editions[wanted] = amendments.with_materials(amended, self._materials)
        return self._editions[wanted]

    def assess(self, snapshot: Snapshot) -> Assessment:
        """The findings of the rules; those of the models too, once `heard` has brought them."""
        if self._judged is None or self._judged[0] is not snapshot:
            edition = self.edition(snapshot)
            if self._keeping is None or self._keeping.edition is not edition:
                self._keeping = engine.Judge(edition)
            self._judged = (snapshot, self._keeping.assess(snapshot.job, snapshot.unread))
        return self._judged[1]

    def with_models(self, snapshot: Snapshot, rules: Assessment) -> Assessment:
        """The findings of the rules with those of the models. Slow, and may run beside the screen."""
        return assess_models(snapshot.job, self.edition(snapshot), rules, snapshot.unread)

    def heard(self, snapshot: Snapshot, full: Assessment) -> None:
        """Take what the models found of a snapshot for its findings."""
        self._judged = (snapshot, full)
        self._modelled = snapshot

    def modelled(self, snapshot: Snapshot) -> bool:
        """Have the models been heard of a snapshot, by the values that judge it now."""
        return self._modelled is snapshot

    def judged_by(self, snapshot: Snapshot, edition: str = "") -> Assessment:
        """A job judged whole, models too, by another edition than its own where one is named. Slow."""
        by, unread = self._edition(snapshot.job, edition), snapshot.unread
        return assess_models(snapshot.job, by, assess(snapshot.job, by, unread), unread)

    def since(self, saved: Snapshot) -> Since | None:
        """What has become of the answers since a job was saved, with its entries as saved; None where none were kept."""
        return since_judged(saved.job, self.edition(saved), saved.unread)

    def readable(self, snapshot: Snapshot) -> Job:
        """The record as it is judged: what cannot be read is not known in it."""
        return readable(snapshot.job, self.edition(snapshot), snapshot.unread)

    def mistakes(self, snapshot: Snapshot) -> Mapping[str, str]:
        """Entries that cannot be read or stand in no table, by address, with why and what to do."""
        if self._mistaken is None or self._mistaken[0] is not snapshot:
            all_of_them = {**snapshot.unread, **problems(snapshot.job, self.edition(snapshot))}
            self._mistaken = (snapshot, all_of_them)
        return self._mistaken[1]

    def wanting(self, snapshot: Snapshot) -> list[str]:
        """Addresses to go to: what cannot be read, then what the overall waits for and what else does, in the order of the walk."""
        stages = self.assess(snapshot).stages.values()
        holds_up = {address for s in stages for f in s.findings if f.counts for address in f.missing}
        missing = [
            f"{measure.address}.1.material" if measure.address.endswith(LAYERS) else measure.address
            for first in (True, False)
            for stage in stages
            for measure in stage.measure
            if (measure.address in holds_up) is first
        ]
        return list(dict.fromkeys([*self.mistakes(snapshot), *missing]))

    def using(self, snapshot: Snapshot, address: str, stage: str) -> set[tuple[str, str, str, str]]:
        """Which findings use an entry: those that would be others if it were not known, or that wait for it."""
        if is_name(address):
            return set()
        both = (as_found(address), as_planned(address))
        document = snapshot.document
        for at in both:
            with suppress(EntryError):  # not everything can be planned
                document = set_entry(document, at, None)
        stages = self.judged_by(Snapshot(document)).stages
        without = {finding.key: finding for finding in stages[stage].findings} if stage in stages else {}
        now = self.assess(snapshot).stages
        return {
            finding.key
            for finding in (now.get(stage) or now["found"]).findings
            if not set(both).isdisjoint(finding.missing) or without.get(finding.key) != finding
        }

    def kept_with(self, job: Job) -> Document:
        """What a job is judged by now and what comes out, for its file to keep."""
        assessment = assess(job, self._edition(job))
        return {
            "edition": assessment.edition_id,
            "fingerprint": assessment.edition_fingerprint,
            "verdicts": verdict_lines(assessment),
        }


def _amendments(job_file: Path | None) -> tuple[tuple[amendments.Change, ...], tuple[OwnMaterial, ...]]:
    """The local amendments and the user's own materials that bear on a job. FileError where they cannot stand."""
    files = amendments.files_for(job_file, storage.settings_folder())
    changes = tuple(change for file in files for change in amendments.read(file))
    try:
        amendments.check(changes)
    except EntryError as error:
        raise FileError(error.title, error.what, where=error.where, fix=error.fix) from error
    return changes, tuple(row for file in files for row in amendments.read_materials(file))
