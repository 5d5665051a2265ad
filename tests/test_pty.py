"""The program in a real terminal: bursts of keys, split escapes, signals, kills and recovery.

What Textual's own driver for tests cannot show: it feeds keys one at a time.
"""

import fcntl
import json
import os
import re
import select
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from types import MappingProxyType

import pexpect
import pyte
import pytest
from forked import Program, run
from mill import MILL

from hearthcalc import caution, jobfile
from hearthcalc.job import get

PROGRAM = [sys.executable, "-m", "hearthcalc_tui.launch"]
PAGE_DOWN = b"\x1b[6~"
HEARTH = PAGE_DOWN * 3  # the job, the fireplace, the opening, the hearth
FIREBOX = PAGE_DOWN * 7
SITE = PAGE_DOWN * 17
PATIENCE = 20.0


COLOR = re.compile(rb"\x1b\[[\d;]*m")
letter = cache(pyte.screens.Char)


class Screen(pyte.Screen):
    """As pyte has it, without colors, and with letters of one column set a run at a time."""

    def draw(self, data: str) -> None:
        start = self.cursor.x
        whole = start + len(data) <= self.columns and pyte.modes.IRM not in self.mode
        if not whole or set(map(pyte.screens.wcwidth, data)) != {1}:
            super().draw(data)
            return
        self.buffer[self.cursor.y].update(zip(range(start, self.columns), map(letter, data), strict=False))
        self.cursor.x += len(data)


class Terminal:
    """The program in a pseudo-terminal, and what a person would see there."""

    def __init__(
        self,
        home: Path,
        *arguments: str,
        term: str = "xterm-256color",
        size: tuple[int, int] = (80, 24),
        more: Mapping[str, str] = MappingProxyType({}),
        loaded: bool = True,
        changed: str = "",
    ) -> None:
        """loaded: forked from a process that has loaded the libraries, where it is not the start that is looked at.

        changed: code that runs first, and makes a part of the program fail.
        """
        environment = {
            key: value for key, value in os.environ.items() if key not in {"COLORTERM", "NO_COLOR"}
        }
        environment |= {"TERM": term, "LANG": "C.UTF-8", "HOME": str(home), "PYTHONUTF8": "1"}
        environment |= {name: str(home) for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME")}
        environment |= more
        width, height = size
        self.screen = Screen(width, height)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""
        how = {"env": environment, "dimensions": (height, width), "cwd": str(home), "timeout": PATIENCE}
        if loaded:
            self.child = Program(arguments, changed=changed, **how)  # type: ignore[arg-type]
        else:
            self.child = pexpect.spawn(PROGRAM[0], [*PROGRAM[1:], *arguments], **how)

    def send(self, keys: bytes) -> None:
        """All of them in one write."""
        os.write(self.child.child_fd, keys)

    def in_pieces(self, *pieces: bytes) -> None:
        """Each in a write of its own, once the one before it has been read."""
        for piece in pieces:
            self.send(piece)
            self.until(lambda: self.waiting == 0, "the program")

    @property
    def given_back(self) -> bool:
        """Is the terminal as a shell has it, a line at a time."""
        return bool(termios.tcgetattr(self.child.child_fd)[3] & termios.ICANON)

    @property
    def waiting(self) -> int:
        """How many bytes the program has not read yet."""
        terminal = os.open(Path(f"/proc/{self.child.pid}/fd/0").readlink(), os.O_RDONLY | os.O_NOCTTY)
        try:
            return int.from_bytes(fcntl.ioctl(terminal, termios.FIONREAD, bytes(4)), sys.byteorder)
        finally:
            os.close(terminal)

    def read(self, at_most: float = 0.05) -> bool:
        """Show what comes in next. at_most: seconds in which nothing may come; then False."""
        try:
            data = self.child.read_nonblocking(65536, at_most)
        except (pexpect.TIMEOUT, pexpect.EOF):
            return False
        self.raw += data
        self.stream.feed(COLOR.sub(b"", data))  # colors are looked at as they came
        return True

    def until(self, holds: Callable[[], bool], what: str) -> None:
        end = time.monotonic() + PATIENCE
        while not holds():
            if time.monotonic() > end:
                pytest.fail(f"{what} did not come:\n{self.text}")
            self.read()

    def see(self, words: str) -> str:
        """Wait for words on the screen, and return all that is there then."""
        self.until(lambda: words in self.words, words)
        return self.words

    def go(self, keys: bytes, label: str) -> None:
        """Send keys, and wait for the field that they lead to."""
        self.send(keys)
        self.see(label)

    @property
    def rows(self) -> list[str]:
        """The screen row by row, as pyte's own `display` has it, which measures each character anew."""
        lines = [self.screen.buffer[y] for y in range(self.screen.lines)]
        return ["".join([line[x].data for x in range(self.screen.columns)]) for line in lines]

    @property
    def text(self) -> str:
        return "\n".join(self.rows)

    @property
    def words(self) -> str:
        return " ".join(self.text.split())

    def row(self, label: str) -> str:
        """What stands in a field."""
        line = next((line for line in self.rows if label in line), "")
        return line.partition(label)[2].split("│")[0].split("▌")[0].strip()

    def end(self) -> int | None:
        """Wait for the program to end, and return its exit code."""
        while self.child.isalive():
            self.read()
        while self.read():
            pass
        self.child.close()
        return self.child.exitstatus


@pytest.fixture
def home(tmp_path: Path) -> Path:
    state = tmp_path / "hearthcalc"
    state.mkdir()
    (state / "screen.json").write_text('{"caution_read": true}')
    (tmp_path / "mill.hearth.toml").write_text(MILL)
    return tmp_path


@pytest.fixture
def start(home: Path) -> Iterator[Callable[..., Terminal]]:
    running: list[Terminal] = []

    def open_terminal(*arguments: str, ready: str = "Title", **more: object) -> Terminal:
        terminal = Terminal(home, *(arguments or ("mill.hearth.toml",)), **more)  # type: ignore[arg-type]
        running.append(terminal)
        if ready:
            terminal.see(ready)
        return terminal

    yield open_terminal
    for terminal in running:
        if terminal.child.isalive():
            terminal.child.kill(signal.SIGKILL)
        terminal.child.close(force=True)


def entry(home: Path, address: str) -> object:
    value = get(jobfile.load(home / "mill.hearth.toml"), address)
    return None if value is None else getattr(value, "text", value)


@pytest.mark.parametrize(
    "between", [b"\t", b"\r", b"\n", b"\x1b[B"], ids=["Tab", "Enter", "line feed", "Down"]
)
def test_a_burst_lands_in_three_fields(start: Callable[..., Terminal], home: Path, between: bytes) -> None:
    """`12<Tab>34<Tab>56` in one write, as a laser meter or a fast hand sends it."""
    terminal = start()
    terminal.go(FIREBOX, "Side walls")
    terminal.send(between.join([b"12", b"34", b"56"]))
    terminal.until(lambda: terminal.row("Back wall").startswith("56"), "the third entry")
    assert terminal.row("Side walls").startswith("34 ")
    terminal.send(b"\x13")
    terminal.see("Saved")
    assert [entry(home, f"firebox.{key}") for key in ("depth", "wall", "back_wall")] == ["12", "34", "56"]


def test_a_burst_of_turning_editing_and_saving_keeps_its_order(
    start: Callable[..., Terminal], home: Path
) -> None:
    """Page Down, entries, Backspace, Shift+Tab, and Ctrl+S in one write."""
    terminal = start()
    terminal.send(HEARTH + b"129\x7f\t345\x7f\x7f\x1b[Z1\x1b[Z\t\t7\x13")
    terminal.see("Saved")
    assert [entry(home, f"face.taproom.hearth.{key}") for key in ("front", "facing")] == ["1", "7"]


def test_a_burst_goes_on_into_the_next_section(start: Callable[..., Terminal], home: Path) -> None:
    terminal = start()
    terminal.go(FIREBOX, "Side walls")
    terminal.send(b"21\t8\t8\t2 1/2\t1/8\t4\tco\t38\t4 1/2\x13")
    terminal.see("Saved")
    keys = (
        "depth",
        "wall",
        "back_wall",
        "lining",
        "joint",
        "floor_slab",
        "floor_below",
        "throat_height",
        "throat_depth",
    )
    assert [entry(home, f"firebox.{key}") for key in keys] == [
        "21",
        "8",
        "8",
        "2 1/2",
        "1/8",
        "4",
        "concrete",
        "38",
        "4 1/2",
    ]


def test_keys_that_come_in_pieces_are_still_keys(start: Callable[..., Terminal]) -> None:
    """A slow line splits Shift+Tab and Page Down between their bytes. A machine that does much else may hold the next up for long."""
    terminal = start(more={"ESCDELAY": "2000"}, loaded=False)  # ms; the libraries read it as they load
    terminal.in_pieces(b"\x1b", b"[6", b"~", b"\x1b[", b"6~", b"\x1b[6~")
    terminal.see("Depth in front")
    terminal.send(b"12\t34")
    terminal.in_pieces(b"\x1b", b"[Z")
    terminal.send(b"15")
    terminal.until(lambda: terminal.row("Depth in front").startswith("15 "), "the first entry again")
    assert terminal.row("Facing sticks out").startswith("34 ")
    terminal.send(b"\x1bz9")
    terminal.until(
        lambda: terminal.row("Depth in front").startswith("159 "),
        "a digit, and nothing of a key that does nothing",
    )


def test_a_byte_of_another_encoding_is_a_sign_like_any(start: Callable[..., Terminal]) -> None:
    terminal = start()
    terminal.send(b"caf\xe9 now\t")
    terminal.until(lambda: "now" in terminal.row("Title"), "what was typed")
    assert terminal.row("Title") == "caf\ufffd now"
    assert terminal.child.isalive()


def test_a_burst_of_two_hundred_keys(start: Callable[..., Terminal], home: Path) -> None:
    terminal = start()
    terminal.send(HEARTH)
    terminal.see("Depth in front")
    terminal.send(b"".join(b"%d\t\x1b[Z" % number for number in range(10, 50)) + b"20\x13")
    terminal.see("Saved")
    assert entry(home, "face.taproom.hearth.front") == "20"


PASTE, PASTED = b"\x1b[200~", b"\x1b[201~"


@pytest.mark.parametrize("ends", [b"\r", b"\n", b"\r\n"], ids=["CR", "LF", "CR LF"])
def test_a_pasted_list_is_shown_first_and_falls_into_consecutive_fields(
    start: Callable[..., Terminal], home: Path, ends: bytes
) -> None:
    """Bracketed paste, one measurement a line; an empty line leaves its field, the last ones go into the next section."""
    terminal = start()
    terminal.go(FIREBOX, "Side walls")
    lines = [b"21", b"", b"8 furlongs", b"2-1/2", b"1/8", b"4", b"conc", b"38"]
    terminal.send(PASTE + ends.join(lines) + ends + PASTED)
    terminal.see("Paste 7 entries, as found")
    terminal.see("Firebrick: 2-1/2 → 2 1/2 in = 63.5 mm")
    terminal.see("! furlongs is not a unit of length")
    terminal.see("Throat height: 38")
    terminal.send(b"\r")
    terminal.see("7 entries taken. Ctrl+Z takes them all back.")
    assert terminal.row("Throat height").startswith("38 ")
    terminal.send(b"\x13")
    terminal.see("1 entry that cannot be read is not in the file")
    keys = ("depth", "wall", "back_wall", "lining", "floor_below", "throat_height")
    assert [entry(home, f"firebox.{key}") for key in keys] == ["21", None, None, "2-1/2", "concrete", "38"]
    terminal.send(b"\x1a")
    terminal.see("Undone")
    terminal.send(b"\x13")
    terminal.until(lambda: entry(home, "firebox.depth") is None, "the file without the list")


def test_a_pasted_list_is_dropped_by_escape_and_one_line_is_typed(
    start: Callable[..., Terminal], home: Path
) -> None:
    terminal = start()
    terminal.go(FIREBOX, "Side walls")
    terminal.send(PASTE + b"12\r34" + PASTED)
    terminal.see("Paste 2 entries")
    terminal.send(b"\x1b")
    terminal.see("Nothing was pasted.")
    assert not terminal.row("Depth").startswith("12")
    terminal.send(PASTE + b"7 1/2\x00\x07\r" + PASTED)
    terminal.until(lambda: terminal.row("Depth").startswith("7 1/2"), "the one line")
    assert "Paste" not in terminal.words


def test_a_longer_list_than_there_are_fields_says_what_is_left_out(start: Callable[..., Terminal]) -> None:
    terminal = start()
    terminal.go(SITE, "Altitude")
    terminal.send(PASTE + b"\r".join([b"600 ft"] * 300) + PASTED)
    terminal.see("Paste 33 entries")
    terminal.send(b"\x1b[F")
    terminal.see("267 more have no field and are left out.")
    terminal.send(b"\r")
    terminal.see("33 entries taken")
    assert "Paste" not in terminal.words


def test_alt_keys_lead_between_field_and_finding(start: Callable[..., Terminal]) -> None:
    terminal = start()
    terminal.go(HEARTH, "Depth in front")
    terminal.send(b"20\x1bj")
    terminal.see("It uses Depth in front")
    terminal.send(b"\x1b[17~")
    terminal.see("F1 how")
    terminal.send(b"\x1bc")
    terminal.see("1 entry is planned as found.")
    assert "AS PLANNED" in terminal.words


def test_a_killed_program_loses_at_most_the_field_being_typed(
    start: Callable[..., Terminal], home: Path
) -> None:
    terminal = start()
    terminal.send(HEARTH + b"20\t1/2 [in\t12\t1")
    terminal.until(lambda: terminal.row("Past right jamb").startswith("1"), "the fourth entry")
    terminal.child.kill(signal.SIGKILL)
    terminal.end()
    assert (home / "mill.hearth.toml").read_text() == MILL
    again = start(ready="Unsaved work found")
    again.see("Hearth depth in front (taproom)")
    again.see("Typed after that, and not entered: 1 ")
    again.send(b"\x1b[B\r")
    again.see("Typed but not yet entered")
    again.send(b"\x1b[B\r")  # copied, and back in the field after which it was typed
    again.until(lambda: again.row("Past the left jamb").startswith("12 "), "the field")
    assert again.row("Depth in front").startswith("20 ")
    assert again.row("Facing sticks out").startswith("1/2 [in")
    again.send(b"\t\x16")
    again.until(lambda: again.row("Past right jamb").startswith("1 "), "what was being typed")


READINGS = {
    "front": "20", "facing": "12", "left": "8", "right": "9", "thickness": "4", "above_floor": "1",
}  # fmt: skip
WALK = ("front", "facing", "left", "right", "thickness", "above_floor")
BURST = HEARTH + b"".join(READINGS[key].encode() + b"\t" for key in WALK) + (b"\t" * 6 + b"\x1b[5~" * 2) * 20


def hearth_in_draft(home: Path) -> dict[str, str]:
    """What the draft on disk holds of the hearth: the last of its lines that is whole."""
    for file in (home / "hearthcalc" / "drafts").glob("*.json"):
        for line in reversed(file.read_text().splitlines()):
            with suppress(json.JSONDecodeError):
                return dict(json.loads(line)["job"]["face"][0].get("hearth", {}))
    return {}


def test_keys_that_come_before_the_first_field_wait_for_it(
    start: Callable[..., Terminal], home: Path
) -> None:
    """Sent with the first sign of the screen, long before there is a field."""
    terminal = start(ready="HEARTHCALC", loaded=False)
    terminal.send(HEARTH + b"20\t12\t8\x13")
    terminal.see("Saved")
    assert [entry(home, f"face.taproom.hearth.{key}") for key in WALK[:3]] == ["20", "12", "8"]


@pytest.mark.parametrize("seen", ["HEARTHCALC", "What do you want to do?"])
def test_keys_behind_the_enter_that_closes_a_page_reach_what_comes_next(
    start: Callable[..., Terminal], home: Path, seen: str
) -> None:
    """One write for all: a new job, everything is asked, the title and place of it, and a name to save it under."""
    terminal = start("", ready=seen, loaded=False)
    terminal.send(b"\x1b[B\r\rBarn\rLow Weir\r\x13")
    terminal.see("Save the job as")
    terminal.send(b"\r")
    terminal.see("Saved")
    written = (home / "barn.hearth.toml").read_text()
    assert 'title = "Barn"' in written and 'place = "Low Weir"' in written


@pytest.mark.parametrize("seen", [1, 3, 6])
def test_killed_in_a_burst_what_was_taken_is_on_disk_without_a_gap(
    start: Callable[..., Terminal], home: Path, seen: int
) -> None:
    terminal = start()
    terminal.send(BURST)
    terminal.until(lambda: len(hearth_in_draft(home)) >= seen, f"{seen} entries on disk")
    terminal.child.kill(signal.SIGKILL)
    terminal.end()
    held = hearth_in_draft(home)
    assert held == {key: READINGS[key] for key in WALK[: len(held)]}
    assert not list(home.rglob(".*.part"))
    again = start(ready="Unsaved work found")
    again.see("Hearth depth in front (taproom)")


def close_terminal(terminal: Terminal) -> None:
    terminal.child.ptyproc.fileobj.close()


ENDS = {
    "SIGTERM": (lambda terminal: terminal.child.kill(signal.SIGTERM), 143),
    "SIGHUP": (lambda terminal: terminal.child.kill(signal.SIGHUP), 129),
    "SIGINT": (lambda terminal: terminal.child.kill(signal.SIGINT), 130),
    "terminal closed": (close_terminal, 129),
}


def ends_soon(terminal: Terminal) -> int:
    """Its exit code; it has to end within 2 s, the limit of this project."""
    begin = time.monotonic()
    while not (ended := os.waitpid(terminal.child.pid, os.WNOHANG))[0]:
        assert time.monotonic() - begin < 2, "it has not ended"
        with suppress(OSError, ValueError):  # the terminal is closed
            if select.select([terminal.child.child_fd], [], [], 0.01)[0]:
                os.read(terminal.child.child_fd, 65536)
    terminal.child.ptyproc.terminated = True
    return os.waitstatus_to_exitcode(ended[1])


@pytest.mark.parametrize("how", ENDS)
def test_in_a_burst_it_ends_soon_with_its_draft(start: Callable[..., Terminal], home: Path, how: str) -> None:
    terminal = start()
    terminal.send(BURST)
    terminal.until(lambda: len(hearth_in_draft(home)) >= 2, "two entries on disk")
    end, code = ENDS[how]
    end(terminal)
    assert ends_soon(terminal) == code
    held = hearth_in_draft(home)
    assert len(held) >= 2
    assert held == {key: READINGS[key] for key in WALK[: len(held)]}


def test_a_screen_that_is_stuck_ends_soon_with_what_was_being_typed(
    start: Callable[..., Terminal], home: Path
) -> None:
    stuck = (
        "import threading, hearthcalc_tui.desk.looks as looks; "
        "looks.Looks.do_theme = lambda self: threading.Event().wait(60)"
    )
    terminal = start(changed=stuck)
    terminal.send(HEARTH + b"20\t3/4")
    terminal.until(lambda: terminal.row("Facing sticks out").startswith("3/4"), "the second entry")
    terminal.send(b"\x0b")
    terminal.child.kill(signal.SIGTERM)
    assert ends_soon(terminal) == 143
    assert hearth_in_draft(home) == {"front": "20", "facing": "3/4"}


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_keeps_the_draft_with_what_was_being_typed(
    start: Callable[..., Terminal], home: Path, number: int
) -> None:
    terminal = start()
    terminal.send(HEARTH + b"20\t3/4")
    terminal.until(lambda: terminal.row("Facing sticks out").startswith("3/4"), "the second entry")
    terminal.child.kill(number)
    assert terminal.end() == 128 + number
    again = start(ready="Unsaved work found")
    again.see("Facing sticks out (taproom)")
    assert "not entered" not in again.words


def test_quitting_asks_and_ends_with_0(start: Callable[..., Terminal], home: Path) -> None:
    terminal = start()
    terminal.send(b"Old mill\x11")
    terminal.see("Leave without them")
    terminal.send(b"\x1b[B\x1b[B\r")
    assert terminal.end() == 0
    assert (home / "mill.hearth.toml").read_text() == MILL
    again = start()
    again.send(b"\x11")  # a page over the desk would take it
    assert again.end() == 0
    assert b"Unsaved work found" not in again.raw


@pytest.mark.parametrize("term", ["xterm-256color", "screen-256color", "linux", "vt100"])
def test_it_draws_on_every_terminal(start: Callable[..., Terminal], term: str) -> None:
    terminal = start(term=term)
    assert caution.SHORT in terminal.words
    assert "MEASURE" in terminal.words
    terminal.send(b"\x11")
    assert terminal.end() == 0


def test_without_colour_words_and_signs_still_tell_everything(start: Callable[..., Terminal]) -> None:
    """NO_COLOR: only greys reach the terminal, and the verdicts stand in words."""
    terminal = start("demo", more={"NO_COLOR": "1", "COLORTERM": "truecolor"})
    terminal.see("✗ SHORT")
    whole = terminal.raw[: terminal.raw.rindex(b"m") + 1]  # the last piece may end within a color
    colours = re.findall(rb"[34]8;2;(\d+);(\d+);(\d+)", whole)
    assert colours
    assert all(red == green == blue for red, green, blue in colours)
    assert not re.search(
        rb"\x1b\[(?:[0-9;]*;)?(?:3[1-6]|4[1-6]|5)(?:;[0-9;]*)?m",
        re.sub(rb"[34]8;2;\d+;\d+;\d+", b"", whole),
    )


def test_nothing_moves_and_nothing_is_sent_while_nobody_types(start: Callable[..., Terminal]) -> None:
    """No blink and no animation: a still screen sends no bytes over the line."""
    terminal = start()
    terminal.until(lambda: not terminal.read(1.5), "stillness")
    assert not terminal.read(1.5), terminal.raw[-200:]
    assert b"\x1b[5m" not in terminal.raw


def test_the_console_of_linux_gets_letters_only(start: Callable[..., Terminal]) -> None:
    """Its font lacks most signs: verdicts and frames are ASCII there."""
    terminal = start("demo", term="linux")
    terminal.see("- SHORT")
    assert not set("✗✓≈→▸‹›●…▌│─╭╰") & set(terminal.text), terminal.text
    terminal.send(b"\x1b[[A")
    terminal.see("How to measure")
    assert not set("✗✓≈→▸‹›●…▌│─╭╰") & set(terminal.text), terminal.text


def test_keys_of_ones_own_work_and_a_wrong_line_is_told(start: Callable[..., Terminal], home: Path) -> None:
    (home / "hearthcalc" / "settings.toml").write_text('[keys]\ntheme = "alt+x"\nthme = "f20"\n')
    terminal = start()
    assert "Did you mean theme?" in terminal.see("there is no command thme.")
    terminal.send(b"\x1bx")
    assert "Look: soot" not in terminal.see("Look: daylight")
    assert "thme" in (home / "hearthcalc" / "settings.toml").read_text()


def test_it_follows_the_size_of_the_window(start: Callable[..., Terminal]) -> None:
    """Also where a shell or a multiplexer has fixed the size in the environment."""
    terminal = start(more={"COLUMNS": "80", "LINES": "24"})
    terminal.send(HEARTH + b"20")
    terminal.until(lambda: terminal.row("Depth in front").startswith("20"), "the entry")
    for width, height, words in (
        (50, 20, "Make the window larger"),
        (120, 40, "Weather and fire"),
        (80, 24, "Depth in front"),
    ):
        terminal.screen.resize(height, width)
        terminal.screen.reset()
        terminal.child.setwinsize(height, width)
        terminal.see(words)
    terminal.see(caution.SHORT)
    terminal.until(lambda: terminal.row("Depth in front") != "", "the entry again")
    assert terminal.row("Depth in front").startswith("20")


def test_hostile_text_reaches_the_terminal_stripped(start: Callable[..., Terminal], home: Path) -> None:
    title = '"\\u001b]0;owned\\u0007\\u001b[2Jred[/] \\u202eabc"'
    (home / "mill.hearth.toml").write_text(MILL.replace('"Mill cottage"', title))
    terminal = start()
    assert b"\x1b]0;owned" not in terminal.raw
    assert "red[/]" in terminal.words


def test_no_read_waits_for_a_key_and_the_terminal_is_left_as_it_was(start: Callable[..., Terminal]) -> None:
    """With VMIN 0 a read returns where nothing is left to read: termios(3)."""
    terminal = start("demo")
    terminal.see("Title")
    *_, running = termios.tcgetattr(terminal.child.child_fd)
    assert running[termios.VMIN] == 0
    terminal.send(b"\x11")
    terminal.until(lambda: b"\x1b[?1049l" in terminal.raw, "the end")
    *_, local, _, _, left = termios.tcgetattr(terminal.child.child_fd)
    assert local & termios.ICANON and left[termios.VMIN] == b"\x01"
    assert terminal.end() == 1


@pytest.mark.parametrize("stopped", [True, False])
def test_gone_on_with_it_reads_as_before(start: Callable[..., Terminal], stopped: bool) -> None:
    """kill -TSTP and fg; and a signal to go on to a program that runs: two threads would read the keys in turn."""
    terminal = start("demo")
    terminal.see("Title")
    state = Path(f"/proc/{terminal.child.pid}/stat")
    if stopped:
        terminal.child.kill(signal.SIGTSTP)
        terminal.until(lambda: ") T " in state.read_text(), "the stop")
        assert terminal.given_back
    terminal.child.kill(signal.SIGCONT)
    if stopped:
        terminal.until(lambda: terminal.raw.count(b"\x1b[?1049h") == 2, "the screen")
        terminal.until(lambda: not terminal.given_back, "the keys")
    terminal.send(b"Mill\t")
    terminal.until(lambda: terminal.row("Title") == "Mill", "the entry")
    assert terminal.raw.count(b"\x1b[?1049h") == 1 + stopped
    assert termios.tcgetattr(terminal.child.child_fd)[6][termios.VMIN] == 0
    terminal.send(b"\x11\x1b[B\x1b[B\r")
    assert terminal.end() == 1


STOPPED_AS_IT_DRAWS = """
import os, signal
from textual.drivers._writer_thread import WriterThread
writes = WriterThread.write
def write(self, text):
    if "Mill" in text:
        WriterThread.write = writes
        with self._queue.mutex:
            os.kill(os.getpid(), signal.SIGTSTP)
    writes(self, text)
WriterThread.write = write
"""


def test_stopped_as_it_draws_it_stops_and_is_gone_on_with(start: Callable[..., Terminal]) -> None:
    """The signal comes while the thread that draws holds the lock of what goes to the terminal."""
    terminal = start("demo", changed=STOPPED_AS_IT_DRAWS)
    terminal.send(b"Mill")
    state = Path(f"/proc/{terminal.child.pid}/stat")
    terminal.until(lambda: ") T " in state.read_text(), "the stop")
    assert terminal.given_back
    terminal.child.kill(signal.SIGCONT)
    terminal.until(lambda: not terminal.given_back, "the keys")
    terminal.send(b" house\t")
    terminal.until(lambda: terminal.row("Title") == "Mill house", "the entry")


def test_stopped_and_gone_on_with_as_it_leaves_it_does_not_take_the_terminal_again(
    start: Callable[..., Terminal],
) -> None:
    """Ctrl+Z and fg, when the terminal is the shell's already and the program has its last words."""
    left = b"\x1b[?1049l"
    terminal = start("demo")
    terminal.see("Title")
    terminal.send(b"\x11")
    terminal.until(lambda: left in terminal.raw, "the end")
    while terminal.child.isalive():
        terminal.child.kill(signal.SIGCONT)
        terminal.read(0.001)
    terminal.end()
    assert b"Traceback" not in terminal.raw
    assert b"\x1b[?1049h" not in terminal.raw.rpartition(left)[2]


def test_the_demo_ends_with_its_verdict(start: Callable[..., Terminal]) -> None:
    terminal = start("demo")
    terminal.see("SHORT")
    terminal.send(b"\x11")
    assert terminal.end() == 1


def test_a_file_that_cannot_be_read_is_told_after_the_screen_has_gone(
    start: Callable[..., Terminal], home: Path
) -> None:
    terminal = start("nowhere.hearth.toml", ready="")
    assert terminal.end() == 4
    assert "no such file" in terminal.words
    assert "nowhere.hearth.toml" in terminal.words
    (home / "bad.hearth.toml").write_text(MILL.replace('"36"', '"36 furlongs"'))
    terminal = start("bad.hearth.toml", ready="")
    assert terminal.end() == 4
    assert "face.taproom.width" in terminal.words


def test_a_dumb_terminal_gets_the_findings_as_text(start: Callable[..., Terminal]) -> None:
    terminal = start(term="dumb", ready="", size=(100, 2000))
    assert terminal.end() in (1, 3)
    assert "Mill cottage" in terminal.words
    assert b"\x1b[" not in terminal.raw


def test_without_a_terminal_it_does_what_check_does(home: Path) -> None:
    path = str(home / "mill.hearth.toml")
    bare, check = (run([*words, path])[:2] for words in ([], ["check"]))
    assert bare == check and bare[1]
    assert bare[0] in (1, 3)


def test_version_costs_no_import() -> None:
    code = (
        "import sys; sys.argv = ['hearthcalc', '--version']; from hearthcalc_tui import launch; code = launch.main(); "
        "print(sorted(m for m in sys.modules if m.split('.')[0] in "
        "('textual', 'rich', 'msgspec', 'dataclasses', 'tomllib') or m == 'hearthcalc.cli')); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    version, modules = done.stdout.splitlines()
    assert version.count(".") == 2
    assert modules == "[]"


BROKEN = "import hearthcalc_tui.desk.looks as looks; looks.Looks.do_theme = lambda self: 1 // 0"


def test_a_fault_is_told_and_written_down_and_work_goes_on(
    start: Callable[..., Terminal], home: Path
) -> None:
    """One fault, then work, then another: they are not in a row."""
    terminal = start(changed=BROKEN)
    terminal.send(HEARTH + b"20\t")
    terminal.until(lambda: terminal.row("Depth in front").startswith("20"), "the entry")
    for reading in ("12", "13"):
        terminal.send(b"\x0b")
        terminal.see("a fault of the program. Your entries are kept; go on working.")
        assert hearth_in_draft(home)["front"] == "20"
        terminal.send(reading.encode() + b"\t\x1b[Z")
        terminal.until(lambda: "a fault of the program" not in terminal.words, "the keys")
    assert terminal.row("Facing sticks out").startswith("13 ")
    terminal.send(b"\x13")
    terminal.see("Saved")
    assert entry(home, "face.taproom.hearth.facing") == "13"
    paths = subprocess.run(
        [*PROGRAM, "paths"], capture_output=True, text=True, check=True, env=os.environ | {"XDG_STATE_HOME": str(home)}
    )  # fmt: skip
    log = next(line.split()[-1] for line in paths.stdout.splitlines() if line.startswith("faults"))
    written = Path(log).read_text()
    assert written.count("ZeroDivisionError") == 2
    assert "Traceback" in written and "looks" not in terminal.words


def test_a_second_fault_in_a_row_ends_it_with_the_draft_kept(
    start: Callable[..., Terminal], home: Path
) -> None:
    """Exit 70, no frames with the job in them, the file as it was, the entries in the draft."""
    terminal = start(changed=BROKEN)
    terminal.send(HEARTH + b"20\t3/4")
    terminal.until(lambda: terminal.row("Facing sticks out").startswith("3/4"), "the entries")
    terminal.send(b"\x0b\x0b")
    assert terminal.end() == 70
    assert "Fault of the program" in terminal.words
    assert "faults.log" in terminal.words
    assert "Traceback" not in terminal.words
    assert (home / "mill.hearth.toml").read_text() == MILL
    assert hearth_in_draft(home) == {"front": "20", "facing": "3/4"}
    again = start(ready="Unsaved work found")
    again.see("Hearth depth in front (taproom)")


# The first minutes of three people, from nothing to an answer: each key counted, Enter among them

NEW, ASK_FLUE, ASK_HEARTH = (
    ("Down", "Enter"),
    ("Down", "Enter"),
    ("Down", "Down", "Space", "Down", "Space", "Enter"),
)
BYTES = {"Enter": b"\r", "Down": b"\x1b[B", "Space": b" ", "F3": b"\x1bOR"}


class Person:
    """Types at a terminal, and counts."""

    def __init__(self, home: Path) -> None:
        self.terminal = Terminal(home)
        self.keys = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.terminal.send(BYTES[key])
            self.keys += 1

    def type(self, text: str) -> None:
        """An entry, and Enter after it."""
        self.terminal.send(text.encode() + b"\r")
        self.keys += len(text) + 1

    def answer(self, *entries: tuple[str, str]) -> None:
        """F3 leads to the entry that is missing; type it."""
        for label, text in entries:
            self.press("F3")
            self.terminal.see(f"› {label}")
            self.type(text)

    def told(self, who: str, most: int) -> None:
        sys.stdout.write(f"\n{who}: {self.keys} keys\n")
        assert self.keys <= most
        self.terminal.child.close(force=True)


def test_an_inspector_has_a_quick_answer_in_60_keys(home: Path) -> None:
    """A stone house: 32 x 28 in open, a 13x13 liner, 20 and 12 in of hearth, wood 14 in up and 6 in out, 38 in over the roof."""
    person = Person(home)
    person.terminal.see("Quick check")
    person.press("Enter")
    person.terminal.see("Quick check. From jamb to jamb")
    for entry in ("32", "28", "13x13", "20", "12", "14", "6", "38"):
        person.type(entry)
    person.terminal.see("What was measured meets the reference values used.")
    assert "Not looked at: masonry or factory-built" in person.terminal.words
    person.told("inspector, quick look", 60)


def test_a_mason_has_the_flue_question_answered_in_90_keys(home: Path) -> None:
    """36 x 30 in open against a 13x13 liner: 127 of 108 in2 (IRC Table R1003.14(2), R1003.15.1)."""
    person = Person(home)
    person.terminal.see("Quick check")
    person.press(*NEW)
    person.terminal.see("What do you want to know?")
    person.press(*ASK_FLUE)
    person.terminal.see("Left out:")
    person.answer(
        ("Construction", "m"), ("Width", "36"), ("Height", "30"), ("Nominal liner", "13x13"),
        ("Lining", "c"), ("Condition", "s"), ("Bends", "none"), ("Other appliances", "none"), ("What closes it", "n"),
    )  # fmt: skip
    person.terminal.see("✓ MEETS what was asked")
    assert "127 / 108 in2" in person.terminal.words and "Asked only: flue" in person.terminal.words
    person.told("mason, does the flue carry it", 90)


def test_a_remodeler_has_hearth_and_clearances_answered_in_140_keys(home: Path) -> None:
    """30 x 26 in open, under 6 ft2: 16 in out and 8 in to each side (IRC R1001.10), 2 in thick (R1001.9)."""
    person = Person(home)
    person.terminal.see("Quick check")
    person.press(*NEW)
    person.terminal.see("What do you want to know?")
    person.press(*ASK_HEARTH)
    person.terminal.see("Left out:")
    person.answer(
        ("Construction", "m"), ("Width", "30"), ("Height", "26"), ("Depth in front", "18"), ("Past the left jamb", "10"),
        ("Past right jamb", "10"), ("Thickness", "4"), ("What is below", "c"), ("Nothing above", "y"), ("Nothing beside", "y"),
        ("Nothing in front", "y"), ("No wood at sides", "y"), ("No wood behind", "y"), ("No wood at chimney", "y"),
    )  # fmt: skip
    person.terminal.see("✓ MEETS what was asked")
    assert "18 / 16 in min" in person.terminal.words
    person.told("remodeler, hearth and clearances", 140)
