"""One job in hand: the steps it went through, and what is being typed over the last of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from hearthcalc import files, jobfile, lengths
from hearthcalc.assess import Since
from hearthcalc.errors import FileError, HearthError, UsageError
from hearthcalc.findings import Assessment
from hearthcalc.job import (
    Job,
    Problem,
    blank,
    join_address,
    parse_address,
    set_entry,
    signing,
    spec_of,
    with_units,
)
from hearthcalc.reference import Edition
from hearthcalc_tui import storage
from hearthcalc_tui.entries import Document, meant, name_of
from hearthcalc_tui.safe import plain
from hearthcalc_tui.session import document as documents
from hearthcalc_tui.session import things as named
from hearthcalc_tui.session.document import WORDS, is_name
from hearthcalc_tui.session.file import DraftToKeep, JobFile, LeftDraft, saved_message
from hearthcalc_tui.session.judge import Judge
from hearthcalc_tui.session.snapshot import Snapshot

MOST_STEPS = 500  # that undo goes back
RECOVERED = "recovered:"  # before the name of a box, where a job is opened


def open_session(wanted: str) -> Session:
    """Open a job. wanted: a path, a demo, "recovered:" and a box, or "" for a new one. FileError where the file is none."""
    for folder in (storage.state_folder(), storage.state_folder() / "drafts", storage.settings_folder()):
        storage.sweep(folder)
    storage.sweep_locks()
    if not wanted:
        return Session(blank())
    if wanted.startswith(RECOVERED):
        return _recovered(wanted.removeprefix(RECOVERED))
    if demo := jobfile.demo_of(wanted):
        return Session(jobfile.document(jobfile.demo(demo), f"the demo {demo}"), demo=demo)
    path = storage.typed_path(wanted)
    storage.sweep(path.parent, path.name)
    data = storage.read(path)
    text = jobfile.text_of(data, str(path))
    jobfile.parse_text(text, str(path))
    return Session(jobfile.document(text, str(path)), path=path, original=text, mark=storage.mark(data))


def _recovered(box: str) -> Session:
    """Unsaved work by the name of its box: its file, where that can be opened, which then offers it; else as a job without a file."""
    draft = storage.DraftBox(None, box=box).find()
    if draft is None and storage.journals_left(box):
        return Session(blank(), box=box)
    if draft is None:
        raise FileError("No unsaved work", "What was left is not there any more.", fix="Start a new job.")
    lost = ""
    if draft.of:
        try:
            return open_session(draft.of)
        except HearthError as error:
            lost = f"The file of this work, {draft.of}, cannot be opened. {error.what}"
    session = Session(blank(), box=box, of=draft.of)
    session.start_with(draft.document)
    session.file.lost = lost
    return session


class Session:
    """Every change of the job is a snapshot; undo and redo walk along them. file: where it is kept; judge: what it is judged by."""

    def __init__(
        self,
        document: Document,
        *,
        path: Path | None = None,
        demo: str = "",
        original: str | None = None,
        mark: str = "",
        box: str = "",
        of: str = "",
    ) -> None:
        """As JobFile takes them. FileError where the local amendments cannot stand."""
        self.judge = Judge(path, amended=not demo)
        self.file = JobFile(document, path=path, demo=demo, original=original, mark=mark, box=box, of=of)
        self._history = [Snapshot(self.file.saved)]
        self._at = 0
        self._typed: tuple[str, str] | None = None
        self._turned: tuple[Document, Document] | None = None  # before and after the units were turned last
        self._preview: Snapshot | None = None

    # The record

    @property
    def last(self) -> Snapshot:
        """The record, without what is being typed."""
        return self._history[self._at]

    @property
    def now(self) -> Snapshot:
        """The record with what is being typed."""
        return self._preview or self.last

    @property
    def unsaved(self) -> bool:
        return self.now.document != self.file.saved

    @property
    def title(self) -> str:
        """What to call the job: its title, else its file."""
        title, path = self.now.job.about.title, self.file.path
        if title:
            return plain(title, 60)
        return plain(path.name, 60) if path else "the demo" if self.file.demo else "new job"

    # Typing

    def type(self, address: str, text: str) -> None:
        """Take what stands in a field while it is being typed; `keep` makes it a step."""
        if self._typed and self._typed[0] != address:
            self.keep()
        self._typed = (address, text)
        if not is_name(address):
            made = Snapshot(documents.entered(self.last.document, address, text), address)
            self._preview = made.beside(self.last)

    def keep(self) -> tuple[str, str] | None:
        """Make what was typed a step. Returns the old and the new name of a thing, ("", "") of no thing, None of no step."""
        typed, preview = self._typed, self._preview
        self.take_back()
        if typed is None:
            return None
        if is_name(typed[0]):
            return self._rename(*typed)
        if preview is None or preview.document == self.last.document:
            return None
        self._push(preview)
        return ("", "")

    def take_back(self) -> None:
        """Forget what is being typed; the record stays as it was."""
        self._typed = self._preview = None

    @property
    def taken(self) -> str:
        """What the bare entry that is being typed is taken as, with its unit; "" where it stands as typed."""
        if self._typed is None or is_name(self._typed[0]):
            return ""
        address, text = self._typed
        unit: lengths.Unit = self.last.job.units
        return meant(spec_of(address), text, unit)

    @property
    def typed_at(self) -> str:
        """The address of the entry that is being typed, "" for none."""
        return self._typed[0] if self._typed else ""

    def being_typed(self, address: str) -> bool:
        """Is this the entry that is being typed."""
        return self._typed is not None and self._typed[0] == address

    @contextmanager
    def trying(self, entries: Sequence[tuple[str, str]]) -> Iterator[None]:
        """Meanwhile the record reads as if these had been entered."""
        before = self._typed, self._preview
        self._typed, self._preview = None, Snapshot(documents.all_entered(self.last.document, entries))
        try:
            yield
        finally:
            self._typed, self._preview = before

    # Steps

    def _push(self, snapshot: Snapshot) -> None:
        del self._history[self._at + 1 :]
        self._history.append(snapshot)
        del self._history[: -MOST_STEPS - 1]
        self._at = len(self._history) - 1

    def take(self, entries: Sequence[tuple[str, str]]) -> None:
        """Enter several texts, by their addresses, as one step."""
        made = documents.all_entered(self.last.document, entries)
        first = entries[0][0] if entries else ""
        more = "" if len(entries) < 2 else f"{name_of(first)}, and {len(entries) - 1} more"
        self._push(Snapshot(made, first if not more else "", more))

    def undo(self) -> str | None:
        """Back by one step. Returns in words what changed, None where there is no step."""
        self.keep()
        if not self._at:
            return None
        words = _in_words(self.last)
        self._at -= 1
        return words

    def redo(self) -> str | None:
        """On by one step again."""
        if self._at + 1 >= len(self._history):
            return None
        self._at += 1
        return _in_words(self.last)

    def start_with(self, document: Document) -> None:
        """Go on with what was entered elsewhere, as one step."""
        self._push(Snapshot(document, words="what the quick check brought"))

    def add(self, kind: str, stage: str, like: str = "") -> str:
        """Add a thing, and return the name it was given. like: a face whose sizes it starts from. UsageError where no more fit."""
        document, name = named.added(self.last, kind, stage, like)
        sizes = f", with the sizes of {like}" if like else ""
        self._push(Snapshot(document, words=f"{WORDS[kind]} added: {name}{sizes}"))
        return name

    def sizes_to_start_from(self, stage: str) -> dict[str, list[str]]:
        """Which faces a new one could start from, each with the sizes that are known of it, in words."""
        sizes = {face: named.sizes_of(self.last, face, stage) for face in self.last.things("face", stage)}
        return {face: [f"{label}: {text}" for _, label, text in of] for face, of in sizes.items() if of}

    def remove(self, kind: str, name: str, stage: str) -> None:
        """Take a thing away; as planned, the work takes away what was found. UsageError for the last face."""
        self._push(
            Snapshot(named.removed(self.last, kind, name, stage), words=f"{WORDS[kind]} removed: {name}")
        )

    def sign(self, name: str, date: dt.date) -> None:
        """Freeze the sign-off of a person of the list as the job stands. UsageError, JobError where that cannot be."""
        signed = next(one for one in self.now.job.signed if one.name == name)
        if signed.role is None:
            raise UsageError("Nothing is signed for", "Say first what this person signs for.")
        values = self.edition().fingerprint
        document = signing.sign(self.last.document, name=name, role=signed.role, values=values, date=date)
        self._push(Snapshot(document, join_address(("signed", name, "date"))))

    def _rename(self, address: str, text: str) -> tuple[str, str] | None:
        """Give a thing another name, wherever it is named."""
        old, new = parse_address(address)[-2], text.strip()
        if new == old or self.name_mistake(address, text):
            return None
        self._push(Snapshot(set_entry(self.last.document, address, new), words=f"{old} renamed {new}"))
        return (old, new)

    def layers(self, whole: str) -> list[Any]:
        """The layers of a hearth as typed, from the top down. whole: the address of the list."""
        return documents.layers(self.last.document, whole)

    def put_layers(self, whole: str, layers: Sequence[Any]) -> None:
        """Enter all the layers of a hearth at once."""
        self._push(Snapshot(documents.with_layers(self.last.document, whole, layers), whole))

    def turn_units(self) -> None:
        """Inches to millimeters or back, each length exactly; what was not changed meanwhile then stands as it was typed."""
        now: Document = self.last.document
        other: lengths.Unit = "mm" if self.last.job.units == "in" else "in"
        made: Document = with_units(now, other, turned=True)
        if self._turned is not None and self._turned[0].get("units", "in") == other:
            made = documents.as_typed(now, made, *self._turned)
        self._turned = (now, made)
        self._push(Snapshot(made, words=f"{self.last.job.units} to {other}"))

    # What stands in the record now

    def job(self, stage: str) -> Job:
        """The job of a stage; as found, where nothing is planned."""
        return self.now.job_of(stage)

    def things(self, kind: str, stage: str) -> tuple[str, ...]:
        """The names of the faces, things nearby, roofs or fans of a stage."""
        return self.now.things(kind, stage)

    def entry(self, address: str) -> str:
        """What was entered at an address, as typed, also where it cannot be read."""
        if self._typed and self._typed[0] == address:
            return self._typed[1]
        return self.now.entry(address)

    def problem(self, address: str) -> Problem | None:
        """Why an entry, or a part of one that is a list, cannot be read."""
        return self.now.problem(address)

    def replaces(self, address: str) -> bool:
        """Is this a part of planned layers, which stand for all that were found."""
        return self.now.replaces(address)

    def name_mistake(self, address: str, text: str) -> str:
        """Why a thing cannot bear this name, "" where it can."""
        return named.name_mistake(self.now, address, text)

    # What is judged

    def edition(self) -> Edition:
        """What the job is judged by."""
        return self.judge.edition(self.now)

    def places(self) -> tuple[str, ...]:
        """The places of which amendments of the job's edition are kept here."""
        return self.judge.places(self.now.job)

    def assess(self) -> Assessment:
        """The findings of the record with what is being typed; those of the models once they have been heard."""
        return self.judge.assess(self.now)

    @property
    def modelled(self) -> bool:
        """Have the models been heard of the record as it stands."""
        return self.judge.modelled(self.now)

    def hear(self, snapshot: Snapshot, full: Assessment) -> bool:
        """Take what the models found of a snapshot, where the record and what it is judged by are still the same."""
        if self.now is not snapshot or full.edition_fingerprint != self.edition().fingerprint:
            return False
        self.judge.heard(snapshot, full)
        return True

    def mistakes(self) -> Mapping[str, str]:
        """Entries that cannot be read or stand in no table, by address, with why and what to do."""
        return self.judge.mistakes(self.now)

    def wanting(self) -> list[str]:
        """Addresses to go to: what cannot be read, then what findings wait for, in the order of the walk."""
        return self.judge.wanting(self.now)

    def since(self) -> Since | None:
        """What has become of the answers that the file keeps; None where it keeps none."""
        kept = self.file.judged
        return self.judge.since(Snapshot({**self.file.saved, "judged": kept})) if kept else None

    def exit_code(self) -> int:
        """The exit code of the verdict that decides, as on the command line."""
        from hearthcalc.cli import exit_code

        return exit_code(self.judge.with_models(self.now, self.assess()).deciding)

    # File and draft

    def save(self, path: Path) -> str:
        """Write the job, and return what to say about it. FileError where it cannot be; the job then stays as it is."""
        self.keep()
        now, before = self.last, self.file.path
        moved = before is None or not files.same_file(path, before)
        judge = Judge(path) if moved else self.judge  # by the amendments beside it from now on
        self.file.save(path, now.document, now.job, judge.kept_with(now.job))
        self.judge = judge
        return saved_message(path, now.problems)

    def draft(self, *, typing: bool = False) -> DraftToKeep | None:
        """What the draft has to hold now; None where another window keeps it. typing: with what is being typed."""
        document = (self.now if typing else self.last).document
        return self.file.draft(document, unsaved=document != self.file.saved)

    def draft_left(self) -> LeftDraft | None:
        """A draft from an earlier time that says something else than the file."""
        return self.file.draft_left(self.last.document)

    def take_draft(self, draft: LeftDraft, *, at_once: bool) -> None:
        """Go on with a draft, from which undo goes back to the file; or with the file, from which redo goes to the draft."""
        self._push(Snapshot(draft.document, words="the unsaved work"))
        if not at_once:
            self._at -= 1


def _in_words(step: Snapshot) -> str:
    """What a step changed, as a person would name it."""
    return step.words or name_of(step.what)
