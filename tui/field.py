"""The one entry field. It runs its own editing keys in the order in which they arrive, so a burst of keys lands right."""

from __future__ import annotations

import re
from collections.abc import Sequence
from textwrap import wrap
from typing import ClassVar, Protocol

from msgspec import Struct
from rich.cells import cell_len, set_cell_size
from textual import events
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widget import Widget

from hearthcalc_tui import commands
from hearthcalc_tui.faults import Guarded
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import ELLIPSIS, plain

MAX_TEXT = 2000
NOT_KNOWN = "not known"
NARROWEST_ENTRY = 9
UNIT_WIDTH = 2


class Line:
    """One line of text under edit. fresh: nothing was edited since it was entered, so typing replaces it all."""

    def __init__(self, text: str = "") -> None:
        self.text = text
        self.cursor = len(text)
        self.fresh = False

    def set(self, text: str) -> None:
        self.text = text
        self.cursor = len(text)
        self.fresh = False

    def insert(self, typed: str) -> None:
        if self.fresh:
            self.set("")
        room = max(0, MAX_TEXT - len(self.text))
        typed = typed[:room]
        self.text = self.text[: self.cursor] + typed + self.text[self.cursor :]
        self.cursor += len(typed)

    def key(self, key: str) -> bool:
        """Run an editing key; False where it is none."""
        edit = _EDITS.get(key)
        if edit is None:
            return False
        edit(self)
        self.fresh = False
        return True

    def _cut(self, start: int, end: int) -> None:
        if self.fresh:
            start, end = 0, len(self.text)
        self.text = self.text[:start] + self.text[end:]
        self.cursor = start

    def _word_start(self) -> int:
        before = self.text[: self.cursor].rstrip()
        return before.rfind(" ") + 1

    def _word_end(self) -> int:
        ahead = self.text[self.cursor :]
        skipped = len(ahead) - len(ahead.lstrip())
        space = ahead.find(" ", skipped)
        return len(self.text) if space < 0 else self.cursor + space

    def _to(self, place: int) -> None:
        self.cursor = max(0, min(len(self.text), place))


_EDITS = {
    "left": lambda line: line._to(line.cursor - 1),
    "right": lambda line: line._to(line.cursor + 1),
    "home": lambda line: line._to(0),
    "end": lambda line: line._to(len(line.text)),
    "ctrl+left": lambda line: line._to(line._word_start()),
    "ctrl+right": lambda line: line._to(line._word_end()),
    "backspace": lambda line: line._cut(max(0, line.cursor - 1), line.cursor),
    "delete": lambda line: line._cut(line.cursor, line.cursor + 1),
    "ctrl+u": lambda line: line._cut(0, line.cursor),
    "ctrl+backspace": lambda line: line._cut(line._word_start(), line.cursor),
}


class Note(Struct, frozen=True):
    """What stands under a field. kind: "mistake", "question", "found", "limit", or a verdict in small letters."""

    kind: str
    text: str


class Beside(Struct, frozen=True):
    """The same entry in the other stage. planned: is it the planned one.  differs: does it say something else."""

    text: str
    planned: bool
    differs: bool = False


_NOTE_SIGNS = {"mistake": "!", "question": "?"}
_NOTE_STYLES = {
    "mistake": "$verdict-short",
    "question": "$verdict-close",
    "found": "$quiet",
    "limit": "$quiet",
}


def _note_style(note: Note) -> str:
    return _NOTE_STYLES.get(note.kind) or f"$verdict-{note.kind}"


class Owner(Protocol):
    """Who is told what happens in a field, at once and in the order in which it happens.

    A message would pass through the queue of every widget above, and arrive after keys that came later.
    """

    def edited(self, field: Field) -> None:
        """The text changed."""

    def left(self, field: Field) -> None:
        """The field was left, so what stands in it is meant."""


class Field(Guarded, Widget, can_focus=True):
    """One row of a section in one widget: label, entry, unit, what was understood, and what is wrong with it.

    choices: where given, the entry is one of them; optional: or "" for not known.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(keys, f"app.{action}", title, show=False, priority=True)
        for keys, action, title in commands.bindings("field")
    ]

    # Textual would lay out all anew for it, and nothing in a field scrolls.
    virtual_size = Reactive(Size(0, 0))

    class ListPasted(Message):
        """Several lines were pasted into a field that leaves them to others."""

        def __init__(self, field: Field, rows: list[str]) -> None:
            super().__init__()
            self.field = field
            self.rows = rows

    def __init__(
        self,
        address: str,
        label: str,
        *,
        text: str = "",
        unit: str = "",
        choices: Sequence[str] = (),
        placeholder: str = "",
        optional: bool = True,
        label_width: int = 18,
        owner: Owner | None = None,
        id: str | None = None,
    ) -> None:
        super().__init__(id=id)
        self.address = address
        self.label = label
        self.unit = unit
        self.choices = tuple(choices)
        self.optional = optional
        self.placeholder = placeholder
        self.label_width = label_width
        self.owner = owner
        self.echo = ""
        self.note: Note | None = None
        self.beside: Beside | None = None
        self.takes_lists = False
        self.line = Line(text)
        self._before = text
        self._letters = ""

    @property
    def text(self) -> str:
        return self.line.text

    def fill(self, text: str, *, placeholder: str = "") -> None:
        """Show another text, as after undo."""
        if (text, placeholder) != (self.line.text, self.placeholder):
            self.refresh()
        if text != self.line.text:
            fresh = self.line.fresh
            self.line.set(text)
            self.line.fresh = fresh and bool(text)
        self._before = text
        self.placeholder = placeholder

    def tell(self, echo: str, note: Note | None, beside: Beside | None = None) -> None:
        """Say what was understood, what is wrong, and what the other stage says."""
        if (echo, note, beside) == (self.echo, self.note, self.beside):
            return
        before = self._note_rows(self.size.width)
        self.echo, self.note, self.beside = echo, note, beside
        self.refresh(layout=self._note_rows(self.size.width) != before)

    @property
    def two_columns(self) -> bool:
        """Is there room for found and planned side by side, and something to show there."""
        return self.beside is not None and self.is_attached and self.screen.has_class("-wide")

    def _said(self) -> Note | None:
        """The note, with the entry of the other stage where that differs and has no column of its own."""
        note, beside = self.note, self.beside
        if beside is None or not beside.differs or self.two_columns or (note and note.kind in _NOTE_SIGNS):
            return note
        words = f"as {'planned' if beside.planned else 'found'}: {beside.text}"
        return Note(note.kind, f"{note.text}; {words}") if note else Note("found", words.capitalize())

    def revert(self) -> bool:
        """Take back what was typed since the field was entered; False where nothing was."""
        if self.line.text == self._before:
            return False
        self.line.set(self._before)
        self.line.fresh = bool(self._before)
        self._tell_edited()
        self.refresh()
        return True

    def put(self, text: str) -> None:
        """Replace the text as if it had been typed."""
        self.line.set(text)
        self._tell_edited()
        self.refresh()

    def _tell_edited(self) -> None:
        if self.owner:
            self.owner.edited(self)

    def watch_has_focus(self, _has_focus: bool) -> None:
        """Nothing in the style sheet hangs on it: a field shows by itself that the cursor is in it."""

    def on_focus(self) -> None:
        self._before = self.line.text
        self.line.cursor = len(self.line.text)
        self.line.fresh = bool(self.line.text)
        self._letters = ""
        self.refresh()

    def on_blur(self) -> None:
        self.line.fresh = False
        if self.owner:
            self.owner.left(self)
        self.refresh()

    def on_click(self, event: events.Click) -> None:
        """In the column of the other stage: over to that stage."""
        if self.beside is None or not self.two_columns:
            return
        start, width = self.columns(self.content_size.width)
        left = start + (width + 1 if self.beside.planned else 0)
        if left <= event.x < left + width:
            self.call_later(self.run_action, "app.command('stage')")

    def on_key(self, event: events.Key) -> None:
        before = self.line.text
        typed = event.character if event.is_printable and not event.key.startswith("alt+") else None
        if self.choices:
            used = self._choose(event.key, typed)
        elif typed:
            self.line.insert(plain(typed))
            used = True
        else:
            used = self.line.key(event.key)
        if not used:
            return
        event.stop()
        event.prevent_default()
        self._after_edit(before)

    def on_paste(self, event: events.Paste) -> None:
        event.stop()
        self.paste(event.text)

    def paste(self, text: str) -> None:
        """Put a text in; several lines are a list, which may be for other fields too."""
        rows = text.strip().splitlines()
        if len(rows) > 1 and self.takes_lists:
            self.post_message(self.ListPasted(self, rows))
        elif rows:
            self.insert(plain(rows[0].strip()))

    def insert(self, text: str) -> None:
        """Put a text where the cursor stands, as if it had been typed."""
        before = self.line.text
        if self.choices:
            if text in self.choices:
                self.line.set(text)
        else:
            self.line.insert(text)
        self._after_edit(before)

    def _after_edit(self, before: str) -> None:
        if self.line.text != before:
            self._tell_edited()
        self.refresh()

    def _choose(self, key: str, typed: str | None) -> bool:
        """Keys of a field of choices: letters go to the choice they begin, arrows and space step through them."""
        self.line.fresh = False
        if key in {"left", "right", "space"}:
            row = ("", *self.choices) if self.optional else self.choices
            now = row.index(self.line.text) if self.line.text in row else 0
            self.line.set(row[(now + (-1 if key == "left" else 1)) % len(row)])
            self._letters = ""
            return True
        if key == "backspace" and self._letters and not self._begun():
            self._letters = self._letters[:-1]
            self._take_begun()
            return True
        if key in {"backspace", "delete", "ctrl+u"}:
            if self.optional:
                self.line.set("")
            self._letters = ""
            return True
        if typed is None:
            return False
        self._letters += typed.lower()
        if not self._begun() and set(self._letters) == {
            typed.lower()
        }:  # the same letter again: the next of them
            self._letters = typed.lower()
            begun = self._begun()
            if self.line.text in begun:
                begun = begun[begun.index(self.line.text) + 1 :] + begun
            if begun:
                self.line.set(begun[0])
            return True
        self._take_begun()
        return True

    def _take_begun(self) -> None:
        """The first choice that the letters find; where they find nothing, nothing is chosen that was not there before them."""
        begun = self._begun()
        if begun:
            self.line.set(begun[0])
        elif self._letters:
            self.line.set(self._before if self._before in self.choices else "")

    def _begun(self) -> list[str]:
        """The choices that begin with the letters typed, else those of which a later word does."""
        first = [choice for choice in self.choices if choice.lower().startswith(self._letters)]
        if first or not self._letters.isalpha():
            return first
        return [
            choice
            for choice in self.choices
            if any(word.startswith(self._letters) for word in re.split("[_ -]", choice.lower()))
        ]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._label_rows(width)) + len(self._note_rows(width))

    def render(self) -> Content:
        width = self.content_size.width
        rows = self._rows(width)
        said = self._said()
        if said is not None:
            style = _note_style(said)
            rows += [Content.styled(row, style) for row in self._note_rows(width)]
        return Content("\n").join(rows)

    def _note_rows(self, width: int) -> list[str]:
        note = self._said()
        if note is None:
            return []
        room = max(12, width - 4)
        return [f"    {row}" for row in wrap(plain(note.text, 400), room)]

    def _label_rows(self, width: int) -> list[str]:
        return wrap(self.label, self._label_width(width)) or [""]

    def _label_width(self, width: int) -> int:
        other = NARROWEST_ENTRY + 1 if self.two_columns else 0
        return max(6, min(self.label_width, width - NARROWEST_ENTRY - UNIT_WIDTH - 4 - other))

    def columns(self, width: int) -> tuple[int, int]:
        """Where the columns of found and planned begin, and how wide each is."""
        start = self._label_width(width) + 3
        return start, max(4, min(14, (width - start - UNIT_WIDTH - 3) // 2))

    def _rows(self, width: int) -> list[Content]:
        """The label, on as many rows as it takes, with the entry beside its first."""
        focused = self.has_focus
        label_width = self._label_width(width)
        room = max(4, width - label_width - 3)
        echo = self.echo
        if self.two_columns:
            entry, echo = self.columns(width)[1], ""
        elif self.unit:
            entry = max(NARROWEST_ENTRY, min(14, room // 2))
            tail = room - entry - UNIT_WIDTH - 2
            if cell_len(echo) > tail:
                echo = echo.rpartition(" = ")[2]
            echo = echo if tail >= cell_len(echo) else ""
        else:
            entry, echo = room, ""
        mark = (
            _NOTE_SIGNS[self.note.kind]
            if self.note and self.note.kind in _NOTE_SIGNS
            else GLYPHS.right
            if focused
            else " "
        )
        mark_style = _note_style(self.note) if self.note and self.note.kind in _NOTE_SIGNS else "$ember"
        label_style = "bold $foreground" if focused else "$foreground"
        first, *others = self._label_rows(width)
        parts: list[Content | str | tuple[str, str]] = [
            (f"{mark} ", f"bold {mark_style}"),
            (_fit(first, label_width), label_style),
            " ",
            *self._entries(entry, focused),
        ]
        if self.unit:
            parts += [(f" {self.unit:<{UNIT_WIDTH}} ", "$quiet"), (echo, "$quiet")]
        return [Content.assemble(*parts), *(Content.styled(f"  {row}", label_style) for row in others)]

    def _entries(self, width: int, focused: bool) -> list[tuple[str, str]]:
        """The entry, and where there are two columns the one of the other stage on its side of it."""
        own = self._entry(width, focused)
        if self.beside is None or not self.two_columns:
            return own
        other = (_fit(plain(self.beside.text), width), "$foreground" if self.beside.differs else "$quiet")
        return [*own, (" ", ""), other] if self.beside.planned else [other, (" ", ""), *own]

    def _entry(self, width: int, focused: bool) -> list[tuple[str, str]]:
        """The entry itself, with its cursor, as styled pieces of exactly that many cells."""
        text = plain(self.line.text)
        ground = "on $panel" if focused else "on $entry"
        if self.choices:
            return self._choice(text, width, focused, ground)
        if not text:
            hint = _fit(plain(self.placeholder), width)
            if not focused:
                return [(hint, f"italic underline $quiet {ground}")]
            return [(hint[:1], "$cursor-ink on $cursor-ground"), (hint[1:], f"italic $quiet {ground}")]
        if not focused:
            return [(_fit(text, width), f"underline $foreground {ground}")]
        if self.line.fresh:
            shown = text if cell_len(text) <= width else _fit(text, width)
            rest = width - cell_len(shown)
            return [(shown, "$cursor-ink on $cursor-ground"), (" " * rest, ground)]
        cursor = min(self.line.cursor, len(text))
        start = 0
        while cell_len(text[start : cursor + 1]) + (cursor == len(text)) > width:
            start += 1
        before, under, after = text[start:cursor], text[cursor : cursor + 1] or " ", text[cursor + 1 :]
        rest = width - cell_len(before) - cell_len(under)
        return [
            (before, f"$foreground {ground}"),
            (under, "$cursor-ink on $cursor-ground"),
            (set_cell_size(after, max(0, rest)), f"$foreground {ground}"),
        ]

    def _choice(self, text: str, width: int, focused: bool, ground: str) -> list[tuple[str, str]]:
        lost = focused and self._letters and not self._begun()
        shown = f"{self._letters}: not found" if lost else text or plain(self.placeholder)
        style = f"$foreground {ground}" if text else f"italic $quiet {ground}"
        if not focused:  # the line under it is what shows the box: grounds alone are too close
            return [(_fit(shown, width), f"underline {style}")]
        inner = _fit(shown or NOT_KNOWN, min(width - 4, cell_len(shown or NOT_KNOWN)))
        rest = " " * (width - 4 - cell_len(inner))
        return [
            (f"{GLYPHS.left} ", f"bold $ember {ground}"),
            (inner, f"bold {style}"),
            (f" {GLYPHS.right}", f"bold $ember {ground}"),
            (rest, ground),
        ]


def _fit(text: str, width: int) -> str:
    """Text cut or filled to so many cells."""
    if width <= 0:
        return ""
    if cell_len(text) <= width:
        return text + " " * (width - cell_len(text))
    return set_cell_size(text, width - 1) + ELLIPSIS
