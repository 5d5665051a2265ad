"""The draft: what was entered, kept all along, so that a killed program loses at most the field being typed."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from hearthcalc.errors import HearthError
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.session.file import DraftToKeep


class Drafts:
    """Writes drafts in the order of the changes, off the thread that draws."""

    def __init__(self, surface: Surface, place: Place) -> None:
        self._surface = surface
        self._place = place
        self._writer = ThreadPoolExecutor(max_workers=1, thread_name_prefix="draft")

    def write(self) -> None:
        """Keep the record as it stands."""
        draft = self._place.session.draft()
        if draft is not None:
            self._writer.submit(self._write, draft)

    def _write(self, draft: DraftToKeep) -> None:
        try:
            draft.write()
        except HearthError as error:
            self._surface.from_thread(self._surface.say, f"The draft is not kept. {error}", bad=True)

    def drop(self) -> None:
        """Forget the draft, after the last change was written to it."""
        self._writer.submit(self._place.session.file.forget_draft)

    def close(self) -> None:
        """Wait for the last draft."""
        self._writer.shutdown(wait=True)
