"""How the program ends when it is asked to from outside, or its terminal is gone: soon, whatever the screen is doing."""

from __future__ import annotations

import os
import select
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from threading import Event, Thread
from types import FrameType
from typing import Any

SIGNALS = ("SIGTERM", "SIGHUP", "SIGINT")  # Windows has no SIGHUP
PATIENCE = 1.2  # seconds for an end in order; then it is ended by force
AS_IT_WAS = b"\x1b[<u\x1b[?2004l\x1b[?1000l\x1b[?1003l\x1b[?1015l\x1b[?1006l\x1b[?1004l\x1b[?1049l\x1b[?25h"


class Ending:
    """Watches for signals and for a closed terminal. Made before the screen takes the terminal over."""

    def __init__(self) -> None:
        self._terminal = _attributes()
        self._code = 0
        self._asked_to = False
        self._begun = Event()

    def watch(self, keep: Callable[[], None], leave: Callable[[int], object]) -> None:
        """Begin to watch. keep: keeps the draft, from any thread; leave: ends the program in order with an exit code, from any thread."""
        self._keep = keep
        self._leave = leave
        for name in SIGNALS:
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), self._asked)
        Thread(target=self._force, name="ending", daemon=True).start()
        if sys.platform != "win32":
            Thread(target=self._watch_terminal, name="terminal", daemon=True).start()

    def _asked(self, number: int, frame: FrameType | None) -> None:
        self.end(128 + number)

    if sys.platform != "win32":

        def _watch_terminal(self) -> None:
            """A closed terminal sends no signal where the program is not its own."""
            watched = select.poll()
            watched.register(sys.__stdin__.fileno() if sys.__stdin__ else 0, 0)
            watched.poll()
            self.end(128 + signal.SIGHUP)

    def end(self, code: int) -> None:
        """End in order, and by force where that takes too long: the thread that draws may wait for a terminal that takes nothing."""
        if not self._asked_to:
            self._asked_to = True  # first: another signal may come in the midst of what follows, and would wait for its lock
            self._code = code
            self._begun.set()
            with suppress(RuntimeError):  # the loop is closed already
                self._leave(code)

    def _force(self) -> None:
        self._begun.wait()
        Event().wait(PATIENCE)
        with suppress(Exception):
            self._keep()
        with suppress(Exception):
            self._restore()
        os._exit(self._code)

    def _restore(self) -> None:
        """The terminal as it was, without waiting for it."""
        out = sys.__stderr__.fileno() if sys.__stderr__ else 2
        if sys.platform != "win32":
            import termios

            if self._terminal is not None:
                termios.tcsetattr(0, termios.TCSANOW, self._terminal)
            os.set_blocking(out, False)
        os.write(out, AS_IT_WAS)


def read_at_once() -> None:
    """A read that finds no key returns. The thread that reads would else now and then wait for one more, and hold up the end till then."""
    attributes = _attributes()
    if sys.platform != "win32" and attributes is not None:
        import termios

        attributes[6][termios.VMIN] = 0
        termios.tcsetattr(0, termios.TCSANOW, attributes)


def give_back() -> None:
    """The terminal is the shell's again: stopped with Ctrl+Z from here on, and gone on with, the program does not take it once more."""
    for name in ("SIGTSTP", "SIGCONT"):  # Windows has neither
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_DFL)


def _attributes() -> list[Any] | None:
    if sys.platform == "win32":
        return None
    import termios

    try:
        return termios.tcgetattr(0)
    except (OSError, termios.error):
        return None
