"""A property over the open job: whatever is edited, undone, redone, saved, read again or cut off, nothing that was meant is lost.

The model beside it is a plain list of documents. Own property, no outside source.
"""

import shutil
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from mill import keep_in
from signs import SIGNS

from hearthcalc import jobfile
from hearthcalc.errors import FileError
from hearthcalc.job import read
from hearthcalc_tui import storage
from hearthcalc_tui.sections.table import sections
from hearthcalc_tui.session import Session, open_session

JOB = """\
# a house that is made up
format = "hearthcalc-job"
version = 1
[about]
title = "Mill cottage"
[[face]]
name = "study"
width = "36"    # at the floor
height = "30"
"""

ADDRESSES = (
    "about.title", "about.notes", "face.study.width", "face.study.hearth.front", "face.study.closure", "firebox.depth",
    "planned.firebox.depth", "planned.face.study.width", "flue.offsets",
)  # fmt: skip
TEXTS = st.one_of(
    st.sampled_from(["", "20", "7 1/2", "508 mm", "none", "glass doors", "20 furlongs", "[/]", "3 x"]),
    st.text(SIGNS, max_size=6),
)


class Walks(RuleBasedStateMachine):
    """One window on one job. steps: the documents that the record went through; at: where it stands."""

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.patch = pytest.MonkeyPatch()
        keep_in(self.folder, self.patch)
        self.path = self.folder / "mill.hearth.toml"
        self.path.write_text(JOB, encoding="utf-8")
        self.refused: dict[str, Any] | None = None
        self._open()

    def _open(self) -> None:
        self.session: Session = open_session(str(self.path))
        assert not self.session.file.elsewhere
        self.steps: list[dict[str, Any]] = [self.session.last.document]
        self.at = 0
        self.typing = False

    def teardown(self) -> None:
        if hasattr(self, "session"):
            self.session.file.release()
            self.patch.undo()
            shutil.rmtree(self.folder)

    def _settle(self) -> None:
        """What a committed change does to the model and to the draft, as the desk does it."""
        self.session.keep()
        self.typing = False
        if self.session.last.document != self.steps[self.at]:
            del self.steps[self.at + 1 :]
            self.steps.append(self.session.last.document)
            self.at += 1
        draft = self.session.draft()
        assert draft is not None
        draft.write()
        self.refused = None

    @rule(address=st.sampled_from(ADDRESSES), text=TEXTS)
    def edit(self, address: str, text: str) -> None:
        self._settle()
        before = self.session.last.document
        self.session.type(address, text)
        assert self.session.last.document is before
        self._settle()

    @rule(address=st.sampled_from(ADDRESSES), text=TEXTS)
    def type_on(self, address: str, text: str) -> None:
        self._settle()
        self.session.type(address, text)
        self.typing = True

    @rule(entries=st.lists(st.tuples(st.sampled_from(ADDRESSES), TEXTS), min_size=1, max_size=3))
    def paste(self, entries: list[tuple[str, str]]) -> None:
        self._settle()
        before = self.session.last
        with self.session.trying(entries):
            tried = self.session.now.document
        assert self.session.now is before
        self.session.take(entries)
        assert self.session.last.document == tried
        del self.steps[self.at + 1 :]
        self.steps.append(tried)
        self.at += 1
        self._settle()

    @rule()
    def undo(self) -> None:
        self._settle()
        moved = self.session.undo()
        assert (moved is None) == (self.at == 0)
        self.at = max(0, self.at - 1)
        self._settle()

    @rule()
    def redo(self) -> None:
        self._settle()
        moved = self.session.redo()
        assert (moved is None) == (self.at + 1 == len(self.steps))
        self.at = min(len(self.steps) - 1, self.at + 1)
        self._settle()

    @rule()
    def turn_units(self) -> None:
        self._settle()
        width = read(self.session.last.document)[0].face[0].width
        self.session.turn_units()
        again = read(self.session.last.document)[0].face[0].width
        assert (width and width.value) == (again and again.value)
        del self.steps[self.at + 1 :]
        self.steps.append(self.session.last.document)
        self.at += 1
        self._settle()

    @rule()
    def save(self) -> None:
        self._settle()
        self.session.save(self.path)
        assert not self.session.unsaved
        assert jobfile.load(self.path).fingerprint
        assert "# a house that is made up" in self.path.read_text(encoding="utf-8")
        self._settle()

    @rule()
    def save_on_a_full_disk(self) -> None:
        self._settle()
        before, unsaved = self.path.read_bytes(), self.session.unsaved

        def full(path: Path, text: str) -> str:
            raise FileError("Not saved", "It cannot be written: the disk is full.", fix="Free some room.")

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(storage, "write", full)
            with pytest.raises(FileError, match="the disk is full"):
                self.session.save(self.path)
        assert self.path.read_bytes() == before
        assert self.session.unsaved == unsaved

    @precondition(lambda self: not self.session.unsaved)
    @rule()
    def close_and_open(self) -> None:
        self._settle()
        readable = read(self.session.last.document)[0].document()
        self.session.file.release()
        self._open()
        assert self.session.draft_left() is None
        now = self.session.last.job.document()
        assert {k: v for k, v in now.items() if k != "judged"} == readable

    @rule(take=st.booleans())
    def crash(self, take: bool) -> None:
        """The program is killed: what is being typed may go, what was meant before it may not."""
        meant, unsaved = self.steps[self.at], self.session.last.document != self.session.file.saved
        self.session.file.release()
        self._open()
        left = self.session.draft_left()
        if left is None:
            assert not unsaved or self.session.last.document == meant or not list(_told(self.steps[0], meant))
            return
        assert left.document == (self.refused or meant), (
            "what was refused lies there until something else is written"
        )
        self.session.take_draft(left, at_once=take)
        self.steps.append(left.document)
        self.refused = None if take else left.document
        self.at = 1 if take else 0

    @invariant()
    def the_record_is_where_the_model_is(self) -> None:
        if hasattr(self, "session"):
            assert self.session.last.document == self.steps[self.at]
            assert self.typing or self.session.now is self.session.last

    @invariant()
    def the_screen_can_always_be_drawn(self) -> None:
        if hasattr(self, "session"):
            self.session.mistakes()
            for section in sections(self.session.job("found"), {}):
                for address in section.addresses:
                    self.session.entry(address)


def _told(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    from hearthcalc_tui.entries import differences

    return list(differences(one, other))


TestWalks = Walks.TestCase
TestWalks.settings = settings(max_examples=25, stateful_step_count=20, deadline=None)
