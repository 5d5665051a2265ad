"""Where the open job is kept: its file, its draft, and the claim that tells a second window of the first."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path

from msgspec import Struct

from hearthcalc import files, jobfile
from hearthcalc.errors import FileError
from hearthcalc.job import Job
from hearthcalc_tui import storage
from hearthcalc_tui.entries import Document, differences
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.journal import Left
from hearthcalc_tui.safe import plain
from hearthcalc_tui.storage import DraftBox

ENDING = ".hearth.toml"


class LeftDraft(Struct, frozen=True):
    """A draft that says something else than the file. differs: what, one line each."""

    document: Document
    differs: tuple[str, ...]
    file_changed: bool


class DraftToKeep(Struct, frozen=True):
    """What the draft has to hold at one moment. base: the mark of the file that the document grew from."""

    box: DraftBox
    document: Document
    base: str
    unsaved: bool

    def write(self) -> None:
        """Keep it, or drop the draft where all is saved. FileError where it cannot be written."""
        if self.unsaved:
            self.box.keep(self.document, self.base)
        else:
            self.box.drop()


class JobFile:
    """The file of a job and its draft. saved: the document that the file holds; judged: what it was judged by then."""

    def __init__(
        self,
        document: Document,
        *,
        path: Path | None,
        demo: str,
        original: str | None,
        mark: str,
        box: str = "",
        of: str = "",
    ) -> None:
        """document: as the file holds it.  original: the file's text.  mark: what tells its contents from others.

        box: of a draft left.  of: the file of that draft, which cannot be opened.
        """
        self._left_in, self._of = box, of
        self.lost = ""  # of work whose file cannot be opened, why that is
        self.keeps = True  # could the draft be written when it was last tried
        self.path = path
        self.demo = demo
        self._original = original
        self._mark = mark
        # Apart from the record: it is written anew with each save, and is no change of the job.
        self.judged = document.get("judged") or {}
        self.saved = {key: value for key, value in document.items() if key != "judged"}
        self.claim()

    def claim(self, *, patient: bool = True) -> None:
        """Take the draft of this job for this window; elsewhere tells whether another one has it."""
        named = self.path or self.demo or self._left_in
        self._box = DraftBox(self.path, demo=self.demo, box="" if self.path else self._left_in, of=self._of)
        self.elsewhere = not self._box.claim(patient=patient)
        self.crowded = self.elsewhere and not named  # no box is free for one job more
        if not named and not self.elsewhere:
            self._left_in = self._box.name

    @property
    def kept(self) -> bool:
        """Is unsaved work on disk."""
        return self.keeps and not self.elsewhere

    def take_over(self) -> bool:
        """Claim the draft where the window that had it has closed and left nothing unsaved."""
        if not self.elsewhere or (self.path is None and not self.demo):
            return False
        self.claim(patient=False)  # it is tried after every entry
        if not self.elsewhere and (self._box.find() is not None or storage.journals_left(self._box.name)):
            self.release()
            self.elsewhere = True
        return not self.elsewhere

    @property
    def box(self) -> str:
        """The name of its draft; "" where another window has it."""
        return "" if self.elsewhere else self._box.name

    def release(self) -> None:
        """Let another window have this job."""
        self._box.release()

    def changed_on_disk(self) -> bool:
        """Has the file changed since it was read or written here."""
        return (
            self.path is not None
            and self._mark != ""
            and storage.mark_on_disk(self.path) not in ("", self._mark)
        )

    def in_the_way(self, path: Path) -> tuple[str, str]:
        """What has to be asked about before the job is written there: in two or three words, and in a sentence or two; "" for nothing."""
        there, locked = files.there(path), _read_only(path)
        if self.path is not None and files.same_file(path, self.path):
            if self.changed_on_disk():
                words = f"{path} was changed by another program or window since it was opened here."
                return "The file has changed", words
            return ("The file is read-only", f"{path} is read-only.") if locked else ("", "")
        other = DraftBox(path)
        left = other.name != self.box and other.find() is not None
        if not there and not left:
            return "", ""
        told = f"{path} is there already." if there else f"{path} has gone, but not what was unsaved of it."
        if locked:
            told += " It is read-only."
        if left:
            told += " Its unsaved work goes too if you write over it."
        return "There is a file of that name" if there else "Unsaved work of that name", told

    def save(self, path: Path, document: Document, job: Job, judged: Document) -> None:
        """Write the job. FileError where it cannot be; all then stays as it is.

        document: as typed; job: what of it can be read; judged: what it is judged by and what comes of it.
        """
        original = self._original if not self.demo else None
        text = jobfile.render({**job.document(), "judged": judged}, original)
        if len(text.encode("utf-8")) > storage.MAX_BYTES:
            raise FileError(
                "Not saved", "The job would be larger than 1 MiB.", where=str(path), fix="Shorten the notes."
            )
        storage.back_up(path)
        self._mark = storage.write(path, text)
        moved = self.path is None or not files.same_file(path, self.path)
        self._original, self.saved, self.judged = text, document, judged
        self.forget_draft()
        if moved:
            self.release()
            self.path, self.demo = path, ""
            self.claim()
            self.forget_draft()  # that of what was written over

    # The draft

    def draft(self, document: Document, *, unsaved: bool) -> DraftToKeep | None:
        """What the draft has to hold now; None where another window keeps it."""
        return None if self.elsewhere else DraftToKeep(self._box, document, self._mark, unsaved)

    def draft_left(self, document: Document) -> LeftDraft | None:
        """A draft from an earlier time that says something else than the document."""
        draft = self._box.find()
        if draft is None or self.elsewhere:
            return None
        differs = tuple(differences(document, draft.document))
        if not differs:
            if document == self.saved:  # else it is the only place where this work is kept
                self._box.drop()
            return None
        return LeftDraft(draft.document, differs, file_changed=draft.base != self._mark)

    def forget_draft(self) -> None:
        """Drop the draft, and keys that were left beside it."""
        if not self.elsewhere:
            self._box.drop()
            self.forget_keys()

    def forget_keys(self) -> None:
        """Drop the keys that were left beside the draft."""
        storage.forget_journals(self._box.name)

    def keys_left(self) -> Left | None:
        """What was typed and not entered when a program with this draft was killed; None for nothing."""
        left = list(storage.journals_left(self.box).values()) if self.box else []
        keys = tuple(key for each in left for key in each.keys)
        return Left(keys, left[0].after) if keys else None


def _read_only(path: Path) -> bool:
    """Does a file's mode keep everybody from writing it. A file put in its place would pass that over."""
    try:
        return not path.stat().st_mode & 0o222
    except (OSError, ValueError):
        return False


def about_of(path: Path) -> str:
    """What a job file says it is: title, place and date; its name where it cannot be read."""
    try:
        about = tomllib.loads(storage.read(path).decode("utf-8-sig")).get("about", {})
    except (FileError, ValueError, RecursionError):
        return path.name
    return told(about) or path.name


def told(about: object) -> str:
    """The title, the place and the date of a job in a line."""
    held = about if isinstance(about, Mapping) else {}
    return f" {GLYPHS.dot} ".join(plain(held[key], 40) for key in ("title", "place", "date") if held.get(key))


def suggested_name(title: str | None) -> str:
    """A file name from a job's title."""
    words = "".join(sign if sign.isalnum() else " " for sign in title or "fireplace").split()
    return "-".join(words[:6]).lower()[:60] + ENDING


def path_for(answer: str) -> Path:
    """The path that a person means by a name: with the usual ending where it has none. FileError for the name of a folder alone."""
    path = storage.typed_path(answer)
    if answer.endswith(("/", os.sep)) or answer == "~" or path.name in ("", ".."):
        raise FileError("Not saved", "That names a folder.", where=answer, fix="Add a file name.")
    return path if path.suffix else path.with_name(path.name + ENDING)


def saved_message(path: Path, left_out: Iterable[str]) -> str:
    """What to say after saving. left_out: the addresses of entries that cannot be read."""
    addresses = sorted(left_out)
    if not addresses:
        return f"Saved: {path}"
    count = (
        "1 entry that cannot be read is"
        if len(addresses) == 1
        else f"{len(addresses)} entries that cannot be read are"
    )
    return f"Saved: {path}. {count} not in the file: {', '.join(addresses)}"
