"""The form: one section at a time, one widget a field, and what was understood of the field in hand."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.css.query import NoMatches
from textual.style import Style
from textual.widgets import Static

from hearthcalc_tui.faults import Guarded
from hearthcalc_tui.field import Beside, Field, Note, Owner
from hearthcalc_tui.safe import safe

LONGEST_LABEL = 20


class Row(Struct, frozen=True):
    """What one field shows. key: its field in the record, "" for the choice of a thing.

    beside: what the other stage says, where the work can change it.
    understood: what was read, "" where its choices are listed; range: what is usual; full_label, how: what it is, and how to measure it.
    """

    address: str
    key: str
    label: str
    text: str = ""
    unit: str = ""
    choices: tuple[str, ...] = ()
    optional: bool = True
    placeholder: str = ""
    echo: str = ""
    note: Note | None = None
    beside: Beside | None = None
    understood: str = ""
    range: str = ""
    full_label: str = ""
    how: str = ""
    suggestion: str = ""


class Form(Guarded, Vertical):
    """The fields of the chosen section. owner: who hears what happens in them, known before the first is shown."""

    def __init__(self) -> None:
        super().__init__(id="form")
        self.owner: Owner | None = None
        self.rows: tuple[Row, ...] = ()
        self.fields: list[Field] = []

    def compose(self) -> ComposeResult:
        yield Static(id="form-title")
        yield Static(id="form-columns")
        yield VerticalScroll(id="form-body", can_focus=False)
        yield Static(id="understood")

    def entitle(self, title: Content) -> None:
        self.query_one("#form-title", Static).update(title, layout=False)

    async def show(self, rows: Sequence[Row]) -> None:
        """Show these rows: in the widgets that are there where the fields are the same, else in new ones."""
        if [row.key for row in rows] == [row.key for row in self.rows]:
            self.fill(rows)
            return
        body = self.query_one("#form-body", VerticalScroll)
        width = min(LONGEST_LABEL, max((len(row.label) for row in rows), default=0))
        # Both at once, before the first wait: what comes meanwhile finds them in step.
        before, self.rows, self.fields = self.fields, tuple(rows), [self._field(row, width) for row in rows]
        with self.app.batch_update():
            # Textual would put the cursor into the list of findings meanwhile.
            if self.screen.focused in before:
                self.screen.set_focus(None)
            await body.remove_children(before)
            await body.mount_all(self.fields)
            body.scroll_home(animate=False)
        self.call_after_refresh(self._head_columns)

    def _field(self, row: Row, width: int) -> Field:
        field = Field(
            row.address,
            row.label,
            text=row.text,
            unit=row.unit,
            choices=row.choices,
            optional=row.optional,
            placeholder=row.placeholder,
            label_width=width,
            owner=self.owner,
        )
        field.echo, field.note, field.beside, field.takes_lists = row.echo, row.note, row.beside, True
        return field

    def fill(self, rows: Sequence[Row], *, but: Field | None = None) -> None:
        """Bring the fields up to date. but: the one being typed in, whose text is left alone."""
        self.rows = tuple(rows)
        for field, row in zip(self.fields, rows, strict=True):
            field.address = row.address
            if (field.unit, field.choices) != (row.unit, row.choices):
                field.unit, field.choices = row.unit, row.choices
                field.refresh()
            if field is not but:
                field.fill(row.text, placeholder=row.placeholder)
            field.tell(row.echo, row.note, row.beside)
        self._head_columns()

    def on_resize(self) -> None:
        self.call_after_refresh(self._head_columns)

    def _head_columns(self) -> None:
        """Over two columns, which is found and which is planned; the one in hand marked."""
        try:
            head, body = self.query_one("#form-columns", Static), self.query_one("#form-body")
        except NoMatches:  # called after a refresh, when the screen is going or not there yet
            return
        field = next((field for field in self.fields if field.two_columns), None)
        head.display = field is not None
        if field is None or field.beside is None:
            return
        start, width = field.columns(body.scrollable_content_region.width)
        here, other = "bold $brick", "$quiet"
        found, planned = (here, other) if field.beside.planned else (other, here)
        head.update(
            Content.assemble(
                " " * start, (f"{'found':<{width}} ", found), (f"{'planned':<{width}}", planned)
            ),
            layout=False,
        )

    def adjust(self, rows: Sequence[Row], *, but: Field | None = None) -> bool:
        """Bring the fields up to date where some come or go and the rest stay in their order. False where that cannot be done at once."""
        before, after = _numbered(self.rows), _numbered(rows)
        there = dict(zip(before, self.fields, strict=True))
        gone = [there[key] for key in before if key not in after]
        kept = [key for key in after if key in there]
        in_order = [key for key in before if key in after] == kept
        if not kept or not in_order or any(field.has_focus for field in gone):
            return False
        # In new lists: a show that waits meanwhile goes on with those that it finds.
        width = self.fields[0].label_width
        self.fields = [
            there[key] if key in there else self._field(row, width)
            for key, row in zip(after, rows, strict=True)
        ]
        for field in gone:
            field.remove()
        body, last = self.query_one("#form-body", VerticalScroll), None
        for key, field in zip(after, self.fields, strict=True):
            if key not in there:
                body.mount(field, after=last) if last is not None else body.mount(field, before=0)
            last = field
        self.fill(rows, but=but)
        return True

    def on_click(self, event: events.Click) -> None:
        """On a choice under the fields: it is chosen."""
        field = self.screen.focused
        if isinstance(field, Field) and (choice := event.style.meta.get("choice")):
            field.put(choice)

    def row_of(self, field: Field) -> Row | None:
        return next((row for row, own in zip(self.rows, self.fields, strict=True) if own is field), None)

    def field_at(self, address: str) -> Field | None:
        return next((field for field in self.fields if field.address == address), None)

    def explain(self, row: Row | None) -> None:
        """Say under the fields what was understood of the one in hand, and what is usual. A choice there takes a click."""
        lines = [Content("")] * 3
        if row is not None:
            understood = safe(row.understood) if row.understood or not row.choices else _listed(row)
            lines = [understood, safe(row.range, "$quiet"), safe(row.how, "$quiet")]
        self.query_one("#understood", Static).update(Content("\n").join(lines), layout=False)


def _listed(row: Row) -> Content:
    """The choices of a row, the one taken in brackets; each carries itself, for the mouse."""
    return Content("  ").join(
        safe(f"[{choice}]" if choice == row.text else choice).stylize(Style.from_meta({"choice": choice}))
        for choice in row.choices
    )


def _numbered(rows: Sequence[Row]) -> list[tuple[str, int]]:
    """The key of each row, and how many of it stand before: what tells it from the others of its section."""
    seen: dict[str, int] = {}
    made = []
    for row in rows:
        seen[row.key] = seen.get(row.key, 0) + 1
        made.append((row.key, seen[row.key]))
    return made
