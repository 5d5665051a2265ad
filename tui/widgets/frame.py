"""What is on screen from the first paint: masthead, caution, key line. Kept light: nothing here may import the engine."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size
from textual import events
from textual.content import Content
from textual.style import Style
from textual.widgets import Static

from hearthcalc import caution
from hearthcalc_tui import commands
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe


class Masthead(Static):
    """Whose job this is, whether it is saved, which stage and edition stand."""

    def __init__(self) -> None:
        super().__init__(id="masthead")
        self._shown = ("", "", "")

    def show(self, title: str, *, unsaved: bool = False, kept: bool = True, tail: str = "") -> None:
        """title: the job's own; kept: is what is unsaved on disk; tail: stage, edition and unit, to the right and never cut."""
        mark = f" {GLYPHS.unsaved} not saved{'' if kept else ', not kept'}" if unsaved else ""
        if (title, mark, tail) != self._shown:
            self._shown = (title, mark, tail)
            self.refresh()

    def render(self) -> Content:
        title, unsaved, tail = self._shown
        head = Content.assemble((" HEARTHCALC ", "bold $cursor-ink on $brick"), "  ")
        mark = Content.styled(unsaved, "$ember")
        end = safe(f"{tail} ", "$quiet", 80)
        room = self.size.width - head.cell_length - mark.cell_length - end.cell_length - 2
        name = plain(title, 200)
        shown = name if cell_len(name) <= room else set_cell_size(name, max(0, room - 1)) + GLYPHS.more
        gap = " " * max(2, room + 2 - cell_len(shown))
        return Content.assemble(head, (shown, "bold"), mark, gap, end)


class CautionLine(Static):
    """The caution that never leaves. In full until it was read, then on one row."""

    def __init__(self, *, read: bool = False) -> None:
        super().__init__(Content(caution.SHORT if read else caution.LINE), id="caution")

    def was_read(self) -> None:
        """From now on one row is enough."""
        self.update(caution.SHORT)


class KeyLine(Static):
    """The keys of the moment, or the last message until the next command."""

    def __init__(self) -> None:
        super().__init__(id="keys")
        self._message = ""
        self._bad = False

    def say(self, message: str, *, bad: bool = False) -> None:
        """A message in the place of the keys; "" brings the keys back."""
        if (message, bad) != (self._message, self._bad):
            self._message, self._bad = message, bad
            self.refresh()

    def render(self) -> Content:
        if self._message:
            style = "bold $verdict-short" if self._bad else "bold $foreground"
            return safe(f" {'! ' if self._bad else ''}{self._message}", style, 300)
        parts: list[Content] = []
        room = self.size.width
        for command in sorted((c for c in commands.COMMANDS if c.rank), key=lambda c: c.rank):
            key, word = commands.key_name(command.keys[0]).replace("Ctrl+", "^"), command.short
            room -= len(key) + len(word) + 2
            if room >= 0:
                text = Content.assemble((f" {key} ", "bold $ember"), (word, "$quiet"))
                parts.append(text.stylize(Style.from_meta({"command": command.id})))
        return Content.assemble(*parts)

    async def on_click(self, event: events.Click) -> None:
        """On a key, what it does."""
        if id := event.style.meta.get("command"):
            await self.app.run_action(f"command({id!r})")
