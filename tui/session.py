"""The open job: a list of frozen snapshots, what is being typed over the last of them, and where it is kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from hearthcalc import amendments, jobfile, lengths, reference
from hearthcalc.assess import Since, assess, assess_models, problems, readable, since_judged, verdict_lines
from hearthcalc.errors import EntryError, FileError, UsageError
from hearthcalc.findings import Assessment
from hearthcalc.job import (
    MOST_FACES,
    Job,
    Problem,
    Stage,
    blank,
    get,
    join_address,
    parse_address,
    read,
    set_entry,
    spec_of,
    typed,
    unusual,
    with_units,
)
from hearthcalc.reference import Edition
from hearthcalc_tui import storage
from hearthcalc_tui.entries import Document, differences, text_of, value_of
from hearthcalc_tui.safe import plain
from hearthcalc_tui.sections.table import Section, sections
from hearthcalc_tui.storage import DraftBox

ENDING = ".hearth.toml"
SIDES = ("front", "back", "left", "right")
PATHS = {"face": ("face",), "nearby": ("nearby",), "roof": ("roof",), "fans": ("air", "fans")}
WORDS = {"face": "face", "nearby": "thing", "roof": "roof", "fans": "fan"}
PLANNED = "planned."
LAYERS = ".hearth.layers"
WHOLE_LISTS = ("fans",)  # planned, such a list would replace the found one whole


@dataclass(frozen=True)
class Snapshot:
    """The job at one moment. document: as typed, never changed once it is here.  what: the entry that made it."""

    document: Document
    what: str = ""

    @cached_property
    def _read(self) -> tuple[Job, dict[str, Problem]]:
        return read(self.document)

    @property
    def job(self) -> Job:
        """What of it can be read."""
        return self._read[0]

    @property
    def problems(self) -> Mapping[str, Problem]:
        """What cannot, by address."""
        return self._read[1]

    @cached_property
    def stages(self) -> Mapping[str, Stage]:
        """The job as found, and as planned where anything is."""
        return self.job.stages()

    @cached_property
    def unusual(self) -> Mapping[str, str]:
        """What is outside its usual range, by address."""
        return unusual(self.job)


@dataclass(frozen=True, slots=True)
class LeftDraft:
    """A draft that says something else than the file. differs: what, one line each."""

    document: Document
    differs: tuple[str, ...]
    file_changed: bool


def open_session(wanted: str) -> Session:
    """Open a job. wanted: a path, "demo", or "" for a new one. FileError where the file is none."""
    if not wanted:
        return Session(blank())
    if wanted == "demo":
        text = jobfile.text_of((reference.shipped() / "demo.hearth.toml").read_bytes(), "the demo")
        return Session(jobfile.document(text, "the demo"), demo=True)
    path = Path(wanted).expanduser()
    data = storage.read(path)
    text = jobfile.text_of(data, str(path))
    jobfile.parse_text(text, str(path))
    return Session(jobfile.document(text, str(path)), path=path, original=text, mark=storage.mark(data))


class Session:
    """One job in hand. Every change is a snapshot; undo and redo walk along them."""

    def __init__(
        self,
        document: Document,
        *,
        path: Path | None = None,
        demo: bool = False,
        original: str | None = None,
        mark: str = "",
    ) -> None:
        """document: as the file holds it.  original: the file's text.  mark: what tells its contents from others."""
        self.path = path
        self.demo = demo
        self._original = original
        self._mark = mark
        # Apart from the record: it is written anew with each save, and is no change of the job.
        self._kept = document.get("judged") or {}
        document = {key: value for key, value in document.items() if key != "judged"}
        self._history = [Snapshot(document)]
        self._at = 0
        self._saved = document
        self._typed: tuple[str, str] | None = None
        self._preview: Snapshot | None = None
        self._judged: tuple[Snapshot, Assessment] | None = None
        self._mistaken: tuple[Snapshot, dict[str, str]] | None = None
        self._changes, self._materials = _amendments(path)
        self._editions: dict[str, Edition] = {}
        self.claim()

    def claim(self) -> None:
        """Take the draft of this job for this window; elsewhere tells whether another one has it."""
        self._box = DraftBox(self.path, kind="demo" if self.demo else "new")
        self.elsewhere = not self._box.claim()

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
        return self.now.document != self._saved

    @property
    def title(self) -> str:
        """What to call the job: its title, else its file."""
        title = self.now.job.about.title
        if title:
            return plain(title, 60)
        return plain(self.path.name, 60) if self.path else "the demo" if self.demo else "new job"

    def type(self, address: str, text: str) -> None:
        """Take what stands in a field while it is being typed; `keep` makes it a step."""
        if self._typed and self._typed[0] != address:
            self.keep()
        self._typed = (address, text)
        if not is_name(address):
            self._preview = Snapshot(_entered(self.last.document, address, text), address)

    def keep(self) -> tuple[str, str] | None:
        """Make what was typed a step. Returns the old and the new name of a thing, ("", "") of no thing, None of no step."""
        typed, preview = self._typed, self._preview
        self._typed = self._preview = None
        if typed is None:
            return None
        if is_name(typed[0]):
            return self._rename(*typed)
        if preview is None or preview.document == self.last.document:
            return None
        self._push(preview)
        return ("", "")

    def take(self, entries: Sequence[tuple[str, str]]) -> None:
        """Enter several texts, by their addresses, as one step."""
        self._push(self._with(entries))

    @contextmanager
    def trying(self, entries: Sequence[tuple[str, str]]) -> Iterator[None]:
        """Meanwhile the record reads as if these had been entered."""
        before = self._typed, self._preview
        self._typed, self._preview = None, self._with(entries)
        try:
            yield
        finally:
            self._typed, self._preview = before

    def _with(self, entries: Sequence[tuple[str, str]]) -> Snapshot:
        document = self.last.document
        for address, text in entries:
            document = _entered(document, address, text)
        return Snapshot(document)

    def take_back(self) -> None:
        """Forget what is being typed; the record stays as it was."""
        self._typed = self._preview = None

    def _push(self, snapshot: Snapshot) -> None:
        del self._history[self._at + 1 :]
        self._history.append(snapshot)
        self._at += 1

    def undo(self) -> str | None:
        """Back by one step. Returns the address of what changed, "" for more than one entry, None where there is no step."""
        self.keep()
        if not self._at:
            return None
        what = self.last.what
        self._at -= 1
        return what

    def redo(self) -> str | None:
        """On by one step again."""
        if self._at + 1 >= len(self._history):
            return None
        self._at += 1
        return self.last.what

    # Things that have a name

    def things(self, kind: str, stage: str) -> tuple[str, ...]:
        """The names of the faces, things nearby, roofs or fans of a stage."""
        held: Any = self.job(stage)
        for part in PATHS[kind]:
            held = getattr(held, part)
        return tuple(thing.name for thing in held or ())

    def add(self, kind: str, stage: str) -> str:
        """Add a thing, and return the name it was given. UsageError where no more fit."""
        planned = stage == "planned" and kind not in WHOLE_LISTS
        taken = {*self.things(kind, "found"), *self.things(kind, "planned")}
        base, side = WORDS[kind], ""
        if kind == "face":
            if len(taken) >= MOST_FACES:
                raise UsageError(
                    "No more faces", f"A fireplace has at most {MOST_FACES} faces.", fix="Remove one first."
                )
            sides = {face.side for face in self.job(stage).face}
            side = next((side for side in SIDES if side not in sides), "")
            base = side or base
        name = next(n for n in (base, *(f"{base} {number}" for number in range(2, 10_000))) if n not in taken)
        address = _address(kind, name, planned=planned)
        self._push(
            Snapshot(
                set_entry(self.last.document, address, {"name": name, **({"side": side} if side else {})})
            )
        )
        return name

    def remove(self, kind: str, name: str, stage: str) -> None:
        """Take a thing away; as planned, the work takes away what was found. UsageError for the last face."""
        if kind == "face" and len(self.things(kind, stage)) == 1:
            raise UsageError(
                "The last face", "A fireplace has at least one face.", fix="Add the other one first."
            )
        planned = _address(kind, name, planned=True)
        document = self.last.document
        if get(self.last.job, planned) is not None:
            document = set_entry(document, planned, None)
        if stage == "found" or kind in WHOLE_LISTS:
            document = set_entry(document, _address(kind, name), None)
        elif name in self.things(kind, "found"):
            document = set_entry(document, f"{planned}.remove", True)
        self._push(Snapshot(document))

    # The layers of a hearth

    def layers(self, whole: str) -> list[Any]:
        """The layers of a hearth as typed, from the top down; as planned those found, where none are planned.

        whole: the address of the list.
        """
        return _layers(self.last.document, whole)

    def put_layers(self, whole: str, layers: Sequence[Any]) -> None:
        """Enter all the layers of a hearth at once."""
        value: list[Any] | None = list(layers)
        if not layers and not (
            whole.startswith(PLANNED) and _layers(self.last.document, whole.removeprefix(PLANNED))
        ):
            value = None  # planned, an empty list says that those found go
        self._push(Snapshot(set_entry(self.last.document, whole, value), whole))

    def replaces(self, address: str) -> bool:
        """Is this a part of planned layers, which stand for all that were found."""
        whole = whole_list(address)
        return whole.startswith(PLANNED) and typed(self.now.document, whole) is not None

    def _rename(self, address: str, text: str) -> tuple[str, str] | None:
        """Give a thing another name, wherever it is named."""
        old, new = parse_address(address)[-2], text.strip()
        if new == old or self.name_mistake(address, text):
            return None
        document = set_entry(self.last.document, address, new)
        self._push(Snapshot(document))
        return (old, new)

    def name_mistake(self, address: str, text: str) -> str:
        """Why a thing cannot bear this name, "" where it can."""
        parts = parse_address(address)
        kind = parts[-3]
        if not text.strip():
            return "Each has a name. Type one; until then it keeps the old."
        others = {*self.things(kind, "found"), *self.things(kind, "planned")} - {parts[-2]}
        return (
            "Another has this name. Type another; until then it keeps the old."
            if text.strip() in others
            else ""
        )

    def turn_units(self) -> None:
        """Inches to millimetres or back; bare numbers get the unit that they were typed in."""
        other: lengths.Unit = "mm" if self.last.job.units == "in" else "in"
        self._push(Snapshot(with_units(self.last.document, other)))

    # What is judged

    def assess(self) -> Assessment:
        """The findings of the record with what is being typed; those of the models once `take_models` has brought them."""
        now = self.now
        if self._judged is None or self._judged[0] is not now:
            self._judged = (now, assess(now.job, self.edition(), self._unread(now)))
        return self._judged[1]

    def with_models(self, snapshot: Snapshot, rules: Assessment) -> Assessment:
        """The findings of a snapshot with those of the models. Slow, and may run beside the screen."""
        return assess_models(snapshot.job, self.edition(snapshot), rules, self._unread(snapshot))

    def take_models(self, snapshot: Snapshot, full: Assessment) -> bool:
        """Take what the models found, where the record is still the same."""
        if self.now is not snapshot:
            return False
        self._judged = (snapshot, full)
        return True

    @staticmethod
    def _unread(snapshot: Snapshot) -> dict[str, str]:
        return {address: f"{problem.what} {problem.fix}" for address, problem in snapshot.problems.items()}

    def edition(self, snapshot: Snapshot | None = None) -> Edition:
        """What the job is judged by, with local amendments; the usual edition where it names none that is here."""
        return self._edition((snapshot or self.now).job.about.edition)

    def _edition(self, wanted: str) -> Edition:
        if wanted not in self._editions:
            name = wanted if wanted in reference.edition_ids() else reference.DEFAULT_EDITION
            amended = amendments.amend(reference.load(name), self._changes)
            self._editions[wanted] = amendments.with_materials(amended, self._materials)
        return self._editions[wanted]

    def read_amendments(self) -> None:
        """Read the local amendments anew, and judge by them. FileError where they cannot stand; the old ones then stay."""
        self._changes, self._materials = _amendments(self.path)
        self._editions.clear()
        self._judged = self._mistaken = None

    def judged_by(self, edition: str = "") -> Assessment:
        """The record judged whole, models too, by another edition than its own where one is named. Slow."""
        now = self.now
        by, unread = self._edition(edition) if edition else self.edition(now), self._unread(now)
        return assess_models(now.job, by, assess(now.job, by, unread), unread)

    def since(self) -> Since | None:
        """What has become of the answers since the job was saved, with its entries as saved; None where none were kept."""
        saved = Snapshot({**self._saved, "judged": self._kept})
        edition = self.edition(saved)
        return since_judged(saved.job, assess(saved.job, edition, self._unread(saved)))

    def readable(self) -> Job:
        """The record as it is judged: what cannot be read is not known in it."""
        now = self.now
        return readable(now.job, self.edition(now), self._unread(now))

    def unread(self) -> dict[str, str]:
        """What cannot be read, by address, with why and what to do."""
        return self._unread(self.now)

    def using(self, address: str, stage: str) -> set[tuple[str, str, str, str]]:
        """Which findings use an entry: those that would be others if it were not known, or that wait for it."""
        if is_name(address):
            return set()
        bare = address.removeprefix("planned.")
        both = (bare, f"planned.{bare}")
        document = self.now.document
        for at in both:
            with suppress(EntryError):  # not everything can be planned
                document = set_entry(document, at, None)
        without = Snapshot(document)
        edition, unread = self.edition(without), self._unread(without)
        stages = assess_models(without.job, edition, assess(without.job, edition, unread), unread).stages
        after = {finding.key: finding for finding in stages[stage].findings} if stage in stages else {}
        now = self.assess().stages
        return {
            finding.key
            for finding in (now.get(stage) or now["found"]).findings
            if not set(both).isdisjoint(finding.missing) or after.get(finding.key) != finding
        }

    def mistakes(self) -> dict[str, str]:
        """Entries that cannot be read or stand in no table, by address, with why and what to do."""
        now = self.now
        if self._mistaken is None or self._mistaken[0] is not now:
            self._mistaken = (now, {**self._unread(now), **problems(now.job, self.edition())})
        return self._mistaken[1]

    def exit_code(self) -> int:
        """The exit code of the verdict that decides, as on the command line."""
        from hearthcalc.cli import exit_code

        return exit_code(self.with_models(self.now, self.assess()).deciding)

    def job(self, stage: str) -> Job:
        """The job of a stage; as found, where nothing is planned."""
        stages = self.now.stages
        return (stages.get(stage) or stages["found"]).job

    def wanting(self) -> list[str]:
        """Addresses to go to: what cannot be read, then what findings wait for, in the order of the walk."""
        missing = [
            f"{measure.address}.1.material" if measure.address.endswith(LAYERS) else measure.address
            for stage in self.assess().stages.values()
            for measure in stage.measure
        ]
        return list(dict.fromkeys([*self.mistakes(), *missing]))

    # What the desk shows

    def sections(self, stage: str, picked: Mapping[str, str]) -> tuple[Section, ...]:
        return sections(self.job(stage), picked)

    def place(self, address: str, stage: str) -> tuple[Section, dict[str, str]] | None:
        """The section that has the field of an address, and what has to be picked there."""
        parts = parse_address(address)
        bare = parts[1:] if parts[0] == "planned" else parts
        picked = {
            kind: bare[len(at)] for kind, at in PATHS.items() if bare[: len(at)] == at and len(bare) > len(at)
        }
        whole = next((kind for kind, at in PATHS.items() if bare == at), "")
        section = next(
            (
                s
                for s in self.sections(stage, picked)
                if s.holds(join_address(bare)) or (whole and whole == s.kind.picks)
            ),
            None,
        )
        return (
            None
            if section is None
            else (section, {kind: name for kind, name in picked.items() if kind != "face"})
        )

    def entry(self, address: str) -> str:
        """What was entered at an address, as typed, also where it cannot be read."""
        if self._typed and self._typed[0] == address:
            return self._typed[1]
        problem = self.problem(address)
        if problem is None:
            return text_of(get(self.now.job, address))
        here: Any = self.now.document
        for step in problem.path[: problem.path.index(parse_address(address)[-1]) + 1]:
            here = here[step]
        return text_of(here)

    def problem(self, address: str) -> Problem | None:
        """Why an entry, or a part of one that is a list, cannot be read."""
        problems = self.now.problems
        inside = (held for at, held in problems.items() if at.startswith(f"{address}."))
        return problems.get(address) or next(inside, None)

    def being_typed(self, address: str) -> bool:
        """Is this the entry that is being typed."""
        return self._typed is not None and self._typed[0] == address

    # Files and drafts

    def suggested_name(self) -> str:
        """A file name from the job's title."""
        words = "".join(
            sign if sign.isalnum() else " " for sign in self.now.job.about.title or "fireplace"
        ).split()
        return "-".join(words[:6]).lower()[:60] + ENDING

    def path_for(self, answer: str) -> Path:
        """The path that a person means by a name: with the usual ending where it has none."""
        path = Path(answer).expanduser()
        return path if path.suffix else path.with_name(path.name + ENDING)

    def changed_on_disk(self) -> bool:
        """Has the file changed since it was read or written here."""
        return (
            self.path is not None
            and self._mark != ""
            and storage.mark_on_disk(self.path) not in ("", self._mark)
        )

    def save(self, path: Path) -> str:
        """Write the job, and return what to say about it. FileError where it cannot be; the job then stays as it is."""
        self.keep()
        now = self.last
        original = self._original if not self.demo else None
        judged = self._as_judged(now.job)
        text = jobfile.render({**now.job.document(), "judged": judged}, original)
        if len(text.encode("utf-8")) > storage.MAX_BYTES:
            raise FileError(
                "Not saved", "The job would be larger than 1 MiB.", where=str(path), fix="Shorten the notes."
            )
        storage.back_up(path)
        self._mark = storage.write(path, text)
        moved = self.path is None or not storage.same_file(path, self.path)
        self._original, self._saved, self._kept = text, now.document, judged
        self._box.drop()
        if moved:
            self.release()
            self.path, self.demo = path, False
            self.claim()
        left_out = sorted(now.problems)
        told = f"Saved: {path}"
        if left_out:
            count = (
                "1 entry that cannot be read is"
                if len(left_out) == 1
                else f"{len(left_out)} entries that cannot be read are"
            )
            told += f". {count} not in the file: {', '.join(left_out)}"
        return told

    def _as_judged(self, job: Job) -> Document:
        """What a job is judged by now and what comes out, for its file to keep."""
        assessment = assess(job, self._edition(job.about.edition))
        return {
            "edition": assessment.edition_id,
            "fingerprint": assessment.edition_fingerprint,
            "verdicts": verdict_lines(assessment),
        }

    def draft(self) -> tuple[DraftBox | None, Document, str, bool]:
        """What the draft has to hold now: where, the document, the mark of the file it grew from, and whether it is needed."""
        return (None if self.elsewhere else self._box, self.last.document, self._mark, self.unsaved)

    def draft_left(self) -> LeftDraft | None:
        """A draft from an earlier time that says something else than the file."""
        draft = self._box.find()
        if draft is None or self.elsewhere:
            return None
        differs = tuple(differences(self.last.document, draft.document))
        if not differs:
            self._box.drop()
            return None
        return LeftDraft(draft.document, differs, file_changed=draft.base != self._mark)

    def take_draft(self, draft: LeftDraft, *, at_once: bool) -> None:
        """Go on with a draft, from which undo goes back to the file; or with the file, from which redo goes to the draft."""
        self._push(Snapshot(draft.document))
        if not at_once:
            self._at -= 1

    def forget(self) -> None:
        """Drop the draft."""
        if not self.elsewhere:
            self._box.drop()

    def release(self) -> None:
        """Let another window have this job."""
        self._box.release()


def _amendments(path: Path | None) -> tuple[tuple[amendments.Change, ...], tuple[Mapping[str, str], ...]]:
    """The local amendments and the user's own materials that bear on a job. FileError where they cannot stand."""
    files = amendments.files_for(path, storage.settings_folder())
    changes = tuple(change for file in files for change in amendments.read(file))
    for name in {change.edition for change in changes}:
        try:
            amendments.amend(reference.load(name), changes)
        except EntryError as error:
            raise FileError(error.title, error.what, where=error.where, fix=error.fix) from error
    return changes, tuple(row for file in files for row in amendments.read_materials(file))


def _entered(document: Document, address: str, text: str) -> Document:
    """A document with one entry changed. Planned layers replace the found ones whole: the first planned one takes those over."""
    value, whole = value_of(spec_of(address), text), whole_list(address)
    if not whole.startswith(PLANNED):
        return set_entry(document, address, value)
    found = _layers(document, whole.removeprefix(PLANNED))
    if typed(document, whole) is None and value is None:
        return document
    if typed(document, whole) is None and found:
        document = set_entry(document, whole, found)
    document = set_entry(document, address, value)
    return set_entry(document, whole, []) if found and typed(document, whole) is None else document


def _layers(document: Document, whole: str) -> list[Any]:
    own = typed(document, whole)
    own = typed(document, whole.removeprefix(PLANNED)) if own is None else own
    return list(own) if isinstance(own, list | tuple) else []


def whole_list(address: str) -> str:
    """The address of the layers that an entry is a part of, "" where it is none."""
    if f"{LAYERS}." not in address:
        return ""
    parts = parse_address(address)
    return join_address(parts[:-2]) if parts[-4:-2] == ("hearth", "layers") else ""


def layer_number(address: str) -> int:
    """Which layer an entry is of, from the top; 0 where it is of none."""
    return int(parse_address(address)[-2]) if whole_list(address) else 0


def is_name(address: str) -> bool:
    """Is this the name of a thing, which is one for both stages and changes wherever it is used."""
    return address.endswith(".name")


def _address(kind: str, name: str, *, planned: bool = False) -> str:
    return join_address((*(("planned",) if planned else ()), *PATHS[kind], name))
