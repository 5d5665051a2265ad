"""What holds for every test: bounded random examples, one terminal and locale, and no file of the person who runs them is touched."""

import gc
import os
import re
from collections.abc import Generator, Iterator
from functools import cache
from pathlib import Path

import pytest
from hypothesis import Phase, settings

# The same examples on every machine, so that a red run is red again. `--hypothesis-profile=long` looks further.
settings.register_profile("short", max_examples=40, deadline=None, derandomize=True, database=None)
settings.register_profile("long", max_examples=5000, deadline=None)
# What fails for a changed program need not be made short: tests/mutants.
settings.register_profile(
    "mutants", settings.get_profile("short"), max_examples=20, phases=(Phase.explicit, Phase.generate)
)
settings.load_profile("short")


# What is loaded and collected stays to the end: looking through it for garbage again and again would be a sixth of the time. Of what
# tests make little is garbage that only such a search finds.
gc.disable()
gc.set_threshold(20_000)


def pytest_sessionstart() -> None:
    """The signs of the screen are chosen by the terminal as its modules load: when tests are collected, before any fixture."""
    os.environ["TERM"] = "xterm-256color"


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()


# What takes long: programs of their own, screens, paper, examples at random, models.
SLOW = (
    "hearthcalc_tui",
    "subprocess",
    "hypothesis",
    "faults.",
    "truth.",
    "hearthcalc.report",
    "assess_models",
    "demo(",
)


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """`-m quick` does not even read the modules that name something slow, and who does not ask for benchmarks none of theirs."""
    if config.option.markexpr == "not benchmark" and collection_path.name == "benchmarks":
        return True
    if config.option.markexpr != "quick" or collection_path.suffix != ".py":
        return None
    return any(word in _source(collection_path) for word in SLOW) or None


# Modules that start the program or its screen again for each test: their tests go one by one to whichever worker is free, and last, so
# that all workers end together. Any other module is of one worker: what it has loaded, judged and written serves all its tests.
SINGLY = re.compile(r"^from (waiting|forked|faults)\b|^import pexpect", re.MULTILINE)


@pytest.hookimpl(optionalhook=True, wrapper=True)  # there is no pytest-xdist where one process runs all
def pytest_xdist_auto_num_workers() -> Generator[None, int, int]:
    """One more than there are processors: while one waits for a program that it started, another goes on."""
    return (yield) + 1


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    from xdist.scheduler import LoadScopeScheduling

    class ByModule(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            module = nodeid.partition("::")[0]
            return _together(config.rootpath / module, module) or nodeid

    return ByModule(config, log)


@cache
def _together(path: Path, module: str) -> str:
    """What the tests of a module are called that go to one worker; "" where each goes by itself."""
    source = _source(path)
    if "CoolProp" in source:  # two modules ask it, and it takes long to load
        return "CoolProp"
    return "" if SINGLY.search(source) else module


@cache
def _source(module: Path) -> str:
    return module.read_text("utf-8")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of the modules that are left to it, `-m quick` takes the first example of each test."""
    begun: set[str] = set()
    for item in items:
        test = item.nodeid.partition("[")[0]
        if test not in begun:
            item.add_marker("quick")
        begun.add(test)


@pytest.fixture(scope="session", autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A home, a terminal and a locale of their own for the tests and for every program that they start.

    Those programs share what one of them has compiled, and what came compiled, as an installed program does.
    """
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("COLORTERM", "NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES", "LC_ALL", "LC_CTYPE"):
            patch.delenv(name, raising=False)
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        patch.setenv("TERM", "xterm-256color")
        patch.setenv("LANG", "C.UTF-8")
        # Curves of what boils, which air has not: loading those of all fluids takes CoolProp seconds.
        patch.setenv("COOLPROP_DISABLE_SUPERANCILLARIES_ENTIRELY", "1")
        for name in ("HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
            patch.setenv(name, str(home))
        yield home


@pytest.fixture
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen with nothing kept from before, its cautions read, in a folder of its own."""
    from mill import keep_in

    from hearthcalc_tui import storage

    keep_in(tmp_path, monkeypatch)
    monkeypatch.chdir(tmp_path)
    storage.Memory().remember(caution_read=True)
