"""Two columns of findings: as found beside as planned, two editions, now beside when the job was saved."""

from __future__ import annotations

import asyncio

from msgspec import Struct
from textual.content import Content

from hearthcalc import reference
from hearthcalc.assess import Since
from hearthcalc.findings import Assessment, Verdict, side_by_side
from hearthcalc.rules.case import RULES
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.page import TextPage
from hearthcalc_tui.session import STAGES, Session
from hearthcalc_tui.widgets import telling

PLANNED, SINCE = "*planned", "*since"


class Compare(Struct, frozen=True):
    """Asks what to see side by side, and shows it. The page of pairs is loaded when it is first opened."""

    surface: Surface
    place: Place
    entering: Entering

    def do_beside(self) -> None:
        """Found beside planned; where nothing is planned, that is said."""
        self.entering.keep()
        assessment = self.place.session.assess()
        if "planned" in assessment.stages:
            self._found_and_planned(assessment)
        else:
            self.surface.say("Nothing is planned yet. F2 turns to planned; type what the work will change.")

    def do_compare(self) -> None:
        self.entering.keep()
        self.surface.start(self._compare())

    async def _compare(self) -> None:
        from hearthcalc_tui.widgets.editions import one

        session = self.place.session
        own = session.edition().id
        assessment = session.assess()
        answers: list[tuple[str, str | Content]] = []
        if "planned" in assessment.stages:
            answers.append((PLANNED, Content.styled("As found beside as planned\n", "bold")))
        since = session.since()
        if since is not None and since.values:
            words = f"What changed since the job was saved: {_answers(since)}\n"
            answers.append((SINCE, Content.styled(words, "bold")))
        answers += [
            (edition.id, Content.assemble(one(edition), "\n"))
            for edition in await asyncio.to_thread(reference.editions)
            if edition.id != own
        ]
        question = f"This job is judged by {own}. Which edition do you want beside it?"
        answer = await self.surface.ask(ChoicePage("Side by side", question, answers))
        if answer == PLANNED:
            self._found_and_planned(assessment)
        elif answer == SINCE and since is not None:
            self.surface.open(TextPage("Since the job was saved", since_text(since, assessment)))
        elif answer is not None:
            await self._two_editions(session, answer)

    def _found_and_planned(self, assessment: Assessment) -> None:
        from hearthcalc_tui.screens.pairs import PairsPage, by_difference

        found, planned = (assessment.stages[stage].findings for stage in ("found", "planned"))
        pairs = by_difference(side_by_side(found, planned))
        self.surface.open(PairsPage("As found beside as planned", ("found", "planned"), pairs))

    async def _two_editions(self, session: Session, other: str) -> None:
        from hearthcalc_tui.screens.pairs import PairsPage, by_difference

        now, judge = session.now, session.judge
        first, second = await asyncio.to_thread(lambda: (judge.judged_by(now), judge.judged_by(now, other)))
        stage = self.place.stage if self.place.stage in first.stages else "found"
        pairs = side_by_side(first.stages[stage].findings, second.stages[stage].findings)
        note = " ".join(second.cautions[1:])
        names = (first.edition_id, second.edition_id)
        title = f"{names[0]} beside {names[1]}, {STAGES[stage]}"
        self.surface.open(PairsPage(title, names, by_difference(pairs), note=note))


# Since the job was saved


def since_message(session: Session) -> tuple[str, bool] | None:
    """What to say of a job just opened whose reference values have changed, and whether an answer did; None where they have not."""
    since = session.since()
    if since is None or not since.values:
        return None
    what = "Saved under another edition" if since.edition else "Values have changed since this job was saved"
    more = " Shift+F5 shows which." if since.changed else ""
    return f"{what}: {_answers(since)}.{more}", bool(since.changed)


def _answers(since: Since) -> str:
    count = len(since.changed)
    return (
        "no answer is another"
        if not count
        else "1 answer is another"
        if count == 1
        else f"{count} answers are others"
    )


def since_text(since: Since, now: Assessment) -> Content:
    """Each answer that is another, then and now, with what is found now."""
    what = (
        "The job was judged by another edition then."
        if since.edition
        else "Its edition had other values then."
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
