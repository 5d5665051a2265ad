"""What went wrong, where, why, and what to do: raised where it is first known, shown once."""

NOT_READ = (
    141  # the exit code where who read the answer has gone: as a shell has it, 128 and the number of SIGPIPE
)


class HearthError(Exception):
    """A mistake that a person can fix.

    title: a few words.  what: one sentence on what is wrong.  fix: what to do about it.
    where: the file, line, key or field it stands in, "" where there is no such place.
    """

    exit_code = 2

    def __init__(self, title: str, what: str, *, where: str = "", fix: str = "") -> None:
        super().__init__(what)
        self.title = title
        self.what = what
        self.where = where
        self.fix = fix

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        todo = f" {self.fix}" if self.fix else ""
        return f"{place}{self.what}{todo}"


class EntryError(HearthError):
    """An entry that cannot be read as what its field asks for."""


class UsageError(HearthError):
    """A command that was called wrongly."""


class FileError(HearthError):
    """A file that cannot be read, is not valid, or cannot be written."""

    exit_code = 4


class StoppedError(HearthError):
    """Work that was ended from outside before it was done."""

    exit_code = 70
