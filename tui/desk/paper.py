"""The job on paper: looked through, written to a file, and found again."""

from __future__ import annotations

import asyncio
import datetime as dt
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from hearthcalc import files
from hearthcalc.errors import HearthError
from hearthcalc_tui import storage
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.entries import name_of
from hearthcalc_tui.safe import plain
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.path import PathPage
from hearthcalc_tui.session import ENDING, Session, as_found, suggested_name
from hearthcalc_tui.session.snapshot import Snapshot
from hearthcalc_tui.storage import Memory

if TYPE_CHECKING:
    from hearthcalc.report.contents import Choice
    from hearthcalc.report.model import Report
    from hearthcalc.report.paper import PaperName

WIDTH = 66  # cells of a line of the report as it is looked through
LINES = 56  # of a page of it
SWEPT = "swept"
WANTED = {
    "all": "The whole report",
    "short": "Short: the first page, what is not met and what is still to be measured",
    "homeowner": "For the homeowner",
    "permit": "For a permit",
    "inspection": "For an inspection",
    "site-list": "The site list alone",
    "take-off": "What to buy, alone",
}


class Paper(Struct, frozen=True):
    """Asks what is wanted, shows it, writes it, and says where it lies."""

    surface: Surface
    place: Place
    sheet: Sheet
    entering: Entering
    memory: Memory

    def do_report(self) -> None:
        self.entering.keep()
        self.surface.start(self._report())

    async def _report(self) -> None:
        session = self.place.session
        if session.mistakes():
            self.surface.say(
                "Some entries cannot be read, so a report would not tell of them. F3 goes to them.", bad=True
            )
            return
        now = session.now
        written = [path for path in self.memory.reports if files.there(path)]
        address, span = self._in_hand(now)
        moved = (
            {SWEPT: f"The whole report, with {name_of(as_found(address))} moved over a range"} if span else {}
        )
        wanted = {**WANTED, **moved}
        answers = [*wanted.items(), *((str(path), f"Written before: {path}") for path in written)]
        answer = await self.surface.ask(ChoicePage("On paper", "", answers))
        if answer is None:
            return
        if answer not in wanted:
            await self._look_at(Path(answer), session, now)
            return
        asked = ""
        if answer == SWEPT:
            page = PathPage("Move it over a range", "From : to : how many values", name=span, label="Range")
            if not (typed := await self.surface.ask(page)):
                return
            asked = f"{address}={typed}"
        self.surface.say("Making the report ...")
        try:
            report = await asyncio.to_thread(composed, session, now, choice_of(answer), asked)
        except HearthError as error:
            self.surface.say(str(error), bad=True)
            return
        self.surface.say("")
        from hearthcalc_tui.screens.report import ReportPage

        if await self.surface.ask(ReportPage(list(pages(report)))) == "write":
            await self._write(report, session, now, answer)

    def _in_hand(self, now: Snapshot) -> tuple[str, str]:
        """The entry that the cursor is in, and a range round where it stands; "" for one that has none."""
        from hearthcalc_tui.session.trial import span_of

        row = self.sheet.row
        if row is None:
            return "", ""
        return row.address, span_of(now.job_of(self.place.judged_stage), as_found(row.address))

    async def _write(self, report: Report, session: Session, now: Snapshot, wanted: str) -> None:
        from hearthcalc.report import writing

        question = f"Its ending picks the kind: {' '.join(writing.REPORTS)}"
        answer = await self.surface.ask(
            PathPage("Write it to", question, name=str(suggested(session, now, wanted)))
        )
        if not answer:
            return
        path = files.full(storage.typed_path(answer))
        if path.suffix.lower() not in writing.REPORTS:
            self.surface.say(f"{question}. Nothing was written.", bad=True)
            return
        if files.there(path):
            page = ChoicePage(
                "There is a file of that name",
                f"{path} is there already.",
                [("no", "Leave it as it is"), ("yes", "Write over it")],
            )
            if await self.surface.ask(page) != "yes":
                return
        try:
            await asyncio.to_thread(put, report, path, now)
        except HearthError as error:
            self.surface.say(str(error), bad=True)
            return
        self.memory.wrote(path)
        await self._tell("Written", [f"Wrote {path}"], path)

    async def _look_at(self, path: Path, session: Session, now: Snapshot) -> None:
        """Whether a report written before still tells of the job in hand."""
        try:
            lines = await asyncio.to_thread(changed_since, path, session, now)
        except HearthError as error:
            lines = [str(error)]
        await self._tell("Written before", [str(path), *lines], path)

    async def _tell(self, title: str, lines: list[str], path: Path) -> None:
        answers = [("done", "Back to the job"), ("folder", "Open its folder")]
        if await self.surface.ask(ChoicePage(title, "\n".join(lines), answers)) == "folder":
            why = open_folder(path.parent)
            self.surface.say(why or f"Opened: {plain(str(path.parent), 200)}", bad=bool(why))
        else:
            self.surface.say(plain(lines[0], 200))


def choice_of(wanted: str) -> Choice:
    """The report that a person means by one of WANTED."""
    from hearthcalc.report.contents import Choice

    match wanted:
        case "homeowner" | "permit" | "inspection":
            return Choice(wanted)
        case "site-list" | "take-off":
            return Choice(only=wanted)
        case _:
            return Choice(short=wanted == "short")


def composed(session: Session, now: Snapshot, choice: Choice, asked: str = "") -> Report:
    """The report of a job as it stands, models too. Slow. asked: ADDRESS=FROM:TO:STEPS of a sweep. Raises UsageError."""
    from hearthcalc.report import contents
    from hearthcalc.whatif import sweep

    path = session.file.path
    edition, assessment = session.judge.edition(now), session.judge.judged_by(now)
    swept = sweep.sweep(now.job, edition, [sweep.axis(asked, now.job)]) if asked else None
    given = contents.gather(now.job, edition, assessment, choice, path.parent if path else None, swept)
    return contents.compose(assessment, now.job, edition, dt.date.today(), choice, given)


def parts(report: Report) -> Iterator[tuple[str, str]]:
    """The first page of a report, and each part after it: title and text."""
    from hearthcalc.report import text
    from hearthcalc.report.model import Block, PageEnd, Paragraph, Report

    title, blocks = "First page", list[Block]()
    for block in report.blocks:
        if isinstance(block, Paragraph) and block.style == "heading":
            yield title, text.write(Report(report.title, tuple(blocks)), WIDTH)
            title, blocks = block.text, [block]
        elif not isinstance(block, PageEnd):
            blocks.append(block)
    yield title, text.write(Report(report.title, tuple(blocks), report.stamp), WIDTH)


def pages(report: Report) -> Iterator[tuple[str, str]]:
    """A report page by page: title of the part and text. A page ends between two blocks of text where it can."""
    for title, told in parts(report):
        lines = told.splitlines()
        while lines:
            end = min(len(lines), LINES)
            if end < len(lines):
                end = next((at for at in range(end, LINES // 2, -1) if not lines[at].strip()), end)
            yield title, "\n".join(lines[:end]).strip("\n")
            lines = lines[end:]
            while lines and not lines[0].strip():
                del lines[0]


def suggested(session: Session, now: Snapshot, wanted: str) -> Path:
    """Where a report would lie: beside its job, under its name, as PDF."""
    path = session.file.path
    name = (path.name if path else suggested_name(now.job.about.title)).removesuffix(ENDING)
    kind = "" if wanted in ("all", SWEPT) else f"-{wanted}"
    return files.full(path.parent if path else Path()) / f"{name}{kind}.pdf"


def put(report: Report, path: Path, now: Snapshot) -> None:
    """Write a report, whole or not at all. Raises UsageError, FileError."""
    from hearthcalc.report import writing

    paper: PaperName = "letter" if now.job.units == "in" else "a4"
    data = writing.write(report, path.suffix.lower(), paper, now.job.about.measured_by or "")
    storage.write_bytes(path, data)


def changed_since(path: Path, session: Session, now: Snapshot) -> list[str]:
    """What has changed since a report was written; where nothing has, what that says and what not. Raises FileError."""
    from hearthcalc.report import photos, stamp

    then, job_file = stamp.read(path), session.file.path
    pictures = photos.digest(photos.load(now.job, job_file.parent if job_file else None))
    changed = list(stamp.changes(then, stamp.of(now.job, session.judge.judged_by(now), then.date, pictures)))
    return changed or list(stamp.same(then))


def open_folder(folder: Path) -> str:
    """Show a folder in the system's own window. Returns why that cannot be, "" where it was asked to."""
    try:
        if sys.platform == "win32":
            os.startfile(folder)
            return ""
        opener = shutil.which("open" if sys.platform == "darwin" else "xdg-open")
        if opener is None:
            return f"Nothing here opens folders. It is {folder}"
        quiet = subprocess.DEVNULL
        subprocess.Popen(
            [opener, str(folder)], stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=True
        )
    except OSError as error:
        return f"The folder did not open: {storage.reason(error)[0]}. It is {folder}"
    return ""
