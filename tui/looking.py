"""What can be looked at beside the measuring: views of the stage, two columns of findings, the reference values.

Each screen is loaded when it is first opened.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from textual.content import Content

from hearthcalc import reference
from hearthcalc.assess import Since
from hearthcalc.findings import Assessment, Verdict, side_by_side
from hearthcalc.rules.case import RULES
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.page import TextPage
from hearthcalc_tui.widgets import telling

if TYPE_CHECKING:
    from hearthcalc_tui.desk import Desk
    from hearthcalc_tui.widgets.views import Shown

PLANNED, SINCE = "*planned", "*since"
STAGES = {"found": "as found", "planned": "as planned"}


# Views


def shown(desk: Desk, *, working: bool) -> Shown:
    """What the views are drawn from: the stage in hand, as it is judged."""
    from hearthcalc_tui.widgets.views import Shown

    session = desk.session
    assessment = session.assess()
    stage = desk.stage if desk.stage in assessment.stages else "found"
    return Shown(
        session.readable(), stage, assessment.stages[stage], session.edition(), session.unread(), working
    )


async def look(desk: Desk, view: str) -> None:
    """A view beside the fields; a second time over the whole screen; a third time the findings again."""
    pane = desk.pane
    desk.keep()
    if pane.view is None or pane.view.view != view:
        await pane.look(view)
        desk.show_view()
        desk.hearth.say("The same key again: over the whole screen. F6 goes to it. It follows the entries.")
        return
    desk.run_worker(_whole(desk))


async def _whole(desk: Desk) -> None:
    from hearthcalc_tui.screens.view import ViewPage

    pane = desk.pane
    if pane.view is not None:
        page = ViewPage(pane.view.view, shown(desk, working=desk.working), pane.view.part)
        await desk.app.push_screen_wait(page)
        await pane.look("")
        desk.focus_field()


# Side by side


async def compare(desk: Desk) -> None:
    """Ask what to see side by side, and show it."""
    from hearthcalc_tui.widgets.editions import one

    session = desk.session
    own = session.edition().id
    assessment = session.assess()
    answers: list[tuple[str, str | Content]] = []
    if "planned" in assessment.stages:
        answers.append((PLANNED, Content.styled("As found beside as planned\n", "bold")))
    since = session.since()
    if since is not None and since.values:
        answers.append(
            (SINCE, Content.styled(f"What changed since the job was saved: {_answers(since)}\n", "bold"))
        )
    answers += [
        (edition.id, Content.assemble(one(edition), "\n"))
        for edition in await asyncio.to_thread(reference.editions)
        if edition.id != own
    ]
    question = f"This job is judged by {own}. Beside which other edition?"
    answer = await desk.app.push_screen_wait(ChoicePage("Side by side", question, answers))
    if answer == PLANNED:
        _found_and_planned(desk)
    elif answer == SINCE and since is not None:
        desk.app.push_screen(TextPage("Since the job was saved", tell_since(since, assessment)))
    elif answer is not None:
        await _two_editions(desk, answer)


def _found_and_planned(desk: Desk) -> None:
    from hearthcalc_tui.screens.pairs import PairsPage, by_difference

    stages = desk.session.assess().stages
    pairs = side_by_side(stages["found"].findings, stages["planned"].findings)
    desk.app.push_screen(PairsPage("As found beside as planned", ("found", "planned"), by_difference(pairs)))


async def _two_editions(desk: Desk, other: str) -> None:
    from hearthcalc_tui.screens.pairs import PairsPage, by_difference

    session = desk.session
    first, second = await asyncio.to_thread(lambda: (session.judged_by(), session.judged_by(other)))
    stage = desk.stage if desk.stage in first.stages else "found"
    pairs = side_by_side(first.stages[stage].findings, second.stages[stage].findings)
    note = " ".join(second.cautions[1:])
    title = f"{first.edition_id} beside {second.edition_id}, {STAGES[stage]}"
    desk.app.push_screen(
        PairsPage(title, (first.edition_id, second.edition_id), by_difference(pairs), note=note)
    )


# Since the job was saved


def _answers(since: Since) -> str:
    count = len(since.changed)
    return (
        "no answer is another"
        if not count
        else "1 answer is another"
        if count == 1
        else f"{count} answers are others"
    )


def say_since(desk: Desk) -> None:
    """After a job was opened: tell where its reference values have changed since it was saved."""
    since = desk.session.since()
    if since is not None and since.values:
        what = (
            "Saved under another edition" if since.edition else "Values have changed since this job was saved"
        )
        more = " Ctrl+V tells." if since.changed else ""
        desk.hearth.say(f"{what}: {_answers(since)}.{more}", bad=bool(since.changed))


def tell_since(since: Since, now: Assessment) -> Content:
    """Each answer that is another, then and now, with what is found now."""
    what = (
        "The job was judged by another edition then."
        if since.edition
        else "The values of its edition were others then."
    )
    rows = [Content(f"{what} The entries are those that were saved. Rules only.")]
    for then, later in since.changed:
        stage, id, *subject, _ = (part.strip() for part in (later or then).split(" | "))
        title = RULES[id].title if id in RULES else id
        place = ", ".join(part for part in (STAGES.get(stage, stage), *subject) if part)
        rows += [
            Content(""),
            Content.assemble(safe(title, "bold"), "  ", safe(place, "$quiet")),
            Content.assemble(_verdict(then), f" {GLYPHS.arrow} ", _verdict(later)),
        ]
        result = now.stages.get(stage)
        texts = (
            [
                f.text
                for f in result.findings
                if (f.id, *(part for part in f.key[1:] if part)) == (id, *filter(None, subject))
            ]
            if result
            else []
        )
        rows += [safe(text) for text in texts]
    return Content("\n").join(rows)


def _verdict(line: str) -> Content:
    word = line.rpartition(" | ")[2]
    return (
        telling.verdict_mark(Verdict(word)) if word in set(Verdict) else safe(word or "not asked", "$quiet")
    )


# Reference values


def open_reference(desk: Desk) -> None:
    """Browse, search and amend the values of the job's edition."""
    from hearthcalc_tui.screens.reference import ReferencePage

    desk.app.push_screen(ReferencePage(desk))
