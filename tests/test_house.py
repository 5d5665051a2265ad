"""Where the code lives: the one arrow of imports, what loads when, and what no file may hold."""

import ast
import gc
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.metadata import packages_distributions
from importlib.util import resolve_name
from pathlib import Path

import pytest

from hearthcalc.findings import STANDINGS, Verdict

ROOT = Path(__file__).parents[1]
FOLDERS = {"hearthcalc": "hearthcalc", "hearthcalc_tui": "tui"}

# A module may import those of an earlier row, and those beside it in a folder of its own. A folder stands for all in it
# that no earlier row names.
ROWS = (
    ("hearthcalc.errors", "hearthcalc.caution", "hearthcalc.asked", "hearthcalc.files"),
    ("hearthcalc.many", "hearthcalc.workers"),
    ("hearthcalc.lengths",),
    ("hearthcalc.quantities",),
    ("hearthcalc.physics",),
    ("hearthcalc.models.results",),
    ("hearthcalc.findings", "hearthcalc.entry"),
    ("hearthcalc.tables",),
    ("hearthcalc.job",),
    ("hearthcalc.reference",),
    ("hearthcalc.jobfile",),
    ("hearthcalc.amendments",),
    ("hearthcalc.models",),
    ("hearthcalc.rules",),
    ("hearthcalc.coverage",),
    ("hearthcalc.assess",),
    ("hearthcalc.figures",),
    (
        "hearthcalc.drawing", "hearthcalc.quick", "hearthcalc.selftest", "hearthcalc.steps", "hearthcalc.table", "hearthcalc.takeoff",
        "hearthcalc.validation", "hearthcalc.whatif",
    ),
    ("hearthcalc.alike",),
    ("hearthcalc.report", "hearthcalc.batch"),
    ("hearthcalc.cli",),
    ("hearthcalc_tui",),
)  # fmt: skip
RANK = {room: row for row, rooms in enumerate(ROWS) for room in rooms}
PHYSICS = {
    "__future__", "bisect", "collections", "enum", "functools", "itertools", "math", "msgspec", "typing", "numpy", "scipy",
}  # fmt: skip
ONLY_IN = {
    "pint": {"hearthcalc.quantities"},
    "pandas": {"hearthcalc.alike", "hearthcalc.table"},
    "pyarrow": {"hearthcalc.table"},
    "tomlkit": {"hearthcalc.amendments", "hearthcalc.jobfile"},
    "reportlab": {"hearthcalc.report.paper", "hearthcalc.report.pdf", "hearthcalc.report.sheets"},
    "PIL": {"hearthcalc.report.photos"},
    "xlsxwriter": {"hearthcalc.report.workbook"},
    "ezdxf": {"hearthcalc.report.dxf"},
}
SHOWN_BY = {"textual", "rich"}

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "hearthcalc", "tui", "reference", "tests"}
BUILT = {"build", "dist"}


def package_of(path: Path) -> str:
    """The package that a module's own dots start from, by its installed name; "" outside the project's packages."""
    for package, folder in FOLDERS.items():
        if path.is_relative_to(ROOT / folder):
            return ".".join((package, *path.relative_to(ROOT / folder).parent.parts))
    return ""


def modules() -> Iterator[tuple[str, Path]]:
    """Every module of the engine and of the screen, by its installed name."""
    for folder in FOLDERS.values():
        for path in sorted((ROOT / folder).rglob("*.py")):
            package = package_of(path)
            yield package if path.name == "__init__.py" else f"{package}.{path.stem}", path


NAMES = frozenset(name for name, _ in modules())


@cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    """All that Python reads in a file; the module itself comes first.

    Hundreds of thousands for all files, kept for every test of them: no search for garbage goes through them.
    """
    gc.disable()
    found = tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    gc.freeze()
    gc.enable()
    return found


@pytest.fixture(scope="module", autouse=True)
def forgotten_after() -> Iterator[None]:
    """What was read of the files is kept no longer than their tests run."""
    yield
    nodes.cache_clear()


@cache
def imports(path: Path, *, only_at_the_top: bool = False) -> tuple[str, ...]:
    """The full names of what a file imports, wherever in it."""
    return tuple(_imports(path, only_at_the_top))


def _imports(path: Path, only_at_the_top: bool) -> Iterator[str]:
    module, *within = nodes(path)
    assert isinstance(module, ast.Module)
    for node in module.body if only_at_the_top else within:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            module = resolve_name("." * node.level + (node.module or ""), package_of(path))
            whole = [f"{module}.{alias.name}" for alias in node.names]
            yield from (name if name in NAMES else module for name in whole)


def room(module: str) -> str:
    """The room of the house that a module is in."""
    return next((r for r in RANK if module == r or module.startswith(f"{r}.")), "")


def outside(path: Path) -> set[str]:
    """The packages a file imports that are neither Python's nor the project's."""
    tops = {name.split(".")[0] for name in imports(path)}
    return tops - sys.stdlib_module_names - set(FOLDERS) - {"hearthcalc_reference"}


def test_the_version_costs_nothing() -> None:
    assert not imports(dict(modules())["hearthcalc"])


def test_each_module_imports_only_what_stands_before_it() -> None:
    for name, path in modules():
        mine = room(name)
        assert mine or name == "hearthcalc", f"{name} has no room in the house"
        for other in imports(path):
            if other.split(".")[0] in FOLDERS and other != "hearthcalc":
                theirs = room(other)
                assert theirs, f"{name} imports {other}, which has no room in the house"
                assert RANK[theirs] < RANK[mine] or theirs == mine, (
                    f"{name} imports {other}: against the arrow"
                )


def test_only_the_screen_knows_the_screen_libraries() -> None:
    for name, path in modules():
        assert name.startswith("hearthcalc_tui") or not outside(path) & SHOWN_BY, name


def test_slow_libraries_have_an_owner_that_loads_them_late() -> None:
    for name, path in modules():
        assert all(name in ONLY_IN[package] for package in outside(path) & ONLY_IN.keys()), name
        at_the_top = {other.split(".")[0] for other in imports(path, only_at_the_top=True)}
        assert not at_the_top & ONLY_IN.keys(), name


def test_physics_knows_only_mathematics() -> None:
    with_arrays = {"hearthcalc.alike", "hearthcalc.figures", "hearthcalc.many", "hearthcalc.whatif"}
    for name, path in modules():
        if room(name) == "hearthcalc.physics":
            tops = {other.split(".")[0] for other in imports(path)} - {"hearthcalc"}
            assert tops <= PHYSICS, name
        else:
            assert room(name) in with_arrays or not outside(path) & {"numpy", "scipy"}, name


def test_models_judge_nothing_and_only_rules_read_a_case_for_them() -> None:
    for name, path in modules():
        if room(name) in ("hearthcalc.models", "hearthcalc.models.results"):
            assert "hearthcalc.findings" not in imports(path), name
        if name.startswith("hearthcalc_tui"):
            assert not set(imports(path)) & {"hearthcalc.rules.inputs", "hearthcalc.rules.draft_inputs"}, name


def loaded_after(code: str) -> set[str]:
    """What a fresh interpreter has loaded after some code, by top name, and the project's modules in full."""
    told = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport json, sys; print(json.dumps(sorted(sys.modules)))"],
        capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    names = json.loads(told.stdout.splitlines()[-1])
    return {name if name.split(".")[0] in FOLDERS else name.split(".")[0] for name in names}


def test_the_whole_engine_loads_without_the_screen_and_the_slow_libraries() -> None:
    engine = sorted(
        name for name in NAMES if name.startswith("hearthcalc") and not name.startswith("hearthcalc_tui")
    )
    loaded = loaded_after("\n".join(f"import {name}" for name in engine))
    assert set(engine) <= loaded
    assert not loaded & {"textual", "rich", "pandas", "pint", "tomlkit", "numpy", "scipy", "hearthcalc_tui"}


def test_the_installed_command_loads_nothing_before_it_knows_what_is_wanted() -> None:
    loaded = loaded_after("import hearthcalc_tui.launch")
    ours = {name for name in loaded if name.split(".")[0] in FOLDERS}
    assert ours == {"hearthcalc", "hearthcalc_tui", "hearthcalc_tui.launch"}
    assert not loaded & {"textual", "rich", "msgspec", "argparse", "tomli", "importlib.metadata"}


def test_what_is_imported_is_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    shipped = (
        project["dependencies"] + extras["arrays"] + extras["report"] + extras["parquet"] + extras["tables"]
    )
    guided = ROOT / "tests/faults/guided.py"
    asked = {
        "the program": ({package for _, path in modules() for package in outside(path)}, shipped),
        "the tests": (
            {
                package
                for path in (ROOT / "tests").rglob("*.py")
                if path != guided
                for package in outside(path)
            },
            shipped + extras["test"],
        ),
        "the led search": (outside(guided), extras["fuzz"]),
    }
    owners = packages_distributions()
    shared = {path.stem for path in (ROOT / "tests").iterdir()}
    for whose, (packages, requirements) in asked.items():
        named = {re.split(r"[\[<>=~! ]", text)[0].lower() for text in requirements}
        for package in packages - shared:
            assert {owner.lower() for owner in owners.get(package, [package])} & named, (
                f"{package}, for {whose}"
            )


def test_the_top_level_holds_the_rooms_and_nothing_else() -> None:
    seen = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - BUILT
    assert seen == TOP


UNWANTED = {
    "the path of one machine": r"(?<![\w.])/(?:work|root|home|tmp|opt|Users)/",
    "the host of a package index": r"(?i)\b(?:[p]ypi\.org|[p]ythonhosted|[n]pmjs|index-[u]rl)",
    "unfinished work": r"\b(?:TO[D]O|FIX[M]E|XX[X]|HA[C]K)\b|raise NotImplemented[E]rror|mark\.(?:[s]kip|[x]fail)|pytest\.[s]kip\b",
}


def texts() -> Iterator[Path]:
    """Every file of the project that a person writes."""
    for top in (*TOP, ".ci", ".gitignore"):
        place = ROOT / top
        for path in [place] if place.is_file() else sorted(place.rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                yield path


@pytest.mark.parametrize("what", UNWANTED)
def test_no_file_holds(what: str) -> None:
    pattern = re.compile(UNWANTED[what])
    held = [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        for path in texts()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if pattern.search(line)
    ]
    assert not held


# Words that would read as leave to light a fire, and the turns of phrase in which they say the opposite.
LEAVE = re.compile(
    r"(?i)\b(?:un)?safe(?:ly|ty)?\b|\bapprov\w*|\bcompli\w*|\bcompl(?:y|ies)\b|\bcertif\w*|\bguarant\w*|\bgood to go\b|\ball clear\b"
)
NO_LEAVE = re.compile(
    r"(?i)\bnot an approval\b|\bno check here is an approval\b|\bsafe for color blindness\b"
    r"|\blicense or certificate\b|\bapproved document\b|\bcertified for solid fuel\b"
)


def told(path: Path) -> Iterator[tuple[int, str]]:
    """The texts of a file of code or of data that can reach a person: not docstrings, not comments."""
    if path.suffix != ".py":
        text = path.read_text(encoding="utf-8")
        yield from (
            (n, line) for n, line in enumerate(text.splitlines(), 1) if not line.lstrip().startswith("#")
        )
        return
    silent = {
        id(node.value)
        for node in nodes(path)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in nodes(path):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node.lineno, node.value


def test_no_text_gives_leave_to_light_a_fire() -> None:
    held = [
        f"{path.relative_to(ROOT)}:{number}: {text.strip()}"
        for folder in ("hearthcalc", "tui", "reference")
        for path in sorted((ROOT / folder).rglob("*"))
        if path.suffix in {".py", ".toml", ".csv"}
        for number, text in told(path)
        if LEAVE.search(NO_LEAVE.sub("", text))
    ]
    assert not held


def test_the_verdicts_are_five_words_that_give_no_leave() -> None:
    assert {str(verdict) for verdict in Verdict} == {"MEETS", "CLOSE", "SHORT", "MEASURE", "REFER"}
    assert not any(LEAVE.search(verdict) for verdict in Verdict)


def reference_values() -> Iterator[tuple[str, dict[str, object]]]:
    for path in sorted((ROOT / "reference").rglob("*.toml")):
        for value in tomllib.loads(path.read_text(encoding="utf-8")).get("value", ()):
            yield f"{path.name}: {value.get('key')}", value


def test_every_reference_value_says_how_far_it_can_be_trusted_and_where_it_stands() -> None:
    sources = tomllib.loads((ROOT / "reference/sources.toml").read_text(encoding="utf-8"))
    values = list(reference_values())
    assert values
    for place, value in values:
        assert value["standing"] in STANDINGS, place
        assert value["source"] in sources, place
        assert value["clause"], place


FUNCTION = ast.FunctionDef | ast.AsyncFunctionDef


def called(node: ast.Call) -> str:
    """The last name of what is called; "" where it has none."""
    return getattr(node.func, "attr", "") or getattr(node.func, "id", "")


def can_fail(function: ast.AST, judges: set[str]) -> bool:
    """Does a function assert anything, by itself or through one of these."""
    return any(
        isinstance(node, ast.Assert)
        or (isinstance(node, ast.Raise) and "AssertionError" in ast.unparse(node))
        or (isinstance(node, ast.Call) and called(node) in judges)
        for node in ast.walk(function)
    )


def test_every_test_can_fail() -> None:
    functions = [
        (path.name, node)
        for path in sorted((ROOT / "tests").rglob("*.py"))
        for node in nodes(path)
        if isinstance(node, FUNCTION)
    ]
    judges = {"raises", "fail"} | {
        function.name for _, function in functions if can_fail(function, {"raises", "fail"})
    }
    tests = [(file, function) for file, function in functions if function.name.startswith("test_")]
    assert not [f"{file}: {test.name}" for file, test in tests if not can_fail(test, judges)]
