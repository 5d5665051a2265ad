"""The installed command: decides between the screen and the command line, and imports neither before it knows."""

from __future__ import annotations

import gc
import os
import sys

import hearthcalc

# Written out here because asking the command line would import it.
COMMANDS = frozenset(
    {
        "batch", "check", "drawing", "length", "paths", "quick", "reference", "report", "schema", "selftest",
        "sheet", "sign", "steps", "takeoff", "validation", "verify", "whatif",
    }
)  # fmt: skip

PLAIN = "--plain"
FAULT = 70


def main() -> int:
    """Run `hearthcalc` with the arguments of the process; returns its exit code."""
    if sys.stdin is None:  # closed: nothing can be read, and no file that is opened may take its number
        sys.stdin = os.fdopen(os.open(os.devnull, os.O_RDONLY))
    unheard = sys.stdout is None
    if unheard:
        sys.stdout = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w")
    if sys.stderr is None:
        sys.stderr = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w")
    if unheard:
        from hearthcalc.errors import FileError

        print(
            "hearthcalc: Cannot write the answer. Standard output is closed. Open it, and run it again.",
            file=sys.stderr,
        )
        return FileError.exit_code
    arguments = sys.argv[1:]
    if arguments == ["--version"]:
        print(hearthcalc.__version__)
        return 0
    try:
        return run(arguments)
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        from hearthcalc.errors import NOT_READ

        # Whoever read us has gone; a second failure while Python closes the stream would only add noise.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return NOT_READ
    except Exception as error:
        return tell(error)


def run(arguments: list[str]) -> int:
    """Open the screen, ask in plain lines, or hand the arguments to the command line."""
    wanted = opens([argument for argument in arguments if argument != PLAIN])
    if wanted is not None and PLAIN in arguments:
        from hearthcalc_tui.plain import run_plain

        return run_plain(wanted)
    if wanted is not None and has_terminal():
        # While modules load nothing is left to collect, and looking for it costs a fourteenth of the start.
        gc.disable()
        from hearthcalc_tui import settings

        for fixed in ("COLUMNS", "LINES"):  # the window says its size, also when it changes
            os.environ.pop(fixed, None)
        wrong = settings.apply()
        from hearthcalc_tui.app import run_screen

        return run_screen(wanted, wrong)
    from hearthcalc import cli

    if wanted is None or arguments[:1] == ["demo"]:
        return cli.main(arguments)
    return cli.main(["check", *arguments])


def opens(arguments: list[str]) -> str | None:
    """The job that the screen would open: a path, "demo" or "demo:NAME", "" for a new job; None where the command line is meant."""
    if not arguments:
        return ""
    first = arguments[0]
    if first == "demo" and len(arguments) == 2 and not arguments[1].startswith("-"):
        return f"demo:{arguments[1]}"
    if len(arguments) > 1 or first in COMMANDS or first.startswith("-"):
        return None
    return first


def has_terminal() -> bool:
    """Can a screen be drawn here (Textual draws it on standard error), and can a person type into it."""
    return os.environ.get("TERM", "") != "dumb" and all(
        s.isatty() for s in (sys.stdin, sys.stdout, sys.stderr)
    )


def tell(error: Exception) -> int:
    """Say what went wrong on standard error, once, and return the exit code for it."""
    from hearthcalc.entry import cut, visible
    from hearthcalc.errors import HearthError

    if isinstance(error, HearthError):
        where = cut(error.where, 100, 200)
        lines = [error.title, f"  where: {where}" * bool(where), f"  what:  {error.what}"]
        lines.append(f"  do:    {error.fix}" * bool(error.fix))
        code = error.exit_code
    else:
        lines = [
            "Fault of the program",
            f"  what:  {type(error).__name__}: {cut(str(error), 300)}",
            *(f"  see:   {note}" for note in getattr(error, "__notes__", ())),
            "  No job file was changed by this; what was typed on the screen is kept, and stands on the first page at the next start.",
        ]
        code = FAULT
    text = "hearthcalc: " + "\n".join(line for line in lines if line)
    print(visible(text, keep="\n"), file=sys.stderr)
    return code


if __name__ == "__main__":
    sys.exit(main())
