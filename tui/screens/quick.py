"""The quick check on one page: eight entries, the verdicts that they decide, and what was not looked at."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from hearthcalc import files, quick
from hearthcalc.errors import EntryError, HearthError
from hearthcalc.job import Document
from hearthcalc.lengths import Unit
from hearthcalc.reference import Edition
from hearthcalc.report.record import quick_lines
from hearthcalc_tui import storage
from hearthcalc_tui.field import Field, Note
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.screens.path import PathPage
from hearthcalc_tui.widgets import telling

FILE, WIDTH = "quick-check.txt", 80


class QuickPage(Page[Document]):
    """Answers the job to go on with; None where it was left."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "Next", show=False, priority=True),
        Binding("tab,down", "step(1)", "Next", show=False, priority=True),
        Binding("shift+tab,up", "step(-1)", "Before", show=False, priority=True),
        Binding("f2,ctrl+s", "go_on", "Go on as a job", show=False, priority=True),
        Binding("f9", "print", "To a text file", show=False, priority=True),
    ]

    def __init__(self, edition: Edition, unit: Unit) -> None:
        super().__init__(
            "Quick check",
            "Enter takes it; F2, Ctrl+S: a full job; F9: to a text file; Esc leaves",
        )
        self.add_class("-whole")
        self._edition = edition
        self._unit = unit
        self._taken: set[str] = set()

    def body(self) -> ComposeResult:
        for ask in quick.ASKS:
            unit = "" if ask.id == "flue" else self._unit
            yield Field(
                ask.id,
                ask.label,
                unit=unit,
                placeholder=ask.default,
                label_width=19,
                owner=self,
                id=f"quick-{ask.id}",
            )
        yield Static(id="quick-answer")

    def on_mount(self) -> None:
        self._fields[0].focus()
        self.call_after_refresh(self._show)

    def on_descendant_focus(self) -> None:
        self._show()

    @property
    def _fields(self) -> list[Field]:
        return list(self.query(Field))

    def edited(self, field: Field) -> None:
        """Each key is judged at once."""
        self._show()

    def left(self, field: Field) -> None:
        """Nothing more happens when a field is left: Enter takes it, and a text in it counts in any case."""

    def _answers(self) -> dict[str, str]:
        """What was answered and can be read."""
        answers = {}
        for field in self._fields:
            if not (field.text.strip() or field.address in self._taken):
                field.tell("", None)
                continue
            try:
                quick.entries(field.address, field.text, self._unit, self._edition)
            except EntryError as err:
                field.tell("", Note("mistake", f"{err.what} {err.fix}"))
                continue
            field.tell("", None)
            answers[field.address] = field.text
        return answers

    def _told(self) -> quick.Quick:
        return quick.check(self._answers(), self._unit, self._edition)

    def _show(self) -> None:
        told = self._told()
        width = max(40, self.size.width - 4)
        findings = [f for f in told.findings if f.id != "hearth.right"]  # both sides are one measurement here
        rows = [telling.line(finding, width) for finding in findings]
        if len(told.unmeasured) < len(quick.ASKS):
            rows.append(
                Content.assemble(telling.verdict_mark(told.overall), safe(f"  {told.words()}.", "bold"))
            )
        rows.append(safe(f"Not looked at: {', '.join(quick.NOT_LOOKED_AT)}.", "$quiet"))
        self.query_one("#quick-answer", Static).update(Content("\n").join(rows))
        here = self.focused.address if isinstance(self.focused, Field) else "width"
        self.query_one("#page-title", Static).update(safe(f"Quick check. {quick.BY_ID[here].how}"))

    def action_step(self, by: int) -> None:
        fields, here = (
            self._fields,
            self.focused,
        )  # at once: a field hears of its focus only after keys that came later
        at = fields.index(here) if isinstance(here, Field) else 0
        self.set_focus(fields[min(len(fields) - 1, max(0, at + by))])

    def action_take(self) -> None:
        field = self.focused
        if isinstance(field, Field):
            self._taken.add(field.address)
            self.action_step(1)
            self._show()

    def action_print(self) -> None:
        self.start(self._print())

    async def _print(self) -> None:
        """The answer as `hearthcalc quick` prints it, into a file of its own."""
        page = PathPage("Write the quick check to", "A text file, to print or to hand over.", name=FILE)
        answer = await self.app.push_screen_wait(page)
        if not answer:
            return
        path = files.full(storage.typed_path(answer))
        if files.there(path):
            said = f"There is a file {path.name} already. Nothing was written: choose another name."
        else:
            lines = quick_lines(self._told(), self._edition, WIDTH)
            try:
                storage.write(path, "\n".join(lines) + "\n")
                said = f"Written to {path}."
            except HearthError as error:
                said = f"{error.what} {error.fix}"
        self.query_one("#page-keys", Static).update(safe(said))

    def action_go_on(self) -> None:
        self.dismiss(quick.document(self._answers(), self._unit, self._edition))
