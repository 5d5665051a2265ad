"""The built wheel, in an environment that holds nothing else of the project, run away from the repository."""

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

import hearthcalc

ROOT = Path(__file__).parents[1]


def run(*command: str | Path, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(word) for word in command], cwd=cwd, capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL,
        env={**os.environ, **environment},
    )  # fmt: skip


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    built = run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder, cwd=ROOT)
    assert built.returncode == 0, built.stderr
    (path,) = folder.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def clean(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scripts folder of an environment with the wheel in it.

    What the program depends on is borrowed from the running environment, as a plain folder at the end of the
    path: what is installed there in editable form, this project too, is not reached that way.
    """
    folder = tmp_path_factory.mktemp("clean")
    venv.create(folder, with_pip=False, symlinks=True)
    python = folder / "bin" / "python"
    put = run(
        sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", "--no-index",
        "--no-compile", wheel, cwd=folder
    )  # fmt: skip
    assert put.returncode == 0, put.stderr
    purelib = run(
        python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=folder
    ).stdout.strip()
    (Path(purelib) / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return folder / "bin"


def test_the_wheel_claims_three_names_and_holds_its_data(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {name.split("/")[0] for name in names if ".dist-info/" not in name} == {
        "hearthcalc", "hearthcalc_tui", "hearthcalc_reference",
    }  # fmt: skip
    assert {"hearthcalc/units.txt", "hearthcalc_tui/app.tcss", "hearthcalc_reference/sources.toml"} <= names
    reference = {
        str(p.relative_to(ROOT / "reference")) for p in (ROOT / "reference").rglob("*") if p.is_file()
    }
    assert {f"hearthcalc_reference/{name}" for name in reference if "__pycache__" not in name} <= names


def test_the_installed_copy_is_the_one_that_runs(clean: Path, tmp_path: Path) -> None:
    code = "import hearthcalc, hearthcalc_tui, hearthcalc_reference as r; print(hearthcalc.__file__, hearthcalc_tui.__file__, *r.__path__)"
    told = run(clean / "python", "-c", code, cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert all(path.startswith(str(clean.parent)) for path in told.stdout.split())


def test_the_installed_copy_tells_its_version(clean: Path, tmp_path: Path) -> None:
    told = run(clean / "hearthcalc", "--version", cwd=tmp_path)
    assert (told.returncode, told.stdout, told.stderr) == (0, f"{hearthcalc.__version__}\n", "")


def test_the_installed_copy_judges_the_demo(clean: Path, tmp_path: Path) -> None:
    told = run(clean / "hearthcalc", "check", "demo", "--json", cwd=tmp_path)
    assert told.returncode == 1, told.stderr
    assert set(json.loads(told.stdout)["stages"]) == {"found", "planned"}


@pytest.mark.parametrize("command", ["selftest", "validation", "reference check", "schema", "paths"])
def test_the_installed_copy_runs(command: str, clean: Path, tmp_path: Path) -> None:
    told = run(clean / "hearthcalc", *command.split(), cwd=tmp_path)
    assert told.returncode == 0, told.stdout + told.stderr
    assert told.stdout
    assert not told.stderr


def test_nothing_is_written_where_the_program_runs(clean: Path, tmp_path: Path) -> None:
    told = run(clean / "hearthcalc", "demo", cwd=tmp_path, TERM="dumb")
    assert told.returncode == 1, told.stderr
    assert not list(tmp_path.iterdir())
