"""The reference values of the job's edition: found as one types, with all they rest on, amended and taken back."""

from __future__ import annotations

import asyncio
import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len, set_cell_size
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.amendments import EDITED, Change
from hearthcalc.errors import HearthError
from hearthcalc.findings import Assessment, side_by_side
from hearthcalc.reference import BASES, Edition, Value, silent_on
from hearthcalc_tui import amending
from hearthcalc_tui.field import Field, Note
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.screens.pairs import Group, PairsPage, turned
from hearthcalc_tui.widgets.editions import in_a_line
from hearthcalc_tui.widgets.options import Options

if TYPE_CHECKING:
    from hearthcalc_tui.session import Session
    from hearthcalc_tui.storage import Memory

ALL = "all subjects"
VALUE_WIDTH = 20
STANDING_WIDTH = 17
STANDS_OUT = {"from memory": "?", "second-hand": "?", "disputed": "!", EDITED: "*"}
STAGES = {"found": "As found", "planned": "As planned"}


class ReferencePage(Page[None]):
    """Every value of one edition. Typing searches, the arrows choose, Enter amends."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "move(1)", "Next value", show=False),
        Binding("up", "move(-1)", "Value before", show=False),
        Binding("pagedown", "move(8)", "Eight values on", show=False),
        Binding("pageup", "move(-8)", "Eight values back", show=False),
        Binding("tab", "subject(1)", "Next subject", show=False),
        Binding("shift+tab", "subject(-1)", "Subject before", show=False),
        Binding("enter", "amend", "Amend", show=False),
        Binding("f8", "take_back", "Take back", show=False),
        Binding("ctrl+down", "scroll(1)", "Detail down", show=False),
        Binding("ctrl+up", "scroll(-1)", "Detail up", show=False),
    ]

    def __init__(self, session: Session, memory: Memory, changed: Callable[[], None]) -> None:
        """session: the job whose edition it is; changed: called when values are others."""
        super().__init__(
            "Reference values",
            "Type to search; Tab: subject; Enter amends; F8 takes back; Ctrl+Down scrolls",
        )
        self.add_class("-whole")
        self._session = session
        self._memory = memory
        self._values_changed = changed
        self._subject = ALL
        self._shown: list[Value] = []

    @property
    def edition(self) -> Edition:
        return self._session.edition()

    @property
    def _place(self) -> str:
        """The place whose amendments the job uses, "" for none."""
        return self._session.now.job.about.amendments or ""

    def body(self) -> ComposeResult:
        yield Static(id="edition-line", classes="page-line")
        yield Field("", "Search", label_width=7, owner=self, id="search")
        yield Static(id="subject-line", classes="page-line")
        yield Options(classes="page-list", id="values")
        with VerticalScroll(classes="page-detail", can_focus=False):
            yield Static(id="value-text")
        yield Static(id="said", classes="page-note")

    def on_mount(self) -> None:
        self.query_one(OptionList).can_focus = False
        self.query_one(Field).focus()
        self.call_after_refresh(self.fill)

    # The search field

    def edited(self, field: Field) -> None:
        """The words of the search changed."""
        self.say("")
        self.fill()

    def left(self, field: Field) -> None:
        """Nothing is kept of a search."""

    # What is shown

    def say(self, text: str, *, bad: bool = False) -> None:
        self.query_one("#said", Static).update(
            safe(f"! {text}" if bad else text, "bold $verdict-short" if bad else "bold $foreground")
        )

    def fill(self, hold: str = "") -> None:
        """List what the words and the subject leave. hold: the key to stay on."""
        values = ordered(self.edition)
        words = self.query_one(Field).text.casefold().split()
        self._shown = [
            value
            for value in values
            if self._subject in (ALL, subject_of(value.key))
            and all(word in _haystack(self.edition, value) for word in words)
        ]
        options = self.query_one(OptionList)
        width = max(40, self.size.width - 6)
        options.set_options(Option(_row(value, width)) for value in self._shown)
        keys = [value.key for value in self._shown]
        if keys:
            options.highlighted = keys.index(hold) if hold in keys else 0
        edited = len(self.edition.edited)
        self.query_one("#edition-line", Static).update(
            Content.assemble(
                safe(self.edition.id, "bold $ember"), "  ", safe(in_a_line(self.edition), "$quiet", 300),
                (f"  {edited} edited here." if edited else "", "bold $ember"),
                safe(f"  Amendments of {self._place}." if self._place else "", "bold $ember", 60),
            )
        )  # fmt: skip
        self.query_one("#subject-line", Static).update(
            Content.assemble(
                f"Subject {GLYPHS.left} ", (self._subject, "bold $foreground"), f" {GLYPHS.right}   {len(keys)} of {len(values)} values",
                (f", no value for {len(quiet)} items" if (quiet := silent_on(self.edition)) else ""),
            )
        )  # fmt: skip
        self._tell()

    @property
    def value(self) -> Value | None:
        at = self.query_one(OptionList).highlighted
        return self._shown[at] if at is not None and at < len(self._shown) else None

    def _tell(self) -> None:
        value = self.value
        text = Content("No value has these words.") if value is None else detail(self.edition, value)
        self.query_one("#value-text", Static).update(text)
        self.query_one(VerticalScroll).scroll_home(animate=False)

    def on_option_list_option_highlighted(self) -> None:
        self._tell()

    def on_option_list_option_selected(self) -> None:
        self.action_amend()

    # What keys do

    def action_move(self, by: int) -> None:
        options = self.query_one(OptionList)
        if self._shown:
            options.highlighted = min(len(self._shown) - 1, max(0, (options.highlighted or 0) + by))

    def action_scroll(self, by: int) -> None:
        self.query_one(VerticalScroll).scroll_relative(y=by, animate=False)

    def action_subject(self, by: int) -> None:
        subjects = [ALL, *dict.fromkeys(subject_of(value.key) for value in ordered(self.edition))]
        self._subject = subjects[(subjects.index(self._subject) + by) % len(subjects)]
        self.fill(self.value.key if self.value else "")

    def action_amend(self) -> None:
        if self.value is not None:
            self.start(self._amend(self.value))

    async def _amend(self, value: Value) -> None:
        try:
            elsewhere = amending.beside_the_job(
                self._session.file.path, self.edition.id, value.key, self._place
            )
            amending.own_changes(self.edition.id)
        except HearthError as error:
            self.say(in_one_line(error), bad=True)
            return
        if elsewhere:
            self.say(f"{elsewhere} beside the job holds this value and comes last: amend it there.", bad=True)
            return
        if not (value.quantity or value.steps or value.words):
            self.say(
                f"This holds a {'table' if value.table else 'method'}: it is amended in the edition's file, not here."
            )
            return
        answer = await self.app.push_screen_wait(
            AmendPage(value, self._memory.who, self._place, detail(self.edition, value))
        )
        if answer is None:
            return
        text, who, place, why = answer
        self._memory.remember(who=who)
        edition, today = self.edition, dt.date.today()

        def change() -> str:
            change = Change(edition.id, value.key, text, who, today, why, place)
            amending.put(edition, change)
            if change.holds(edition.id, self._place):
                return f"{value.key} is now {text}."
            return (
                f"{value.key} is kept as {text} for {place}. This job does not use the amendments of {place}."
            )

        await self._changed(change, value.key)

    def action_take_back(self) -> None:
        self.start(self._take_back())

    async def _take_back(self) -> None:
        edition, value = self.edition, self.value
        try:
            own = {change.key: change for change in amending.own_changes(edition.id, self._place)}
        except HearthError as error:
            self.say(in_one_line(error), bad=True)
            return
        if not own:
            self.say(f"Nothing of {edition.id} is edited in your own amendments.")
            return
        answers = [("", "Leave it as it is")]
        if value and value.key in own:
            mine = own[value.key]
            answers.append(("one", f"Take back {value.key}: {mine.value}, by {mine.who}, {mine.when}"))
        count = "the one change" if len(own) == 1 else f"all {len(own)} changes"
        answers.append(("all", f"Take back {count} of {edition.id}"))
        page = ChoicePage(
            "Take back",
            "The published values stand again. The log keeps what was changed, by whom and why.",
            answers,
        )
        answer = await self.app.push_screen_wait(page)
        if not answer:
            return
        gone = [own[value.key]] if answer == "one" and value else list(own.values())
        who = self._memory.who or "not named"

        def change() -> str:
            count = amending.take_back(gone, who=who, when=dt.date.today())
            return f"{count} {'value is' if count == 1 else 'values are'} as published again."

        await self._changed(change, value.key if value else "")

    async def _changed(self, change: Callable[[], str], key: str) -> None:
        """Change the values, judge the job anew, and tell which answers that turned."""
        now, judge = self._session.now, self._session.judge
        try:
            before = await asyncio.to_thread(judge.judged_by, now)
            said = await asyncio.to_thread(change)
            judge.read_amendments(self._session.file.path)
            after = await asyncio.to_thread(judge.judged_by, now)
        except HearthError as error:
            self.say(in_one_line(error), bad=True)
            return
        self._values_changed()
        self.fill(key)
        groups = changed_answers(before, after)
        count = sum(len(pairs) for _, pairs in groups)
        what_turned = (
            "No finding changes." if not count else f"{count} finding{'s' * (count > 1)} of this job changed."
        )
        self.say(f"{said} {what_turned}")
        if count:
            page = PairsPage(
                f"{count} finding{'s' * (count > 1)} changed", ("before", "now"), groups, note=said
            )
            await self.app.push_screen_wait(page)


def in_one_line(error: HearthError) -> str:
    """An error in one line, with where and what to do."""
    return " ".join(
        part
        for part in (f"{error.title}:", error.what, f"({error.where})" if error.where else "", error.fix)
        if part
    )


def changed_answers(before: Assessment, after: Assessment) -> list[Group]:
    """Which findings are others, by stage."""
    groups: list[Group] = []
    for name in after.stages:
        first = before.stages[name].findings if name in before.stages else ()
        pairs = [pair for pair in side_by_side(first, after.stages[name].findings) if turned(pair)]
        if pairs:
            groups.append((STAGES.get(name, name), pairs))
    return groups


def subject_of(key: str) -> str:
    """The first word of a key."""
    return key.partition(".")[0]


def ordered(edition: Edition) -> list[Value]:
    """What the edition's own text says first, then what lies under every edition."""
    return sorted(edition.values.values(), key=lambda value: value.edition in BASES)


def _haystack(edition: Edition, value: Value) -> str:
    source = edition.sources.get(value.source, "")
    return " ".join(
        (value.key, value.title, value.shown, value.standing, value.source, source, value.clause, value.note)
    ).casefold()


def _fit(text: str, width: int) -> str:
    text = plain(text)
    if cell_len(text) > width:
        return set_cell_size(text, width - 1) + GLYPHS.more
    return set_cell_size(text, width)


def _row(value: Value, width: int) -> Content:
    """A value in one row: what it is, what it holds, and how sure that is where it is not plainly published."""
    title = width - VALUE_WIDTH - STANDING_WIDTH - 2
    return Content.assemble(
        (_fit(value.title, title), "$foreground"),
        " ",
        (_fit(value.shown, VALUE_WIDTH), "bold"),
        " ",
        _standing(value.standing, STANDING_WIDTH),
    )


def _standing(standing: str, width: int) -> Content:
    sign = STANDS_OUT.get(standing)
    if standing == "published":
        return Content.styled(f"{'':<{width}}", "")
    style = "bold $ember" if standing == EDITED else "bold $verdict-close" if sign else "$quiet"
    return Content.styled(_fit(f"{sign or ' '} {standing}", width), style)


def _from(source: str, clause: str) -> str:
    """Source and clause, not twice the same words."""
    return source if source.casefold() == clause.casefold() else f"{source}, {clause}"


def detail(edition: Edition, value: Value) -> Content:
    """All that a value carries."""
    source = edition.sources.get(value.source, value.source)
    rows = [
        Content.assemble(safe(value.title, "bold"), "  ", safe(value.key, "$quiet")),
        Content.assemble(safe(value.shown, "bold $ember"), "  ", _standing(value.standing, STANDING_WIDTH)),
        Content.assemble(("source   ", "$quiet"), safe(_from(source, value.clause))),
        Content.assemble(("stands   ", "$quiet"), safe(f"{value.standing}, in {value.edition} ({value.place})")),
    ]  # fmt: skip
    if value.note:  # of what is edited here it says by whom and why
        rows.insert(
            2 if value.standing == EDITED else len(rows),
            Content.assemble(("note     ", "$quiet"), safe(value.note)),
        )
    for name, bounds in (("range", value.hard), ("usual", value.usual)):
        if bounds:
            rows.append(
                Content.assemble((f"{name:<9}", "$quiet"), safe(f"{bounds[0].text} to {bounds[1].text}"))
            )
    if value.choices:
        rows.append(Content.assemble(("words    ", "$quiet"), safe(", ".join(value.choices))))
    if value.method:
        rows.append(Content.assemble(("method   ", "$quiet"), safe(value.method.replace("_", " "))))
    if value.unusual:
        rows.append(safe(f"! {value.unusual}", "$verdict-close"))
    return Content("\n").join(rows)


class AmendPage(Page[tuple[str, str, str, str]]):
    """Another content for a value, with who says so, where it holds and why; checked as it is typed."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "next", "Next, then keep", show=False),
        Binding("tab,down", "step(1)", "Next field", show=False),
        Binding("shift+tab,up", "step(-1)", "Field before", show=False),
    ]

    def __init__(self, value: Value, who: str, place: str, shown: Content) -> None:
        """who, place: what stands in the fields to begin with.  shown: all that the value carries."""
        super().__init__(
            "Amend a value", "Enter goes on and, after why, keeps it; Tab: next field; Esc leaves it"
        )
        self.add_class("-whole")
        self._value = value
        self._who = who
        self._place = place
        self._about = shown

    def body(self) -> ComposeResult:
        with VerticalScroll(classes="page-list", can_focus=False):
            yield Static(self._about)
        yield Static(
            safe("Type it as it is printed above. The published value is kept beside it.", "$quiet"),
            classes="page-line",
        )
        yield Field("value", "Value", text=self._value.shown, label_width=7, owner=self, id="amend-value")
        yield Field("who", "Who", text=self._who, label_width=7, owner=self, id="amend-who")
        yield Field(
            "place",
            "Town",
            text=self._place,
            placeholder="every job",
            label_width=7,
            owner=self,
            id="amend-place",
        )
        yield Field("why", "Why", label_width=7, owner=self, id="amend-why")

    def on_mount(self) -> None:
        self._fields[0].focus()
        self._check()

    @property
    def _fields(self) -> list[Field]:
        return list(self.query(Field))

    def edited(self, field: Field) -> None:
        """What is typed is checked at once."""
        self._check()

    def left(self, field: Field) -> None:
        """Nothing is kept before Enter."""

    def _check(self, *, asked: bool = False) -> Field | None:
        """Say beside each field what is wrong. asked: also what is still empty. Returns the first that keeps it from being kept."""
        value, who, _, why = self._fields
        wrong, odd = amending.check(self._value, value.text)
        same = value.text.strip() == self._value.shown
        value.tell(
            "",
            Note("mistake", wrong)
            if wrong
            else Note("question", odd)
            if odd
            else Note("mistake", "That is what it holds already.")
            if same and asked
            else None,
        )
        stops = [value] if wrong or same else []
        for field, words in (
            (who, "Who says so? A name."),
            (why, "Why? The adoption, the ordinance, the letter."),
        ):
            empty = not field.text.strip()
            field.tell("", Note("mistake", words) if empty and asked else None)
            stops += [field] * empty
        return stops[0] if stops else None

    def action_step(self, by: int) -> None:
        fields = self._fields
        if not fields:
            return  # a key that came before they stood
        at = next((number for number, field in enumerate(fields) if field.has_focus), 0)
        self.set_focus(fields[(at + by) % len(fields)])

    def action_next(self) -> None:
        if not self._fields or not self._fields[-1].has_focus:
            self.action_step(1)
            return
        stop = self._check(asked=True)
        if stop is not None:
            self.set_focus(stop)
            return
        value, who, place, why = (field.text.strip() for field in self._fields)
        self.dismiss((value, who, place, why))
