"""What a terminal sends, as keys: what none should send ends nothing and swallows nothing."""

import sys
from types import ModuleType

import pytest
from textual import events
from textual._xterm_parser import XTermParser
from textual.driver import Driver
from textual.geometry import Size

from hearthcalc_tui import arriving
from hearthcalc_tui.arriving import PASTE_PAUSES, Reading, fits, recording


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    now = [100.0]
    monkeypatch.setattr(arriving, "monotonic", lambda: now[0])
    return now


@pytest.mark.parametrize("sent", [["\x1b[200~12 1/2"], ["\x1b[20", "0~12", " 1/2"]])
def test_a_paste_that_loses_its_end_comes_to_one(sent: list[str], clock: list[float]) -> None:
    """It swallowed every key after it."""
    reading = Reading()
    for part in sent:
        assert not list(reading.feed(part))
    clock[0] += PASTE_PAUSES
    assert not list(reading.tick()), "the rest may be on its way"
    clock[0] += 0.1
    (paste,) = reading.tick()
    assert isinstance(paste, events.Paste) and paste.text == "12 1/2"
    assert not list(reading.feed("\x1b[201~")), "that which comes late is none"
    (key,) = reading.feed("7")
    assert isinstance(key, events.Key) and key.key == "7"


def test_a_paste_that_is_late_stays_one(clock: list[float]) -> None:
    """Over a slow line its second half would be typed into whatever is there by then, with an Enter that agrees to the first."""
    reading = Reading()
    assert not list(reading.feed("\x1b[200~36\r24\r"))
    clock[0] += PASTE_PAUSES + 0.1
    (first,) = reading.tick()
    assert not list(reading.feed("48\r"))
    (second,) = reading.feed("12\r\x1b[201~")
    assert [event.text for event in (first, second) if isinstance(event, events.Paste)] == [
        "36\r24\r",
        "48\r12\r",
    ]
    assert [event.key for event in reading.feed("36\r") if isinstance(event, events.Key)] == [
        "3",
        "6",
        "enter",
    ]


def test_a_key_by_itself_is_no_part_of_a_paste_that_was_over(clock: list[float]) -> None:
    reading = Reading()
    assert not list(reading.feed("\x1b[200~36"))
    clock[0] += PASTE_PAUSES + 0.1
    assert len(list(reading.tick())) == 1
    keys = [*reading.feed("7"), *reading.feed("36\r")]
    assert [event.key for event in keys if isinstance(event, events.Key)] == ["7", "3", "6", "enter"]


@pytest.mark.parametrize("own", [True, False])
def test_the_thread_that_reads_has_them_on_every_system(own: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """On Windows it stands in a module of its own, which the driver's names."""
    here, apart = ModuleType("a_driver"), ModuleType("apart")
    reads = here if own else apart
    reads.XTermParser = XTermParser  # type: ignore[attr-defined]
    if not own:
        here.win32 = apart  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "a_driver", here)
    recording(type("ADriver", (Driver,), {"__module__": "a_driver"}))
    assert reads.XTermParser is Reading  # type: ignore[attr-defined]


def test_a_paste_that_has_its_end_is_not_ended_again(clock: list[float]) -> None:
    reading = Reading()
    (paste,) = reading.feed("\x1b[200~12\x1b[201~")
    assert isinstance(paste, events.Paste) and paste.text == "12"
    clock[0] += 2 * PASTE_PAUSES
    assert not list(reading.tick())


@pytest.mark.parametrize(
    "sequence",
    ["\x1b[99999999999u", "\x1b[1114112u", "\x1b[97;1;9999999999u", "\x1b[48;0;0;0;0t\x1b[<0;5;5M"],
)
def test_a_sequence_that_no_terminal_sends_is_no_key(sequence: str) -> None:
    """The first ended the program: no letter has that number."""
    reading = Reading()
    before = [event for event in reading.feed(sequence) if isinstance(event, events.Key | events.MouseEvent)]
    assert not before
    (key,) = reading.feed("7")
    assert isinstance(key, events.Key) and key.key == "7"


@pytest.mark.parametrize(
    ("width", "height", "window"),
    [
        (80, 24, True),
        (1, 1, True),
        (2000, 1000, True),
        (2001, 24, False),
        (80, 1001, False),
        (0, 24, False),
        (80, 0, False),
    ],
)
def test_a_size_that_no_window_has_is_not_taken(width: int, height: int, window: bool) -> None:
    """9,000 by 9,000 held the screen up for ten seconds, 0 by 0 blanked it."""
    assert fits(events.Resize(Size(width, height), Size(width, height))) == window
