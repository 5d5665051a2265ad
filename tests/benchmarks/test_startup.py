"""How long a person waits, side by side with the least that could be: ratios measured in one run, in a real terminal.

Run with `pytest -m benchmark`. Limits are this project's own.
"""

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pexpect
import pytest

pytestmark = pytest.mark.benchmark

ROUNDS = 9
Within = Callable[[str, float], bool]

BARE = """\
from textual.app import App
from textual.widgets import Label

class Bare(App):
    def compose(self):
        yield Label("one label")

Bare().run()
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "hearthcalc"
    folder.mkdir()
    (folder / "screen.json").write_text('{"caution_read": true}')
    return tmp_path


def _compiled(home: Path) -> dict[str, str]:
    """The environment with bytecode kept, as an installed program has it, also where tests run without."""
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    return {**environment, "PYTHONPYCACHEPREFIX": str(home / "bytecode")}


def _wait(home: Path, arguments: list[str], *words: str) -> list[float]:
    """Seconds from starting a program until each of these is on its terminal."""
    environment = {**_compiled(home), "TERM": "xterm-256color", "LANG": "C.UTF-8", "HOME": str(home)}
    environment |= {name: str(home) for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME")}
    begin = time.perf_counter()
    child = pexpect.spawn(sys.executable, arguments, env=environment, dimensions=(24, 80), timeout=30)
    times = []
    for word in words:
        child.expect_exact(word)
        times.append(time.perf_counter() - begin)
    child.close(force=True)
    return times


def _tell(numbers: str) -> None:
    sys.stderr.write(f"{numbers}\n")


def test_frame_caution_and_findings_beside_a_bare_screen(home: Path, within: Within) -> None:
    """From the start to the caution, and to the findings of the demo, beside a bare Textual program with one label."""
    bare, caution, findings = [], [], []
    _wait(home, ["-c", BARE], "one label")
    _wait(home, ["-m", "hearthcalc_tui.launch", "demo"], "building department decide", "SHORT")
    for _ in range(ROUNDS):
        bare += _wait(home, ["-c", BARE], "one label")
        first, second = _wait(
            home, ["-m", "hearthcalc_tui.launch", "demo"], "building department decide", "SHORT"
        )
        caution.append(first)
        findings.append(second)
    base = statistics.median(bare)
    frame, full = statistics.median(caution) / base, statistics.median(findings) / base
    _tell(f"bare {base * 1000:.0f} ms; caution {frame:.2f} times that; findings {full:.2f} times")
    assert within("caution", frame)
    assert within("findings", full)


def test_version_beside_an_empty_program(home: Path, within: Within) -> None:
    """`hearthcalc --version` beside `python -c pass`."""

    def seconds(*arguments: str) -> float:
        begin = time.perf_counter()
        subprocess.run([sys.executable, *arguments], check=True, capture_output=True, env=_compiled(home))
        return time.perf_counter() - begin

    call = "import sys; sys.argv = ['hearthcalc', '--version']; from hearthcalc_tui.launch import main; sys.exit(main())"
    seconds("-c", call)
    pairs = [(seconds("-c", "pass"), seconds("-c", call)) for _ in range(15)]
    base, version = (statistics.median(column) for column in zip(*pairs, strict=True))
    _tell(f"python -c pass {base * 1000:.1f} ms; --version {version / base:.2f} times that")
    assert within("version", version / base)


def test_a_check_beside_the_imports_it_needs(home: Path, within: Within) -> None:
    """`hearthcalc check demo` beside an empty program that loads the libraries it cannot do without."""

    def seconds(*arguments: str) -> float:
        begin = time.perf_counter()
        subprocess.run([sys.executable, *arguments], capture_output=True, env=_compiled(home), check=False)
        return time.perf_counter() - begin

    needed = "import argparse, fractions, msgspec, tomli"
    call = ("-m", "hearthcalc_tui.launch", "check", "demo")
    seconds(*call)
    pairs = [(seconds("-c", needed), seconds(*call)) for _ in range(7)]
    base, check = (statistics.median(column) for column in zip(*pairs, strict=True))
    _tell(f"imports {base * 1000:.0f} ms; check demo {check / base:.2f} times that")
    assert within("check", check / base)


def test_rule_findings_after_a_keystroke(home: Path, monkeypatch: pytest.MonkeyPatch, within: Within) -> None:
    """The work of judging the demo anew, both stages, after one key, at the median."""
    from hearthcalc_tui import storage
    from hearthcalc_tui.session import open_session

    monkeypatch.setattr(storage, "state_folder", lambda: home)
    session = open_session("demo")
    session.assess()
    times = []
    for number in range(60):
        begin = time.process_time()
        session.type("face.taproom.width", str(24 + number % 20))
        session.assess()
        times.append(time.process_time() - begin)
    session.file.release()
    median = statistics.median(times)
    _tell(f"rule findings after a key: {median * 1000:.1f} ms of work at the median")
    assert within("rules_after_a_key", median)


def test_model_findings_after_a_keystroke(
    home: Path, monkeypatch: pytest.MonkeyPatch, within: Within
) -> None:
    """Rules and models of the demo anew, both stages, after one key, at the median."""
    from hearthcalc_tui import storage
    from hearthcalc_tui.session import open_session

    monkeypatch.setattr(storage, "state_folder", lambda: home)
    session = open_session("demo")
    session.judge.judged_by(session.now)
    times = []
    for number in range(15):
        begin = time.process_time()
        session.type("face.taproom.width", str(24 + number))
        session.judge.judged_by(session.now)
        times.append(time.process_time() - begin)
    session.file.release()
    median = statistics.median(times)
    _tell(f"model findings after a key: {median * 1000:.0f} ms of work at the median")
    assert within("models_after_a_key", median)


async def test_turning_to_another_section(
    home: Path, monkeypatch: pytest.MonkeyPatch, within: Within
) -> None:
    """Another section stands, with the cursor in it."""
    import asyncio

    from hearthcalc_tui import storage
    from hearthcalc_tui.app import HearthcalcApp

    monkeypatch.setattr(storage, "state_folder", lambda: home / "hearthcalc")
    app = HearthcalcApp("demo")
    times = []
    async with app.run_test(size=(80, 24)):
        while app.desk is None or app.screen.focused is None:
            await asyncio.sleep(0.02)
        for _ in range(12):
            begin = time.perf_counter()
            await app.desk.walk.do_next_section()
            times.append(time.perf_counter() - begin)
            await asyncio.sleep(0.05)
        app.desk.close()
    median = statistics.median(times)
    _tell(f"another section: {median * 1000:.0f} ms at the median")
    assert within("section", median)
