"""How long a key takes to reach the findings, and what the program weighs, beside a bare screen in one run.

Run with `pytest -m benchmark`. Limits are this project's own.
"""

import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pexpect
import pytest

from hearthcalc_tui import storage
from hearthcalc_tui.journal import Journal

pytestmark = pytest.mark.benchmark

ROUNDS = 15
Within = Callable[[str, float], bool]

ECHO = """\
from textual.app import App
from textual.widgets import Input

class Echo(App):
    def compose(self):
        yield Input()

Echo().run()
"""

JOB = """\
format = "hearthcalc-job"
version = 1
[[face]]
name = "room"
side = "front"
width = "36"
[flue]
liner = "8x8"
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "hearthcalc"
    folder.mkdir()
    (folder / "screen.json").write_text('{"caution_read": true}')
    return tmp_path


def _start(home: Path, *arguments: str) -> pexpect.spawn:
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    environment |= {
        "TERM": "xterm-256color",
        "LANG": "C.UTF-8",
        "HOME": str(home),
        "PYTHONPYCACHEPREFIX": str(home / "bytecode"),
    }
    environment |= {name: str(home) for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME")}
    return pexpect.spawn(sys.executable, list(arguments), env=environment, dimensions=(40, 120), timeout=30)


def _until(child: pexpect.spawn, key: str, shown: str) -> float:
    begin = time.perf_counter()
    child.send(key)
    child.expect_exact(shown)
    return time.perf_counter() - begin


def test_a_key_reaches_the_findings_soon_after_a_bare_screen_would_show_it(
    home: Path, within: Within
) -> None:
    """From the key to the rule finding on the terminal, over the echo of an idle input: 50 ms at the median."""
    echo = _start(home, "-c", ECHO)
    echo.expect_exact("\x1b[?25")
    time.sleep(1)
    bare = []
    for number in range(ROUNDS):
        bare.append(_until(echo, str(number % 10), str(number % 10)))
        time.sleep(0.1)
    echo.close(force=True)

    path = home / "job.hearth.toml"
    path.write_text(JOB)
    screen = _start(home, "-m", "hearthcalc_tui.launch", str(path))
    screen.expect_exact("MEASURE")
    time.sleep(1)
    for keys in (
        "\x1b[6~",
        "\x1b[6~",
        "\t",
        "\t",
        "\t",
    ):  # two sections on, then to the height of the opening
        screen.send(keys)
        time.sleep(0.5)
    found = []
    for _ in range(ROUNDS):
        _until(screen, "3", "10.8 in2")
        time.sleep(0.1)
        found.append(_until(screen, "0", "108 in2"))
        time.sleep(0.1)
        _until(screen, "\x7f", "10.8 in2")
        screen.send("\x7f")
        time.sleep(0.3)
    screen.close(force=True)
    over = statistics.median(found) - statistics.median(bare)
    sys.stderr.write(f"echo {statistics.median(bare) * 1000:.0f} ms; findings {over * 1000:.0f} ms later\n")
    assert within("echo", over)


def test_a_key_is_written_down_in_a_tenth_of_a_millisecond(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, within: Within
) -> None:
    monkeypatch.setattr(storage, "state_folder", lambda: tmp_path)
    kept = Journal()
    kept.open("mill")
    begin = time.perf_counter()
    for number in range(10_000):
        kept.came("sign", "3")
        if number % 3 == 2:
            kept.entered(number - 30, "firebox.depth")
    each = (time.perf_counter() - begin) / 10_000
    kept.close(keep=False)
    sys.stderr.write(f"{each * 1e6:.0f} us for a key\n")
    assert within("journal", each)


def _resident(child: pexpect.spawn) -> int:
    status = Path(f"/proc/{child.pid}/status").read_text()
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1])


def test_the_program_weighs_no_more_than_three_bare_screens(home: Path, within: Within) -> None:
    bare, demo = _start(home, "-c", ECHO), _start(home, "-m", "hearthcalc_tui.launch", "demo")
    demo.expect_exact("SHORT")
    time.sleep(2)
    ratio = _resident(demo) / _resident(bare)
    bare.close(force=True)
    demo.close(force=True)
    sys.stderr.write(f"memory {ratio:.2f} times a bare screen\n")
    assert within("memory", ratio)
