"""Does a test fail when an operator or a number of the program is another one?

    cd tests && python -m mutants.run rules.hearth physics --limit 100 --seed 1

Each change of a module is tried by the tests that run the changed line, in a process of its own; no file of the package is written.
What survives is printed, and what `justified.toml` explains is told apart. Ends with 1 where a change survives that nothing explains.

Which tests run which line is learnt by one run of them, and kept in a folder for temporary files until a test file or the module changes.
Those that failed for another change come first, then those in a file that is named for the module, then the others, the fastest first: all
of them, or twenty seconds of tests.
"""

from __future__ import annotations

import argparse
import gc
import hashlib
import importlib
import json
import os
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import _lru_cache_wrapper, partial
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import find_spec, spec_from_file_location
from inspect import unwrap
from itertools import accumulate
from pathlib import Path
from random import Random
from types import CodeType, FrameType, FunctionType
from typing import Any, TextIO
from zlib import crc32

import pytest
from _pytest.runner import runtestprotocol
from mutants.change import Mutant, mutants

Say = Callable[[object], None]
Lines = dict[str, set[int]]  # of each module

ROOT = Path(__file__).parents[2]
PACKAGE = "hearthcalc"
FOLDER = next(
    Path(place) for place in getattr(find_spec(PACKAGE), "submodule_search_locations", ())
)  # as its functions name it
JUSTIFIED = Path(__file__).with_name("justified.toml")
KEPT = Path(tempfile.gettempdir()) / f"{PACKAGE}-mutants-{os.getuid()}-{crc32(bytes(ROOT)):08x}"

# Left to screens, paper and programs, or minutes long: test files with one of the first in their path, or one of the others in their text.
OTHERS = re.compile("report|drawing|wheel|mutants|benchmarks|faults|truth|opinion|models_hard")
NAMED = re.compile(r"hearthcalc_tui|faults\.|truth\.house")
LIBRARIES = (
    "CoolProp",
    "fluids",
    "ht",
    "hypothesis",
    "msgspec",
    "numpy",
    "pandas",
    "pint",
    "scipy",
    "tomlkit",
)
BEFORE = 5  # tests that failed for another change
FIRST = 25  # tests, of which those of one file stand together; then the others so
# Seconds of the processor's, as the machine may be busy.
MOST = 20.0  # of tests for one change
PATIENCE = 10  # times as long as a test takes without the change, and as many seconds
START = 60  # for the tests to be read
MEMORY = 6 * 2**30  # bytes


@dataclass(frozen=True, slots=True)
class Aim:
    """A module to change, and the tests that try it: files, and what pytest is told besides."""

    name: str
    path: Path
    tests: tuple[Path, ...]
    root: Path = ROOT
    options: tuple[str, ...] = ("-c", str(ROOT / "pyproject.toml"), "--hypothesis-profile", "mutants")

    @classmethod
    def of(cls, name: str, among: str = "") -> Aim:
        """A module of the package, named within it, and the tests with this in their path."""
        tests = sorted(
            path
            for path in (ROOT / "tests").rglob("test_*.py")
            if _fits(path) and re.search(among, str(path))
        )
        return cls(name, FOLDER / f"{name.replace('.', '/')}.py", tuple(tests))

    @property
    def full_name(self) -> str:
        return ".".join((PACKAGE, self.name)) if self.path.is_relative_to(FOLDER) else self.name


def _fits(path: Path) -> bool:
    return not OTHERS.search(str(path.relative_to(ROOT))) and not NAMED.search(path.read_text("utf-8"))


@dataclass(slots=True)
class Ran:
    """One test without any change: how long it took, and which lines of a module it ran. Under the name "": the reading of the tests."""

    seconds: float
    lines: set[int]


@dataclass(frozen=True, slots=True)
class Result:
    """What came of one change. by: the test that failed, "" where none did; tests: how many were run."""

    mutant: Mutant
    killed: bool
    by: str
    tests: int


# In a process of its own.


def _write(to: TextIO, line: str) -> None:
    to.write(f"{line}\n")
    to.flush()


def _apart(work: Callable[[Say], object]) -> Generator[Any, None, bool]:
    """What a piece of work says in a child of this process, as it says it; then whether it came to its end.

    work: takes what it says it with, one JSON value a call.
    """
    reads, writes = os.pipe()
    child = os.fork()
    if not child:
        os.close(reads)
        done = 1
        try:
            signal.signal(signal.SIGPROF, signal.SIG_DFL)
            with os.fdopen(writes, "w", encoding="utf-8") as pipe:
                work(lambda said: _write(pipe, json.dumps(said)))
            done = 0
        finally:
            os._exit(done)
    os.close(writes)
    with os.fdopen(reads, encoding="utf-8") as pipe:
        for line in pipe:
            yield json.loads(line)
    return os.waitpid(child, 0)[1] == 0


def _pytest(aim: Aim, tests: Iterable[str], plugin: object) -> None:
    """One run of pytest in this process, over the files of these tests, heard by nobody."""
    base = KEPT / f"tests-{os.getppid()}"
    common = (
        "-q",
        "--tb=native",
        "--assert=plain",
        "-p",
        "no:cacheprovider",
        "-n0",
        "--basetemp",
        str(base),
    )
    files = sorted({test.partition("::")[0] for test in tests if test})
    options = (*aim.options, *common, *(str(aim.root / file) for file in files))
    with Path(os.devnull).open("w", encoding="utf-8") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
        with redirect_stdout(nowhere), redirect_stderr(nowhere):
            pytest.main(["--rootdir", str(aim.root), *options], plugins=[plugin])


# Which test runs which line.


class Learner:
    """Notes, for each test, the lines of some modules that it runs.

    What a shared fixture runs counts for each test that asks for it. What tests or these modules keep in caches is forgotten in between.
    """

    def __init__(self, modules: dict[str, str], say: Say) -> None:
        self.modules = modules  # file -> name
        self.say = say
        self.now: Lines = {}
        self.shared: dict[tuple[str, str], Lines] = {}
        self.caches: list[Any] = []
        self.failed: list[str] = []
        self.notes: list[Any] = []

    def enter(self, frame: FrameType, event: str, arg: object) -> Callable[..., Any] | None:
        name = self.modules.get(frame.f_code.co_filename)
        if name is None:
            return None
        add = self.now.setdefault(name, set()).add
        add(frame.f_lineno)

        def line(frame: FrameType, event: str, arg: object) -> Callable[..., Any]:
            add(frame.f_lineno)
            return line

        return line

    def pytest_sessionstart(self) -> None:
        sys.settrace(self.enter)

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        sys.settrace(None)
        self._note("", 0.0)
        self._tell("")
        files = {*self.modules, *(str(item.path) for item in session.items)}
        self.caches = [cache for cache, file in _caches() if file in files]

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        if fixturedef.scope == "function":
            return (yield)
        outer, self.now = self.now, {}
        try:
            return (yield)
        finally:
            _join(self.shared.setdefault((fixturedef.baseid, fixturedef.argname), {}), self.now)
            _join(outer, self.now)
            self.now = outer

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item, nextitem: pytest.Item | None) -> Iterator[None]:
        for cache in self.caches:
            cache.cache_clear()
        self.now = {}
        started = time.process_time()
        sys.settrace(self.enter)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            for (base, name), lines in self.shared.items():
                if name in getattr(item, "fixturenames", ()) and item.nodeid.startswith(base):
                    _join(self.now, lines)
            if item.nodeid not in self.failed:
                self._note(item.nodeid, time.process_time() - started)
            if nextitem is None or nextitem.path != item.path:
                self._tell(str(item.path))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def _note(self, test: str, seconds: float) -> None:
        self.notes.append([test, seconds, {name: sorted(lines) for name, lines in self.now.items()}])

    def _tell(self, path: str) -> None:
        self.say([path, self.failed, self.notes])
        self.failed, self.notes = [], []


def _join(into: Lines, more: Lines) -> None:
    for name, lines in more.items():
        into.setdefault(name, set()).update(lines)


def _caches() -> Iterator[tuple[Any, str]]:
    """The caches of functions in this process, each with the file of its function."""
    gc.unfreeze()  # what is frozen is not listed
    for thing in gc.get_objects():
        if isinstance(thing, _lru_cache_wrapper) and isinstance(made := unwrap(thing), FunctionType):
            yield thing, made.__code__.co_filename


def learn(aims: Iterable[Aim], kept: Path = KEPT) -> dict[str, dict[str, Ran]]:
    """For each module, the tests that run some of it. What has not changed since it was learnt is read again."""
    aims = list(aims)
    kept.mkdir(mode=0o700, exist_ok=True)
    marks = {path: _mark(path) for path in {path for aim in aims for path in (aim.path, *aim.tests)}}
    known: dict[str, dict[str, Any]] = {}
    for aim in aims:
        file = kept / f"{aim.full_name}.json"
        known[aim.name] = json.loads(file.read_text("utf-8")) if file.exists() else {}
        if known[aim.name].get("module") != marks[aim.path]:
            known[aim.name] = {"module": marks[aim.path], "tests": {}}
    stale = {
        path for aim in aims for path in aim.tests
        if known[aim.name]["tests"].get(str(path), {}).get("mark") != marks[path]
    }  # fmt: skip
    if stale:
        modules = {str(aim.path): aim.name for aim in aims}
        for path, failed, notes in _apart(
            lambda say: _pytest(aims[0], map(str, stale), Learner(modules, say))
        ):
            if failed:
                _write(sys.stdout, f"Left out, as they fail without any change: {', '.join(failed)}")
            for aim in aims:
                ran = {
                    test: [seconds, lines[aim.name]] for test, seconds, lines in notes if aim.name in lines
                }
                if not path and not ran:  # not read by these tests, but it may be by others
                    continue
                known[aim.name]["tests"][path] = {"mark": marks.get(Path(path), ""), "ran": ran}
                (kept / f"{aim.full_name}.json").write_text(json.dumps(known[aim.name]), "utf-8")
    here = {"", *map(str, marks)}
    return {
        name: {
            test: Ran(seconds, set(lines))
            for path, file in learnt["tests"].items() if path in here
            for test, (seconds, lines) in file["ran"].items()
        }
        for name, learnt in known.items()
    }  # fmt: skip


def _mark(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


# One change after another.


def chosen(aim: Aim, mutant: Mutant, ran: dict[str, Ran], failed: Counter[str]) -> list[str]:
    """The tests for one change, in the order in which they are best run."""
    read, lines, own = _read(mutant, ran), set(mutant.lines), aim.name.rpartition(".")[2]
    tests = [test for test, one in ran.items() if test and (read or one.lines & lines)]
    tests.sort(key=lambda test: (own not in test.partition("::")[0], ran[test].seconds))
    before = sorted((test for test in tests if failed[test]), key=lambda test: -failed[test])[:BEFORE]
    order = list(dict.fromkeys([*before, *tests]))
    spent = list(accumulate(ran[test].seconds for test in order))
    return [test for test, until in zip(order, spent, strict=True) if until <= MOST] or order[:1]


def _read(mutant: Mutant, ran: dict[str, Ran]) -> bool:
    """Does what is changed run as the module is read."""
    return not mutant.function or ("" in ran and bool(ran[""].lines & set(mutant.lines)))


class Trial:
    """Within a run of pytest that has read its tests: tries each change in a child, by the tests that run its line.

    A change is put into the functions that live; so one that runs as the module is read wants a run of its own, `Anew`.
    """

    def __init__(self, aim: Aim, changes: list[Mutant], ran: dict[str, Ran], say: Say) -> None:
        self.aim, self.changes, self.ran, self.say = aim, changes, ran, say
        self.path = str(aim.path)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        importlib.import_module(self.aim.full_name)  # where the tests read it no sooner than they run
        caches = [cache for cache, file in _caches() if file == self.path]
        alive: dict[tuple[str, int], list[FunctionType]] = {}
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType) and thing.__code__.co_filename == self.path:
                place = (thing.__code__.co_qualname, thing.__code__.co_firstlineno)
                alive.setdefault(place, []).append(thing)
        gc.freeze()  # less to copy in each child
        failed: Counter[str] = Counter()
        for number, mutant in enumerate(self.changes):
            tests = chosen(self.aim, mutant, self.ran, failed)
            code = mutant.function_code(self.path)
            functions = alive[mutant.function, mutant.first]
            work = partial(self._one, functions, code, caches, [items[test] for test in tests])
            said, whole = _heard(_apart(work))
            failed.update(said)
            self.say([number, not whole, next(iter(said), ""), len(tests)])
        return True

    def _one(
        self,
        functions: list[FunctionType],
        code: CodeType,
        caches: list[Any],
        items: list[pytest.Item],
        say: Say,
    ) -> None:
        for function in functions:
            function.__code__ = code
        for cache in caches:
            cache.cache_clear()
        _run(items, self.ran, say)


class Anew:
    """Within a run of pytest of its own: some tests in their order, up to the first that fails."""

    def __init__(self, tests: list[str], ran: dict[str, Ran], say: Say) -> None:
        self.tests, self.ran, self.say = tests, ran, say

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        if session.testsfailed or any(test not in items for test in self.tests):
            self.say("the reading of the tests")
            os._exit(1)
        _run([items[test] for test in self.tests], self.ran, self.say)
        self.say("")
        return True


def _run(items: list[pytest.Item], ran: dict[str, Ran], say: Say) -> None:
    """Tests up to the first that fails, which is named. Those of one file stand together, as they share what is made for a file."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    order = [*sorted(items[:FIRST], key=_file), *sorted(items[FIRST:], key=_file)]
    for item, following in zip(order, [*order[1:], None], strict=False):
        signal.setitimer(signal.ITIMER_PROF, PATIENCE * (1 + ran[item.nodeid].seconds))
        if any(report.failed for report in runtestprotocol(item, log=False, nextitem=following)):
            say(item.nodeid)
            os._exit(1)


def _file(item: pytest.Item) -> str:
    return str(item.path)


def _heard(saying: Generator[Any, None, bool]) -> tuple[list[Any], bool]:
    said = []
    while True:
        try:
            said.append(next(saying))
        except StopIteration as end:
            return said, end.value


class Changed(SourceFileLoader):
    """Finds one module, and reads it with its change."""

    def __init__(self, aim: Aim, code: CodeType) -> None:
        super().__init__(aim.full_name, str(aim.path))
        self.changed = code

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> ModuleSpec | None:
        return spec_from_file_location(fullname, self.path, loader=self) if fullname == self.name else None

    def get_code(self, fullname: str) -> CodeType:
        return self.changed


def tried(aim: Aim, changes: Iterable[Mutant], ran: dict[str, Ran]) -> Iterator[Result]:
    """What comes of each change, as it comes. This process must not have read the module itself."""
    inside: list[Mutant] = []
    for mutant in changes:
        tests = chosen(aim, mutant, ran, Counter())
        if not tests:
            yield Result(mutant, False, "", 0)
        elif not _read(mutant, ran):
            inside.append(mutant)
        else:
            said, _ = _heard(_apart(partial(_anew, aim, mutant, tests, ran)))
            yield Result(mutant, said != [""], "".join(said), len(tests))
    if inside:
        heard = 0
        for number, killed, by, tests in _apart(lambda say: _pytest(aim, ran, Trial(aim, inside, ran, say))):
            heard += 1
            yield Result(inside[number], killed, by, tests)
        if heard < len(inside):
            sys.exit(f"The tests of {aim.name} ended before their time, at {inside[heard]}.")


def _anew(aim: Aim, mutant: Mutant, tests: list[str], ran: dict[str, Ran], say: Say) -> None:
    sys.meta_path.insert(0, Changed(aim, mutant.code(str(aim.path))))
    signal.setitimer(signal.ITIMER_PROF, START)
    _pytest(aim, tests, Anew(tests, ran, say))


# What is known of what survives.


@dataclass(frozen=True, slots=True)
class Justified:
    """A change that no test can tell from the program as it is, and why."""

    module: str
    function: str
    line: str
    becomes: str
    why: str

    def fits(self, module: str, mutant: Mutant) -> bool:
        return (module, mutant.function, mutant.line, mutant.becomes) == (
            self.module,
            self.function,
            self.line,
            self.becomes,
        )


def justified(path: Path = JUSTIFIED) -> list[Justified]:
    """The list of them."""
    return [Justified(**row) for row in tomllib.loads(path.read_text("utf-8")).get("same", [])]


def _modules(name: str) -> list[str]:
    """The modules that a name stands for: itself, or those of a folder."""
    folder = FOLDER / name.replace(".", "/")
    if not folder.is_dir():
        return [name]
    return [f"{name}.{path.stem}" for path in sorted(folder.glob("*.py")) if path.stem != "__init__"]


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "modules", nargs="+", metavar="MODULE", help="as in rules.hearth, or rules for all of them"
    )
    parser.add_argument("--limit", type=int, help="so many changes of each, by chance")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--again", action="store_true", help="only what survived the last time")
    parser.add_argument(
        "--tests", default="", metavar="PATTERN", help="only test files with this in their path"
    )
    asked = parser.parse_args()
    for library in LIBRARIES:
        importlib.import_module(library)
    aims = [Aim.of(module, asked.tests) for name in asked.modules for module in _modules(name)]
    learnt = learn(aims)
    reasons = justified()
    open_ends = 0
    for aim in aims:
        if not learnt[aim.name]:
            sys.exit(f"No test runs {aim.name}.")
        changes = mutants(aim.path.read_text("utf-8"))
        last = KEPT / f"{aim.full_name}.survivors.json"
        if asked.again:
            before = json.loads(last.read_text("utf-8"))
            changes = [
                mutant for mutant in changes if [mutant.function, mutant.line, mutant.becomes] in before
            ]
        if asked.limit is not None:
            changes = sorted(
                Random(asked.seed).sample(changes, min(asked.limit, len(changes))), key=changes.index
            )
        started = time.monotonic()
        counts: Counter[str] = Counter()
        survive: list[list[str]] = []
        for result in tried(aim, changes, learnt[aim.name]):
            known = any(reason.fits(aim.name, result.mutant) for reason in reasons)
            what = "killed" if result.killed else "justified" if known else "survives"
            counts[what] += 1
            if result.killed and known:
                _write(
                    sys.stdout, f"{aim.name}:{result.mutant}: killed by {result.by}, though it is justified"
                )
            if what == "survives":
                survive.append([result.mutant.function, result.mutant.line, result.mutant.becomes])
                _write(sys.stdout, f"{aim.name}:{result.mutant}  ({result.tests} tests)")
        last.write_text(json.dumps(survive), "utf-8")
        open_ends += counts["survives"]
        figures = f"{counts['killed']} killed, {counts['justified']} justified, {counts['survives']} survive"
        _write(
            sys.stdout, f"{aim.name}: {len(changes)} mutants, {figures}; {time.monotonic() - started:.0f} s"
        )
    shutil.rmtree(KEPT / f"tests-{os.getpid()}", ignore_errors=True)
    sys.exit(open_ends > 0)


if __name__ == "__main__":
    main()
