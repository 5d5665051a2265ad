"""The open job: a list of frozen snapshots, what is being typed over the last of them, and where it is kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from hearthcalc import amendments, jobfile, lengths, reference
from hearthcalc.assess import assess, assess_models, problems
from hearthcalc.errors import EntryError, FileError, UsageError
from hearthcalc.findings import Assessment
from hearthcalc.job import (
    FIELDS,
    MOST_FACES,
    Amount,
    FieldSpec,
    Job,
    Problem,
    Size,
    Stage,
    blank,
    get,
    join_address,
    parse_address,
    read,
    set_entry,
    slip_of_unit,
    spec_of,
    unusual,
    with_units,
)
from hearthcalc.reference import Edition
from hearthcalc_tui import storage
from hearthcalc_tui.field import Note
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.table import Section, sections
from hearthcalc_tui.storage import DraftBox

Document = dict[str, Any]

PICK = "@"
NONE = "none"
ENDING = ".hearth.toml"
SIDES = ("front", "back", "left", "right")
PATHS = {"face": ("face",), "nearby": ("nearby",), "roof": ("roof",), "fans": ("air", "fans")}
WORDS = {"face": "face", "nearby": "thing", "roof": "roof", "fans": "fan"}
WHOLE_LISTS = ("fans",)  # planned, such a list would replace the found one whole
NAMES_A_FACE = ("nearby.face", "site.wind_on")
ALWAYS_SAYS = ("about.edition", "about.measured")
DIFFERENCES_SHOWN = 12


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
        self._history = [Snapshot(document)]
        self._at = 0
        self._saved = document
        self._typed: tuple[str, str] | None = None
        self._preview: Snapshot | None = None
        self._judged: tuple[Snapshot, Assessment] | None = None
        self._mistaken: tuple[Snapshot, dict[str, str]] | None = None
        self._changes = _amendments(path)
        self._editions: dict[str, Edition] = {}
        self._take_box()

    def _take_box(self) -> None:
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
        if not _is_name(address):
            value = _value(spec_of(address), text)
            self._preview = Snapshot(set_entry(self.last.document, address, value), address)

    def keep(self) -> tuple[str, str] | None:
        """Make what was typed a step. Returns the old and the new name of a thing, ("", "") of no thing, None of no step."""
        typed, preview = self._typed, self._preview
        self._typed = self._preview = None
        if typed is None:
            return None
        if _is_name(typed[0]):
            return self._rename(*typed)
        if preview is None or preview.document == self.last.document:
            return None
        self._push(preview)
        return ("", "")

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
        held: Any = self._job(stage)
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
            sides = {face.side for face in self._job(stage).face}
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
        wanted = (snapshot or self.now).job.about.edition
        if wanted not in self._editions:
            name = wanted if wanted in reference.edition_ids() else reference.DEFAULT_EDITION
            self._editions[wanted] = amendments.amend(reference.load(name), self._changes)
        return self._editions[wanted]

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

    def _job(self, stage: str) -> Job:
        stages = self.now.stages
        return (stages.get(stage) or stages["found"]).job

    def wanting(self) -> list[str]:
        """Addresses to go to: what cannot be read, then what findings wait for, in the order of the walk."""
        missing = [measure.address for stage in self.assess().stages.values() for measure in stage.measure]
        return list(dict.fromkeys([*self.mistakes(), *missing]))

    # What the desk shows

    def sections(self, stage: str, picked: Mapping[str, str]) -> tuple[Section, ...]:
        return sections(self._job(stage), picked)

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
                if join_address(bare) in s.addresses or (whole and whole == s.kind.picks)
            ),
            None,
        )
        return (
            None
            if section is None
            else (section, {kind: name for kind, name in picked.items() if kind != "face"})
        )

    def filled(self, section: Section, stage: str, mistakes: Mapping[str, str]) -> tuple[int, bool]:
        """How many of a section's entries say something, and whether one of them cannot be read."""
        job = self._job(stage)
        known = sum(get(job, address) is not None for address in section.addresses)
        targets = [_target(section, address, stage) for address in section.addresses]
        return known, any(target in mistakes for target in targets)

    def rows(self, section: Section, stage: str, mistakes: Mapping[str, str]) -> tuple[Row, ...]:
        """The fields of a section as they stand."""
        kind = section.kind
        rows: list[Row] = []
        if kind.picks:
            here = self.things(kind.picks, stage)
            if not here:
                return (self._none_of(kind.picks),)
            rows.append(
                Row(
                    PICK + kind.picks,
                    "",
                    f"Which {WORDS[kind.picks]}",
                    text=section.thing,
                    choices=here,
                    optional=False,
                    understood=f"{here.index(section.thing) + 1} of {len(here)}. Left and Right choose another.",
                    range="F7 adds one, F8 removes this one.",
                )
            )
        stages = self.now.stages
        voided = stages["planned"].voided if stage == "planned" and "planned" in stages else frozenset()
        for (key, label), address in zip(kind.fields, section.addresses, strict=True):
            target = _target(section, address, stage)
            rows.append(self._row(key, label, address, target, mistakes, address in voided, stage))
        return tuple(rows)

    def _none_of(self, kind: str) -> Row:
        """Where a list is empty: a field that says so or, where it makes a difference, whether that is known."""
        address = join_address(PATHS[kind])
        spec = FIELDS[address]
        if kind not in WHOLE_LISTS:
            nothing = f"no {WORDS[kind]} yet"
            return Row(
                PICK + kind, "", f"Which {WORDS[kind]}", text=nothing, choices=(nothing,), optional=False,
                understood="F7 adds one.", full_label=spec.label, how=spec.how,
            )  # fmt: skip
        text = _text(get(self.now.job, address))
        return Row(
            address, address, "Are there any", text=text, choices=(NONE,), full_label=spec.label, how=spec.how,
            understood="None, and that is known." if text else "Not known yet. F7 adds one; Right says there is none.",
        )  # fmt: skip

    def _row(
        self,
        key: str,
        label: str,
        address: str,
        target: str,
        mistakes: Mapping[str, str],
        voided: bool,
        stage: str,
    ) -> Row:
        spec = FIELDS[key]
        unit: lengths.Unit = self.now.job.units
        measure = spec.kind in ("length", "size")
        text = self._entry(target)
        if self._typed and self._typed[0] == target:
            text = self._typed[1]
        found = self._entry(address) if target != address and not voided else ""
        echo = _echo(spec, get(self.now.job, target), text, unit)
        question = slip_of_unit(spec, text, unit)
        note: Note | None = None
        if _is_name(address):
            mistake = self.name_mistake(target, text) if self._typed and self._typed[0] == target else ""
            note = Note("mistake", mistake) if mistake else None
        elif target in mistakes:
            note = Note("mistake", mistakes[target])
        elif question:
            note = Note("question", f"{question} F5 takes it.")
        elif target in self.now.unusual:
            note = Note("question", self.now.unusual[target])
        choices = self._choices(spec, stage)
        if choices:
            understood = "  ".join(f"[{choice}]" if choice == text else choice for choice in choices)
        elif text:
            understood = f"{text} {GLYPHS.arrow} {echo}" if echo and echo != text else text
        elif found:
            understood = f"As found: {found}"
        elif voided:
            understood = "The cut destroys what was found here: plan it anew."
        else:
            understood = "Not known yet."
        told = f"{text}: {spec.words[text]}" if text in spec.words else _usual(spec, unit)
        return Row(
            target,
            key,
            label,
            text=text,
            unit=unit if measure else "",
            choices=choices,
            optional=key not in ALWAYS_SAYS,
            placeholder=found,
            echo=echo if measure else "",
            note=note,
            understood=understood,
            range=told,
            full_label=spec.label,
            how=spec.how,
            suggestion=question.rpartition("Did you mean ")[2].rstrip("?") if question else "",
        )

    def _entry(self, address: str) -> str:
        """What was entered at an address, as typed, also where it cannot be read."""
        problem = self.now.problems.get(address)
        if problem is None:
            return _text(get(self.now.job, address))
        here: Any = self.now.document
        for step in problem.path:
            here = here[step]
        return _text(here)

    def _choices(self, spec: FieldSpec, stage: str) -> tuple[str, ...]:
        if spec.kind == "bool":
            return ("yes", "no")
        if spec.key in NAMES_A_FACE:
            return self.things("face", stage)
        if spec.key == "about.edition":
            return tuple(reference.edition_ids())
        return spec.choices if spec.kind == "choice" else ()

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
        text = jobfile.render(now.job, original)
        if len(text.encode("utf-8")) > storage.MAX_BYTES:
            raise FileError(
                "Not saved", "The job would be larger than 1 MiB.", where=str(path), fix="Shorten the notes."
            )
        self._mark = storage.write(path, text)
        moved = self.path is None or not storage.same_file(path, self.path)
        self._original, self._saved = text, now.document
        self._box.drop()
        if moved:
            self.release()
            self.path, self.demo = path, False
            self._take_box()
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

    def draft(self) -> tuple[DraftBox | None, Document, str, bool]:
        """What the draft has to hold now: where, the document, the mark of the file it grew from, and whether it is needed."""
        return (None if self.elsewhere else self._box, self.last.document, self._mark, self.unsaved)

    def draft_left(self) -> LeftDraft | None:
        """A draft from an earlier time that says something else than the file."""
        draft = self._box.find()
        if draft is None or self.elsewhere:
            return None
        differs = tuple(_differences(self.last.document, draft.document))
        if not differs:
            self._box.drop()
            return None
        return LeftDraft(draft.document, differs, file_changed=draft.base != self._mark)

    def take_draft(self, draft: LeftDraft) -> None:
        """Go on with a draft; undo goes back to the file."""
        self._push(Snapshot(draft.document))

    def forget(self) -> None:
        """Drop the draft."""
        if not self.elsewhere:
            self._box.drop()

    def release(self) -> None:
        """Let another window have this job."""
        self._box.release()


def _amendments(path: Path | None) -> tuple[amendments.Change, ...]:
    """The local amendments that bear on a job. FileError where they cannot stand."""
    files = amendments.files_for(path, storage.settings_folder())
    changes = tuple(change for file in files for change in amendments.read(file))
    for name in {change.edition for change in changes}:
        try:
            amendments.amend(reference.load(name), changes)
        except EntryError as error:
            raise FileError(error.title, error.what, where=error.where, fix=error.fix) from error
    return changes


def _is_name(address: str) -> bool:
    return address.endswith(".name")


def _address(kind: str, name: str, *, planned: bool = False) -> str:
    return join_address((*(("planned",) if planned else ()), *PATHS[kind], name))


def _target(section: Section, address: str, stage: str) -> str:
    """Where an entry of a section is written: over what was found, where the work changes it. A name is one for both."""
    if stage == "found" or not section.kind.planned:
        return address
    return f"planned.{address}"


def _value(spec: FieldSpec, text: str) -> object | None:
    """What the document holds for a text; None for nothing."""
    typed = text.strip()
    if not typed:
        return None
    if spec.kind == "bool":
        return {"yes": True, "no": False}.get(typed, typed)
    if spec.kind == "list":
        if typed == NONE:
            return []
        parts = [
            part.strip() for part in typed.split(";" if spec.key.endswith("layers") else ",") if part.strip()
        ]
        return [_layer(part) for part in parts] if spec.key.endswith("layers") else parts
    return text if spec.form == "notes" else typed


def _layer(text: str) -> Document:
    """One layer of a hearth as typed: its material, then its thickness."""
    material, _, thickness = text.partition(" ")
    return {"material": material, **({"thickness": thickness.strip()} if thickness.strip() else {})}


def _text(value: object) -> str:
    """An entry as a person types it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Amount | Size):
        return value.text
    if isinstance(value, list | tuple):
        if not value:
            return NONE
        tables = any(isinstance(item, Mapping) for item in value)
        return ("; " if tables else ", ").join(_text(item) for item in value)
    if isinstance(value, Mapping):
        return " ".join(_text(item) for item in value.values())
    return plain(value)


def _echo(spec: FieldSpec, value: object, text: str, unit: lengths.Unit) -> str:
    """What was understood of an entry, "" where nothing was."""
    if value is None or not text:
        return ""
    if spec.kind == "length":
        try:
            return lengths.echo(text, unit)
        except EntryError:
            return ""
    if isinstance(value, Size):
        return f"{lengths.show(value.a.value, unit)} x {lengths.show(value.b.value, unit)}"
    if isinstance(value, Amount):
        return spec.show(value.value, unit)
    return _text(value)


def _usual(spec: FieldSpec, unit: lengths.Unit) -> str:
    if spec.usual is None:
        return ""
    low, high = (spec.show(bound, unit) for bound in spec.usual)
    return f"Usual: {low} to {high}"


def _differences(one: Document, other: Document) -> Iterator[str]:
    """What differs between two documents, one line an entry."""
    before, after = dict(_leaves(one)), dict(_leaves(other))
    changed = [key for key in dict.fromkeys([*before, *after]) if before.get(key) != after.get(key)]
    for key in changed[:DIFFERENCES_SHOWN]:
        yield f"{plain(key, 60)}: {plain(before.get(key, 'nothing'), 30)} {GLYPHS.arrow} {plain(after.get(key, 'nothing'), 30)}"
    if len(changed) > DIFFERENCES_SHOWN:
        yield f"and {len(changed) - DIFFERENCES_SHOWN} more"


def _leaves(value: object, path: Sequence[str] = ()) -> Iterator[tuple[str, str]]:
    """Every entry of a document with its place."""
    if isinstance(value, Mapping):
        for key, held in value.items():
            yield from _leaves(held, (*path, str(key)))
    elif isinstance(value, list | tuple) and any(isinstance(item, Mapping) for item in value):
        for number, item in enumerate(value, 1):
            name = item.get("name", number) if isinstance(item, Mapping) else number
            yield from _leaves(item, (*path, str(name)))
    else:
        yield ".".join(path), _text(value)
