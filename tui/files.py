"""Opening, saving and leaving a job: what is asked before anything could be lost."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING

from hearthcalc.errors import HearthError
from hearthcalc_tui import looking, storage
from hearthcalc_tui.safe import plain
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.path import PathPage
from hearthcalc_tui.session import ENDING, open_session

if TYPE_CHECKING:
    from hearthcalc_tui.desk import Desk

MOST_LISTED = 200


async def save(desk: Desk, *, ask: bool = False) -> bool:
    """Save, asking for a name where there is none. False where nothing was written."""
    session = desk.session
    path = session.path
    if ask or path is None:
        never = " The demo itself is never written to." if session.demo else ""
        name = str(path) if path else session.suggested_name()
        page = PathPage("Save the job as", f"A file name, as in gatehouse{ENDING}.{never}", name=name)
        answer = await desk.app.push_screen_wait(page)
        if not answer:
            return False
        path = session.path_for(answer)
    if not await _may_write(desk, path):
        return False
    try:
        told = session.save(path)
    except HearthError as error:
        desk.hearth.say(f"{error.what} {error.fix} Nothing that you typed is lost.", bad=True)
        return False
    desk.hearth.memory.opened(path)
    desk.write_draft()
    desk.refresh_all()
    desk.hearth.say(told)
    return True


async def _may_write(desk: Desk, path: Path) -> bool:
    """Ask before another file is written over, or one that another program has changed."""
    session = desk.session
    if session.path is not None and storage.same_file(path, session.path):
        if not session.changed_on_disk():
            return True
        return await _sure(
            desk,
            "The file has changed",
            f"{path} was changed by another program or window since it was opened here.",
            "Leave it; F12 saves this one under another name",
        )
    if not path.exists():
        return True
    return await _sure(desk, "There is a file of that name", f"{path} is there already.", "Leave it as it is")


async def _sure(desk: Desk, title: str, question: str, no: str) -> bool:
    page = ChoicePage(title, question, [("no", no), ("yes", "Write over it")])
    return await desk.app.push_screen_wait(page) == "yes"


async def may_leave(desk: Desk) -> bool:
    """Ask about changes that are not saved; False where the person stays."""
    if not desk.session.unsaved:
        return True
    page = ChoicePage(
        "Not saved",
        f"{plain(desk.session.title, 60)} holds changes that are in no file.",
        [("save", "Save them"), ("stay", "Stay here"), ("drop", "Leave without them")],
    )
    answer = await desk.app.push_screen_wait(page)
    if answer == "save":
        return await save(desk)
    if answer == "drop":
        desk.drop_draft()
    return answer == "drop"


async def leave(desk: Desk) -> None:
    """End the program."""
    if await may_leave(desk):
        desk.hearth.leave()


async def new(desk: Desk) -> None:
    """Start an empty job."""
    if await may_leave(desk):
        await _take(desk, "")


async def open_other(desk: Desk) -> None:
    """Ask for a job file, those of the folder and the recent ones to choose from."""
    here = sorted(Path().glob(f"*{ENDING}"))[:MOST_LISTED]
    known = {path.resolve() for path in here}
    recent = [path for path in desk.hearth.memory.recent if path.exists() and path.resolve() not in known]
    answer = await desk.app.push_screen_wait(PathPage("Open a job", "A job file:", files=[*here, *recent]))
    if answer and await may_leave(desk):
        await _take(desk, answer)


async def _take(desk: Desk, wanted: str) -> None:
    """Open another job in the place of this one; where it cannot be read, this one stays."""
    desk.session.release()
    try:
        session = await asyncio.to_thread(open_session, wanted)
    except HearthError as error:
        desk.session.claim()
        desk.hearth.say(str(error), bad=True)
        return
    await desk.put(session)
    await greet(desk)


async def greet(desk: Desk) -> None:
    """After a job was opened: remember it, tell of another window, offer a draft."""
    session = desk.session
    if session.path:
        desk.hearth.memory.opened(session.path)
    looking.say_since(desk)
    if session.elsewhere:
        this = "this job" if session.path else "a job without a file"
        desk.hearth.say(
            f"Another window has {this} open. This one keeps no draft: save it yourself.", bad=True
        )
        return
    left = session.draft_left()
    if left is None:
        return
    lines = ["The program ended before this was saved. The draft differs from the file in:", *left.differs]
    if left.file_changed:
        lines.append("The file was changed after the draft was made.")
    answers = [
        ("take", "Go on with the draft"),
        ("keep", "Go on with the file; Ctrl+Y brings the draft until something else is changed"),
        ("drop", "Go on with the file, and forget the draft"),
    ]
    answer = await desk.app.push_screen_wait(ChoicePage("There is a draft", "\n".join(lines), answers))
    if answer == "drop":
        desk.drop_draft()
        return
    session.take_draft(left, at_once=answer == "take")
    await desk.show_section(focus=True)
