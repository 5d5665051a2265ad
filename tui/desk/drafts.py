"""The draft: what was entered, on disk before the next key is taken, so that a killed program loses at most the field being typed."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from hearthcalc.errors import HearthError
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.session import DraftToKeep, Session


class Drafts:
    """Writes drafts at once; makes them last through a loss of power in a thread of its own, which may take its time."""

    def __init__(self, surface: Surface, place: Place) -> None:
        self._surface = surface
        self._place = place
        self._left: Session | None = None
        self._unsynced: DraftToKeep | None = None
        self._syncing = ThreadPoolExecutor(max_workers=1, thread_name_prefix="draft")

    def write(self, after: str = "") -> None:
        """Keep the record as it stands. after: the entry taken last."""
        file = self._place.session.file
        if file.take_over():
            self._surface.beside(file.box)
            self._surface.say("The other window has closed this job. Unsaved work is kept from here on.")
        draft = self._place.session.draft()
        if draft is None:
            return
        try:
            draft.write()
        except HearthError as error:
            file.keeps = False
            self._surface.say(f"Unsaved work is not kept. {error}", bad=True)
            return
        file.keeps = True
        self._surface.entered(after)
        self._unsynced = draft
        self._syncing.submit(self._sync)

    def _sync(self) -> None:
        draft, self._unsynced = self._unsynced, None
        if draft is not None and draft.unsaved:
            draft.box.sync()

    def keep_all(self) -> None:
        """Keep the record with what is being typed: the program ends. HearthError where that fails."""
        session = self._place.session
        draft = session.draft(typing=True)
        if draft is None or session is self._left:
            return
        # Nothing is dropped here: a draft that was left may not have been decided about yet.
        if draft.unsaved:
            draft.write()
        if not self._surface.covered:  # what was typed into a page stands in no record
            self._surface.entered()

    def leave(self) -> None:
        """Forget the draft: the person leaves the job without it."""
        self._left = self._place.session
        self._left.file.forget_draft()

    def stay(self) -> None:
        """Keep after all what was left: there was nothing to leave it for."""
        if self._left is self._place.session:
            self._left = None
            self.write()

    def close(self) -> None:
        """Wait for the last draft to be on a disk that outlasts a loss of power."""
        self._syncing.shutdown(wait=True)
