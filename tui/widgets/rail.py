"""The rail of sections: a column where there is room, one line where there is not."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from rich.cells import set_cell_size
from textual import events
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.findings import Verdict
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.widgets.options import Options
from hearthcalc_tui.widgets.telling import verdict_mark

TITLE_WIDTH = 16


class Stop(Struct, frozen=True):
    """One section as the rail shows it. unread: an entry of it cannot be read."""

    title: str
    filled: int
    fields: int
    verdict: Verdict | None
    unread: bool

    @property
    def tally(self) -> str:
        return f"{self.filled}/{self.fields}" + ("!" if self.unread else "")

    def line(self, width: int = TITLE_WIDTH) -> Content:
        title = plain(self.title, 60)
        return Content.assemble(
            set_cell_size(title, width),
            (f" {self.tally:>5}  ", "$quiet"),
            verdict_mark(self.verdict),
        )


class Rail(Options):
    """Every section, the shown one highlighted."""

    def __init__(self) -> None:
        super().__init__(id="rail")
        self._stops: tuple[Stop, ...] = ()

    def show(self, stops: Sequence[Stop], at: int) -> None:
        if len(stops) != len(self._stops):
            self.set_options(Option(stop.line()) for stop in stops)
        else:
            for number, (new, old) in enumerate(zip(stops, self._stops, strict=True)):
                if new != old:
                    self.replace_option_prompt_at_index(number, new.line())
        self._stops = tuple(stops)
        if self.highlighted != at:
            with self.prevent(OptionList.OptionHighlighted):
                self.highlighted = at


class RailLine(Static):
    """The section shown, between the one before and the one after."""

    def __init__(self) -> None:
        super().__init__(id="rail-line")
        self._tab = range(0)  # the columns of the section shown

    def show(self, stops: Sequence[Stop], at: int) -> None:
        stop = stops[at]
        before = stops[at - 1].title if at else ""
        after = stops[at + 1].title if at + 1 < len(stops) else ""
        lead = Content.assemble(
            (f" {at + 1}/{len(stops)} ", "$quiet"),
            safe(f"{GLYPHS.left} {before}  " if before else "", "$quiet", 24),
        )
        tab = Content.assemble(
            safe(f" {stop.title} ", "bold $cursor-ink on $brick", 40),
            (f" {stop.filled} of {stop.fields} ", "$foreground"),
            ("! cannot be read  " if stop.unread else "", "bold $verdict-short"),
            verdict_mark(stop.verdict),
        )
        rest = safe(f"   {after} {GLYPHS.right}" if after else "", "$quiet", 30)
        self._tab = range(lead.cell_length, lead.cell_length + tab.cell_length)
        self.update(Content.assemble(lead, tab, rest), layout=False)

    async def on_click(self, event: events.Click) -> None:
        """To the section before, to the one after, or on the one shown to the list of all."""
        before, on_it = event.x < self._tab.start, event.x in self._tab
        command = "previous_section" if before else "sections" if on_it else "next_section"
        await self.app.run_action(f"command({command!r})")
