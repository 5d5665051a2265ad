"""A page that looks for something in a thread that can be stopped, then lists what was found."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import OptionList, Static
from textual.worker import get_current_worker

from hearthcalc.errors import HearthError
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets.options import Options

Answer = TypeVar("Answer")


class StoppedError(Exception):
    """The page was left while the search went on."""


class SearchPage(Page[Answer]):
    """How far the search is, a list, and more of the row in hand. Esc stops the search."""

    CSS_PATH = "pages.tcss"

    def body(self) -> ComposeResult:
        yield Static(id="progress")
        yield Options(classes="page-list")
        with VerticalScroll(classes="page-detail", can_focus=False):
            yield Static(id="cure")

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()
        self.start_thread(self._search, "search")

    def look(self, tell: Callable[[str], None]) -> Any:
        """What is looked for, in the thread; each page says what. tell: how far it is; raises StoppedError where the page has been left."""

    def found(self, answer: Any) -> None:
        """List what was found; each page in its own way."""

    def _search(self) -> None:
        worker = get_current_worker()

        def tell(text: str) -> None:
            if worker.is_cancelled:
                raise StoppedError
            self.from_thread(self.progress, text)

        try:
            answer = self.look(tell)
        except StoppedError:
            return
        except HearthError as error:
            self.from_thread(self.progress, f"{error.what} {error.fix}")
            return
        if not worker.is_cancelled:
            self.from_thread(self.found, answer)

    def progress(self, text: str) -> None:
        self.query_one("#progress", Static).update(safe(text, "$quiet", 160))
