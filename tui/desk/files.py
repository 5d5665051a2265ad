"""Opening, saving and leaving a job: what is asked before anything could be lost."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

from msgspec import Struct

from hearthcalc import files
from hearthcalc.errors import HearthError
from hearthcalc_tui import storage
from hearthcalc_tui.desk.compare import since_message
from hearthcalc_tui.desk.drafts import Drafts
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.entries import name_of
from hearthcalc_tui.journal import Left
from hearthcalc_tui.safe import plain
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.path import PathPage
from hearthcalc_tui.session import ENDING, LeftDraft, Session, open_session, path_for, suggested_name
from hearthcalc_tui.storage import Memory

MOST_LISTED = 200
QUESTIONS = "asked.questions"
SHOWN = 1500  # letters of what was typed and not entered


class Files(Struct, frozen=True):
    """The job's way to the disk and back. put: shows another job in the place of this one; leave: ends the program."""

    surface: Surface
    place: Place
    sheet: Sheet
    entering: Entering
    drafts: Drafts
    memory: Memory
    put: Callable[[Session], Awaitable[None]]
    leave: Callable[[], None]

    def do_save(self) -> None:
        self.entering.keep()
        self.surface.start(self._save())

    def do_save_as(self) -> None:
        self.entering.keep()
        self.surface.start(self._save(ask=True))

    def do_open(self) -> None:
        self.entering.keep()
        self.surface.start(self._open_other())

    def do_new(self) -> None:
        self.entering.keep()
        self.surface.start(self._new())

    def do_quit(self) -> None:
        self.entering.keep()
        self.surface.start(self._quit())

    # Saving

    async def _save(self, *, ask: bool = False) -> bool:
        """Save, asking for a name where there is none. False where nothing was written."""
        session = self.place.session
        path = session.file.path
        if ask or path is None:
            never = " The demo itself is never written to." if session.file.demo else ""
            name = str(path) if path else suggested_name(session.now.job.about.title)
            page = PathPage("Save the job as", f"A file name, as in gatehouse{ENDING}.{never}", name=name)
            answer = await self.surface.ask(page)
            if not answer:
                return False
            try:
                path = path_for(answer)
            except HearthError as error:
                self.surface.say(str(error), bad=True)
                return False
        if not await self._may_write(path):
            return False
        # A kill in between leaves what is typed meanwhile with the job, whichever file that is by then.
        self.surface.beside(session.file.box, storage.DraftBox(path).name)
        try:
            message = session.save(path)
        except HearthError as error:
            self.surface.say(f"{error.what} {error.fix} Nothing that you typed is lost.", bad=True)
            return False
        finally:
            self.surface.beside(session.file.box)
        self.memory.opened(path)
        self.drafts.write()
        self.sheet.refresh()
        if session.file.elsewhere:
            message = (
                f"{message}. Another window has it open. This one keeps no unsaved work: save it yourself."
            )
        self.surface.say(message, bad=session.file.elsewhere)
        return True

    async def _may_write(self, path: Path) -> bool:
        """Ask before another file is written over, or one that another program has changed or that may only be read."""
        file = self.place.session.file
        title, told = file.in_the_way(path)
        if not told:
            return True
        own = file.path is not None and files.same_file(path, file.path)
        no = "Leave it; F12 saves this one under another name" if own else "Leave it as it is"
        answers = [("no", no), ("yes", "Write over it")]
        return await self.surface.ask(ChoicePage(title, told, answers)) == "yes"

    # Leaving

    async def _may_leave(self) -> bool:
        """Ask about changes that are not saved; False where the person stays."""
        session = self.place.session
        if not session.unsaved:
            return True
        page = ChoicePage(
            "Not saved",
            f"{plain(session.title, 60)} has changes that are not saved.",
            [("save", "Save them"), ("stay", "Stay here"), ("drop", "Leave without them")],
        )
        answer = await self.surface.ask(page)
        if answer == "save":
            return await self._save()
        if answer == "drop":
            self.drafts.leave()
        return answer == "drop"

    async def _quit(self) -> None:
        if await self._may_leave():
            self.leave()

    # Opening

    async def begin(self) -> None:
        """The first page: ask for a way in until one is taken, or left for the empty job that is there."""
        from hearthcalc_tui.screens.start import NEW, OPEN, QUICK, start_page

        while True:
            recent = [path for path in self.memory.recent if files.there(path)]
            answer = await self.surface.ask(start_page(recent, storage.drafts_left()))
            if answer == QUICK:
                done = await self._look_quickly()
            elif answer == NEW:
                done = await self._ask_questions()
            elif answer == OPEN:
                done = await self._open_other()
            else:
                done = answer is None or await self._take(answer)
            if done:
                return

    async def _new(self) -> None:
        if await self._may_leave() and await self._take(""):
            await self._ask_questions()

    def do_start(self) -> None:
        """Back to the first page."""
        self.entering.keep()
        self.surface.start(self._start())

    async def _start(self) -> None:
        if await self._may_leave() and await self._take(""):
            await self.begin()

    def do_questions(self) -> None:
        self.entering.keep()
        self.surface.start(self._ask_questions())

    async def _ask_questions(self) -> bool:
        """What the job asks; False where that was left."""
        from hearthcalc.asked import EVERYTHING, in_words, left_out
        from hearthcalc_tui.screens.start import QuestionsPage

        session = self.place.session
        answer = await self.surface.ask(QuestionsPage(session.now.job.asked.questions or ()))
        if answer is None:
            return False
        asked = ", ".join(id for id in answer if id != EVERYTHING)
        if asked != session.entry(QUESTIONS):
            self.entering.take([(QUESTIONS, asked)])
        await self.sheet.show(focus=True)
        rest = in_words(left_out(session.now.job.asked.questions))
        self.surface.say(f"Left out: {rest}." if rest else "Everything is asked.")
        return True

    async def _look_quickly(self) -> bool:
        """The quick check, and on with it as a job; False where it was left."""
        from hearthcalc_tui.screens.quick import QuickPage

        session = self.place.session
        made = await self.surface.ask(QuickPage(session.edition(), session.now.job.units))
        if made is None:
            return False
        session.start_with(made)
        self.drafts.write()
        await self.sheet.show(focus=True)
        self.surface.say("A full job now, with what you entered. Shift+F1: what it asks. Ctrl+S saves it.")
        return True

    async def _open_other(self) -> bool:
        """Ask for a job file, those of the folder and the recent ones to choose from. False where none was opened."""
        here = sorted(Path().glob(f"*{ENDING}"))[:MOST_LISTED]
        known = {files.real(path) for path in here}
        recent = [path for path in self.memory.recent if files.there(path) and files.real(path) not in known]
        answer = await self.surface.ask(PathPage("Open a job", "A job file:", files=[*here, *recent]))
        return bool(answer) and await self._may_leave() and await self._take(answer or "")

    async def _take(self, wanted: str) -> bool:
        """Open another job in the place of this one; where it cannot be read, this one stays, and False."""
        file = self.place.session.file
        file.release()
        try:
            session = await asyncio.to_thread(open_session, wanted)
        except HearthError as error:
            file.claim()
            self.drafts.stay()
            self.surface.say(str(error), bad=True)
            return False
        self.surface.entered()
        self.surface.beside(session.file.box)
        await self.put(session)
        await self.greet()
        return True

    async def greet(self) -> None:
        """After a job was opened: remember it, tell of another window, offer a draft."""
        session = self.place.session
        if session.file.path:
            self.memory.opened(session.file.path)
        since = since_message(session)
        if since is not None:
            self.surface.say(since[0], bad=since[1])
        if session.file.lost:
            self.surface.say(f"{session.file.lost} Ctrl+S asks for a name.", bad=True)
        if session.file.elsewhere:
            this = (
                "Too many jobs without a file are open or unsaved."
                if session.file.crowded
                else "Another window has this job open."
            )
            self.surface.say(f"{this} This one keeps no unsaved work: save it yourself.", bad=True)
            return
        keys = session.file.keys_left()
        left = session.draft_left()
        answer = await self._offer(left, keys) if left else None
        if keys is not None and answer != "drop":
            await self._offer_keys(keys)

    async def _offer(self, left: LeftDraft, keys: Left | None) -> str | None:
        """Unsaved work: taken up, kept for redo, or thrown away. keys: what was typed after it."""
        session = self.place.session
        lines = [
            "The program ended before this was saved. In the file, and in the unsaved work:",
            *left.differs,
        ]
        if keys is not None:
            lines.append(f"Typed after that, and not entered: {plain(keys.words, SHOWN)}")
        if left.file_changed:
            lines.append("The file was changed after the unsaved work was kept.")
        answers = [
            ("take", "Go on with the unsaved work"),
            ("keep", "Go on with the file; Ctrl+Y brings the unsaved work until something is changed"),
            ("drop", "Go on with the file, and throw the unsaved work away"),
        ]
        page = ChoicePage("Unsaved work found", "\n".join(lines), answers, chosen=False)
        answer = await self.surface.ask(page)
        if answer == "drop":
            session.file.forget_draft()
        else:
            session.take_draft(left, at_once=answer == "take")
            await self.sheet.show(focus=True)
        return answer

    async def _offer_keys(self, keys: Left) -> None:
        """What was typed and not entered is shown, and never typed in: the person alone knows where it belongs."""
        session = self.place.session
        lines = [
            "The program ended before it had entered these keys:",
            plain(keys.words, SHOWN),
            f"The entry before them: {name_of(keys.after)}."
            if keys.after
            else "Nothing was entered before them.",
            "They stay here until the job is saved.",
        ]
        answers = [
            ("copy", "Copy them as a list: Ctrl+V shows what it would fill, from the field you are in"),
            ("drop", "Throw them away"),
        ]
        page = ChoicePage("Typed but not yet entered", "\n".join(lines), answers, chosen=False)
        answer = await self.surface.ask(page)
        if answer == "drop":
            session.file.forget_keys()
        if answer == "copy":
            self.entering.copy("\n".join(keys.lines))
        if keys.after and self.place.go_to(keys.after):
            await self.sheet.show(focus=True, address=keys.after)
