"""Plain mode: asks and answers in lines, for screen readers and terminals that can show nothing else. No escape sequences."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from io import TextIOWrapper
from pathlib import Path

from hearthcalc import caution
from hearthcalc.errors import HearthError
from hearthcalc.findings import Assessment, Verdict
from hearthcalc.job import join_address, parse_address
from hearthcalc.report import model, text
from hearthcalc_tui import storage
from hearthcalc_tui.field import MAX_TEXT
from hearthcalc_tui.safe import plain
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.sections.table import Section, every_section, place_of, sections
from hearthcalc_tui.session import (
    PATHS,
    RECOVERED,
    STAGES,
    WORDS,
    Session,
    as_found,
    as_planned,
    is_name,
    layer_number,
    open_session,
    path_for,
    stage_of,
    suggested_name,
    told,
    whole_list,
)

CHANGES_TOLD = 12
MOST_CHOICES = 15
HELP = (
    ("?", "how to measure what is asked"),
    ("an empty line", "leaves it as it is and goes on"),
    ("clear", "makes it not known"),
    ("back", "the question before"),
    ("undo, redo", "take back the last change, do it again"),
    ("found, planned", "turn between what is there and what the work will change"),
    ("missing", "ask only what a finding waits for; this is how it starts"),
    ("all", "ask every entry, also those that are filled"),
    ("sections", "the parts of the walk; go and a name asks every entry of one, as in: go firebox"),
    (
        "add, remove",
        "with face, item, roof or fan: adds one, or takes away the one that the question is about",
    ),
    (
        "add face like NAME",
        "a face that starts from the sizes of another; as found they then count as measured, so change what is not the same",
    ),
    ("units", "inches or millimeters"),
    ("sheet", "type what was written on a measuring sheet by its letters, in any order, as in: b 36 1/2"),
    ("findings", "what is found until now; explain: with its working"),
    ("save", "write the job to its file; save and a name: to that file"),
    ("quit", "end, with the findings"),
    ("=", "before an answer that would be taken for one of these words, as in: =back"),
)

Change = tuple[str, tuple[str, str, str, str]]


def run_plain(wanted: str) -> int:
    """Ask about a job in lines and tell what is found; returns the exit code of the verdict.

    wanted: a path, "demo", or "" for a new job. FileError where the file is none.
    """
    for stream in (sys.stdin, sys.stdout):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace" if stream is sys.stdin else "backslashreplace")
    session = open_session(wanted or _left())
    try:
        return Conversation(session).run()
    finally:
        session.file.release()


def _left() -> str:
    """Which unsaved work to go on with, where there is any; "" for a new job."""
    left = storage.drafts_left()
    if not left:
        return ""
    tell("Unsaved work is kept:")
    for number, draft in enumerate(left, 1):
        tell(f"{number}: {told(draft.document.get('about')) or 'no title'}")
    try:
        answer = hear("Answer its number to go on with it. An empty line starts a new job.")
    except EOFError:
        return ""
    chosen = int(answer) if answer.isdecimal() else 0
    return f"{RECOVERED}{left[chosen - 1].box}" if 1 <= chosen <= len(left) else ""


class Conversation:
    """Questions and answers about one job."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.stage = "found"
        self._walk: Callable[[], list[str]] = self._missing
        self._done: set[str] = set()
        self._asked: list[str] = []
        self._next = ""
        self._added = ""
        self._leaving = False
        self._judge()

    def run(self) -> int:
        """Ask until there is nothing left to ask, the person ends it, or the input does."""
        for line in (caution.LINE, *caution.FULL[2:4]):
            tell(line)
        tell(f"Job: {self.session.title}. Judged by {self.session.edition().title}.")
        tell("Type ? for how to measure what is asked, help for every command.")
        try:
            self._greet()
            while not self._leaving:
                self._ask()
        except EOFError:
            if self.session.unsaved and not self.session.file.elsewhere:
                tell("The input has ended. What is not saved is kept, and offered at the next start.")
        self._findings()
        return self.session.exit_code()

    def _greet(self) -> None:
        """Tell of another window, and offer a draft."""
        session = self.session
        if session.file.path:
            storage.Memory().opened(session.file.path)
        if session.file.elsewhere:
            tell("Another window has this job open. This one keeps no unsaved work: save it yourself.")
        if session.file.lost:
            tell(f"{plain(session.file.lost, 400)} Save it with a name.")
        left = session.draft_left()
        if left is None:
            return
        tell(
            "Unsaved work found. The program ended before it was saved. In the file, and in the unsaved work:"
        )
        for line in left.differs:
            tell(line)
        answer = hear(
            "Go on with the unsaved work? Answer yes. No goes on with the file; redo brings the unsaved work."
        )
        session.take_draft(left, at_once=answer.lower().startswith("y"))
        self._judge()

    # What is asked

    def _missing(self) -> list[str]:
        return self.session.wanting()

    def _all(self) -> list[str]:
        return list(self._addresses(None))

    def _addresses(self, only: str | None) -> Iterator[str]:
        """The address of every entry of the stage, or of the sections of one kind and thing, in the order of the walk."""
        session, stage = self.session, self.stage
        for section in sections(session.job(stage), {}, stage=stage):
            if only is not None and section.title != only:
                continue
            kind = section.kind.picks
            for name in session.things(kind, stage) if kind else ("",):
                of = next(s for s in every_section(session.job(stage), {kind: name}) if s.id == section.id)
                yield from (row.address for row in rows(session, of, stage) if row.key)

    def _ask(self) -> None:
        """One question and what is done with its answer."""
        address = self._next or next((a for a in self._walk() if a not in self._done), "")
        self._next = ""
        if not address:
            self._at_the_end()
            return
        row, section = self._row(address)
        self._done.add(address)
        if row is None or section is None:
            tell(f"{plain(address, 60)} is not asked here; it is in the file.")
            return
        if self._asked[-1:] != [address]:
            self._asked.append(address)
        for line in _question(row, section, stage_of(address)):
            tell(line)
        self._answer(row, hear())

    def _at_the_end(self) -> None:
        if self._walk != self._missing:
            tell("That was the last of them. Now what is still missing.")
            self._walk = self._missing
            return
        tell("Nothing else is missing but what you left out: missing asks it again, all asks everything.")
        tell("findings, save, quit, or help.")
        line = hear()
        if line and not self._command(line):
            tell("That is no command. Type help for every command.")

    def _row(self, address: str) -> tuple[Row | None, Section | None]:
        """What the screen would show of an entry."""
        stage = stage_of(address)
        for here in dict.fromkeys((stage, self.stage)):
            place = place_of(self.session.job(here), address)
            if place is not None:
                for row in rows(self.session, place[0], here):
                    if row.address == address:
                        return row, place[0]
        return None, None

    # What is answered

    def _answer(self, row: Row, line: str) -> None:
        if line == "?":
            tell(row.how or "There is nothing to say about it.")
            self._next = row.address
        elif line and (line.lower() in row.choices or not self._command(line, row)):
            self._enter(row, line.removeprefix("=").strip())

    def _enter(self, row: Row, typed: str) -> None:
        """Take an answer, and say what was understood or why it cannot be."""
        answer = typed
        if row.choices and typed not in row.choices:
            begun = [choice for choice in row.choices if choice.lower().startswith(typed.lower())]
            if len(begun) != 1:
                several = f"More than one answer begins like that: {', '.join(begun)}."
                tell(several if begun else f"{plain(typed, 60)} is none of the answers. {_choices(row)}")
                self._next = row.address
                return
            answer = begun[0]
        before = self._verdicts()
        self.session.type(row.address, answer)
        now = self._row(row.address)[0] or row
        if now.note is not None and now.note.kind == "mistake":
            self.session.take_back()
            tell(f"Not understood: {plain(now.note.text, 400)} Nothing was changed.")
            self._next = row.address
            return
        tell(f"Understood: {now.echo or _in_words(now) or plain(answer, 200)}.")
        if now.suggestion:
            if hear(f"Did you mean {now.suggestion}? Answer yes; an empty line keeps it.").lower() in (
                "y",
                "yes",
            ):
                self.session.type(row.address, now.suggestion)
                tell(f"Taken: {now.suggestion}.")
        elif now.note is not None:
            tell(plain(now.note.text, 400))
        self._keep(before)

    def _keep(self, before: dict[Change, Verdict]) -> None:
        """Into the record and the draft, and tell what has become of the verdicts."""
        renamed = self.session.keep()
        if renamed and renamed[0]:
            self._renamed(*renamed)
        self._draft()
        self._judge()
        self._tell_changes(before)

    def _renamed(self, old: str, new: str) -> None:
        """Go on where one was, under the new name."""
        self._added = new if self._added == old else self._added
        self._done = {
            join_address(new if part == old else part for part in parse_address(address))
            for address in self._done
        }
        self._asked.clear()

    def _draft(self) -> None:
        draft = self.session.draft()
        if draft is None:
            return
        try:
            draft.write()
        except HearthError as error:
            tell(f"Unsaved work is not kept. {error}")

    # What is judged

    def _judge(self) -> Assessment:
        """Rules and models of the record as it stands."""
        now, session = self.session.now, self.session
        session.hear(now, session.judge.with_models(now, session.assess()))
        return session.assess()

    def _verdicts(self) -> dict[Change, Verdict]:
        return {
            (stage, finding.key): finding.verdict
            for stage, result in self.session.assess().stages.items()
            for finding in result.findings
        }

    def _tell_changes(self, before: dict[Change, Verdict]) -> None:
        stages = self.session.assess().stages
        lines = [
            f"{finding.title}{f', {model.where(finding)}' if model.where(finding) else ''}"
            f"{f', {STAGES[stage]}' if len(stages) > 1 else ''}: {finding.verdict}"
            + (f", was {old}" if (old := before.get((stage, finding.key))) else ", new")
            for stage, result in stages.items()
            for finding in result.findings
            if before.get((stage, finding.key), Verdict.MEASURE) != finding.verdict
        ]
        for line in lines[:CHANGES_TOLD]:
            tell(plain(line, 300))
        if len(lines) > CHANGES_TOLD:
            tell(f"And {len(lines) - CHANGES_TOLD} more verdicts changed: findings tells them.")
        if not lines:
            tell("No verdict changed.")
            return
        for stage, result in stages.items():
            tell(f"Overall {STAGES[stage]}: {result.overall}.")

    def _findings(self, *, explain: bool = False) -> None:
        report = model.build(self._judge(), self.session.judge.readable(self.session.now), explain=explain)
        tell(text.write(report).rstrip())

    # Commands

    def _command(self, line: str, row: Row | None = None) -> bool:
        """Run a command; False where the line is none."""
        word, _, rest = line.partition(" ")
        word, rest = word.lower(), rest.strip()
        action = getattr(self, f"_do_{word}", None) if word.isalpha() else None
        if action is None or (rest and word not in ("go", "add", "remove", "save")):
            return False
        if row is not None:
            self._done.discard(row.address)
            self._next = row.address
        action(rest, row)
        return True

    def _do_help(self, rest: str, row: Row | None) -> None:
        for word, meaning in HELP:
            tell(f"{word}: {meaning}.")

    def _do_back(self, rest: str, row: Row | None) -> None:
        """The question before this one, which is then asked once more."""
        if row is not None:
            self._asked.pop()
        if not self._asked:
            tell("This is the first question.")
            return
        self._next = self._asked.pop()

    def _do_clear(self, rest: str, row: Row | None) -> None:
        if row is None or is_name(row.address):
            tell("There is nothing to clear.")
            return
        before = self._verdicts()
        self.session.type(row.address, "")
        self._next = ""
        self._done.add(row.address)
        tell("Not known.")
        self._keep(before)

    def _step(self, walk: Callable[[], str | None], done: str, nothing: str) -> None:
        before = self._verdicts()
        what = walk()
        if what is None:
            tell(nothing)
            return
        tell(f"{done}: {plain(what, 120)}.")
        self._keep(before)

    def _do_undo(self, rest: str, row: Row | None) -> None:
        self._step(self.session.undo, "Undone", "There is nothing to undo.")

    def _do_redo(self, rest: str, row: Row | None) -> None:
        self._step(self.session.redo, "Done again", "There is nothing to redo.")

    def _do_found(self, rest: str, row: Row | None) -> None:
        self._turn("found", row)

    def _do_planned(self, rest: str, row: Row | None) -> None:
        self._turn("planned", row)

    def _turn(self, stage: str, row: Row | None) -> None:
        """To the other stage, and to the same entry in it where it has one."""
        self.stage = stage
        tell("As found: what is there." if stage == "found" else "As planned: what the work will make of it.")
        if row is not None:
            bare = as_found(row.address)
            other = bare if stage == "found" else as_planned(bare)
            self._next = other if self._row(other)[0] else row.address

    def _do_missing(self, rest: str, row: Row | None) -> None:
        self._ask_by(self._missing)

    def _do_all(self, rest: str, row: Row | None) -> None:
        self._ask_by(self._all)

    def _ask_by(self, walk: Callable[[], list[str]]) -> None:
        self._walk, self._next = walk, ""
        self._done.clear()

    def _do_sections(self, rest: str, row: Row | None) -> None:
        tell(
            "; ".join(
                plain(section.title, 60)
                for section in sections(self.session.job(self.stage), {}, stage=self.stage)
            )
            + "."
        )

    def _do_go(self, rest: str, row: Row | None) -> None:
        titles = [section.title for section in sections(self.session.job(self.stage), {}, stage=self.stage)]
        title = next((t for t in titles if rest and t.lower().startswith(rest.lower())), None) or next(
            (t for t in titles if rest and rest.lower() in t.lower()), None
        )
        if title is None:
            tell("There is no section of that name.")
            self._do_sections("", None)
            return
        tell(f"{plain(title, 60)}, {STAGES[self.stage]}.")
        self._ask_by(lambda: list(self._addresses(title)))

    def _do_add(self, rest: str, row: Row | None) -> None:
        what, _, like = (part.strip() for part in rest.partition(" like "))
        kind = next((kind for kind, word in WORDS.items() if what.lower() == word), None)
        if kind is None:
            tell(f"Add what: {', '.join(WORDS.values())}?")
            return
        if like and (kind != "face" or like not in self.session.sizes_to_start_from(self.stage)):
            tell(f"There is no face {plain(like, 60)} with sizes to start from. Nothing was added.")
            return
        before = self._verdicts()
        try:
            name = self.session.add(kind, self.stage, like)
        except HearthError as error:
            tell(str(error))
            return
        sizes = f", with the sizes of {plain(like, 60)}" if like else ""
        tell(f"Added, {STAGES[self.stage]}: {name}{sizes}. Its entries:")
        self._added = name
        self._ask_by(lambda: [a for a in self._all() if _of(a, kind, self._added)])
        self._keep(before)

    def _do_remove(self, rest: str, row: Row | None) -> None:
        """Take away the thing that the question is about."""
        if row is not None and (number := layer_number(row.address)):
            self._remove_layer(row.address, number)
            return
        section = self._row(row.address)[1] if row is not None else None
        kind = section.kind.each or section.kind.picks if section is not None else ""
        if section is None or not kind or not section.thing or rest.lower() not in ("", WORDS[kind]):
            tell("There is nothing to remove here. go leads to a face, an item, a roof or a fan.")
            return
        before = self._verdicts()
        try:
            self.session.remove(kind, section.thing, self.stage)
        except HearthError as error:
            tell(str(error))
            return
        tell(f"Removed: {plain(section.thing, 60)}. undo brings it back.")
        self._next = ""
        self._keep(before)

    def _remove_layer(self, address: str, number: int) -> None:
        whole = whole_list(address)
        layers = self.session.layers(whole)
        if number > len(layers):
            tell("There is no such layer yet.")
            return
        before = self._verdicts()
        self.session.put_layers(whole, [*layers[: number - 1], *layers[number:]])
        tell(f"Removed: layer {number}. undo brings it back.")
        self._keep(before)

    def _do_units(self, rest: str, row: Row | None) -> None:
        before = self._verdicts()
        self.session.turn_units()
        tell(f"Lengths are now in {self.session.now.job.units}.")
        self._keep(before)

    def _do_sheet(self, rest: str, row: Row | None) -> None:
        """Lines of a measuring sheet until an empty one."""
        from hearthcalc.report import measuring

        job, going_on = self.session.now.job, self._next
        tell(
            f"For the paper that says Sheet {measuring.mark(job)}. A letter and a reading; an empty line ends it."
        )
        while line := hear():
            try:
                address, typed = measuring.read_back(job, line)
            except HearthError as error:
                tell(plain(str(error), 400))
                continue
            here = self._row(address)[0]
            if here is None:
                tell("That entry is made of several: go and its section asks each.")
                continue
            tell(f"{plain(here.full_label, 80)}.")
            self._enter(here, typed)
        self._next = going_on

    def _do_findings(self, rest: str, row: Row | None) -> None:
        self._findings()

    def _do_explain(self, rest: str, row: Row | None) -> None:
        self._findings(explain=True)

    def _do_save(self, rest: str, row: Row | None) -> None:
        session = self.session
        try:
            path = path_for(rest) if rest else session.file.path
        except HearthError as error:
            tell(plain(str(error), 400))
            return
        if path is None:
            tell(f"Save it as what? For example: save {suggested_name(session.now.job.about.title)}")
            return
        if not self._may_write(path):
            tell("Nothing was written.")
            return
        try:
            tell(plain(session.save(path), 400))
        except HearthError as error:
            tell(f"{error.what} {error.fix} Nothing that you typed is lost.")
            return
        storage.Memory().opened(path)

    def _may_write(self, path: Path) -> bool:
        told = self.session.file.in_the_way(path)[1]
        return not told or hear(f"{plain(told, 400)} Write over it? Answer yes or no.").lower() in (
            "y",
            "yes",
        )

    def _do_quit(self, rest: str, row: Row | None) -> None:
        if self.session.unsaved:
            line = hear(
                "Some changes are not saved. Answer save, save and a name, or quit to leave without them."
            )
            if line.lower().partition(" ")[0] == "save":
                self._do_save(line[4:].strip(), row)
                self._leaving = not self.session.unsaved
                return
            if line.lower() != "quit":
                tell("Not left.")
                return
            self.session.file.forget_draft()
        self._leaving = True


def _of(address: str, kind: str, name: str) -> bool:
    """Is an address one of a thing's."""
    parts = parse_address(as_found(address))
    at = PATHS[kind]
    return parts[: len(at)] == at and parts[len(at) : len(at) + 1] == (name,)


def _question(row: Row, section: Section, stage: str) -> Iterator[str]:
    """What is asked, where, in which unit, what is usual, and what stands there."""
    where = f"{section.thing}: " if section.kind.picks and section.thing else ""
    unit = {"in": ", in inches", "mm": ", in millimeters"}.get(row.unit, "")
    planned = ", as planned" if stage == "planned" else ""
    yield plain(f"{section.title}. {where}{row.full_label or row.label}{unit}{planned}?", 300)
    if row.choices:
        yield _choices(row)
    elif row.range:
        yield f"{row.range}."
    if row.text:
        yield f"It is: {plain(row.text, 200)}. An empty line keeps it."
    elif row.placeholder:
        yield f"As found: {plain(row.placeholder, 200)}. An empty line keeps it."


def _choices(row: Row) -> str:
    """What may be answered; of a long list only how to hear of it."""
    if len(row.choices) > MOST_CHOICES:
        return f"{len(row.choices)} answers, from {row.choices[0]} to {row.choices[-1]}. Type how one begins."
    return plain(f"Answers: {', '.join(row.choices)}.", 600)


def _in_words(row: Row) -> str:
    """A choice with its meaning, where it has one."""
    return plain(row.range.rstrip("."), 200) if row.choices and row.range.startswith(f"{row.text}:") else ""


def tell(line: str) -> None:
    """One line to read, at once."""
    print(line, flush=True)


def hear(question: str = "") -> str:
    """One line that was typed, without control characters. EOFError where no more come."""
    if question:
        tell(question)
    if sys.stdin.isatty():
        print("> ", end="", flush=True)
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return plain(line.strip(), MAX_TEXT).strip()
