"""The walk of DEVELOPERS.md: a rule, its value, its entry and its field, added to a copy of the program as it is written there."""

import json
import re
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
STEP = re.compile(r"In `([^`]+)`, before `([^`]+)`:\n\n   ```\w+\n(.*?)\n   ```", re.DOTALL)
ASKS = """
import json
from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.job import from_document, job_schema
from hearthcalc_tui.sections.table import KINDS

def judged(edition, **face):
    document = {"format": "hearthcalc-job", "version": 1, "about": {"measured": False}}
    job = from_document({**document, "face": [{"name": "room", **face}]})
    found = assess(job, reference.load(edition)).stages["found"]
    return [[f.verdict, f.text] for f in found.findings if f.id == "doors.screen_gap"]

print(json.dumps({
    "at": judged("irc-2021", screen_gap="1/2"), "over": judged("irc-2021", screen_gap="9/16"),
    "unmeasured": judged("irc-2021"), "silent": judged("sweden", screen_gap="1/2"),
    "schema": "screen_gap" in job_schema()["$defs"]["Face"]["properties"],
    "field": any(key == "face.screen_gap" for kind in KINDS for key, _ in kind.fields),
}))
"""


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The program with the four steps taken."""
    folder = tmp_path_factory.mktemp("copy")
    names = {"hearthcalc": "hearthcalc", "tui": "hearthcalc_tui", "reference": "hearthcalc_reference"}
    for name, installed in names.items():
        shutil.copytree(ROOT / name, folder / installed, ignore=shutil.ignore_patterns("__pycache__"))
    steps = STEP.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(steps) == 4
    for place, before, block in steps:
        top, _, rest = place.partition("/")
        path = folder / names[top] / rest
        text = path.read_text(encoding="utf-8")
        assert text.count(before) == 1, f"{place} has no one place before {before}"
        added = textwrap.dedent(
            "\n".join(line[3:] if line.startswith("   ") else line for line in block.split("\n"))
        )
        added = textwrap.indent(added, before[: len(before) - len(before.lstrip())])
        path.write_text(text.replace(before, f"{added}\n{before}"), encoding="utf-8")
    return folder


def test_four_files_make_a_rule(copy: Path) -> None:
    told = subprocess.run(
        [sys.executable, "-c", ASKS], cwd=copy, capture_output=True, text=True, timeout=120, env={"PYTHONPATH": str(copy)}
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    answers = json.loads(told.stdout)
    assert answers["at"] == [
        ["MEETS", "The screen of the room face leaves 1/2 in under it; 1/2 in maximum: exactly at the limit."]
    ]
    assert answers["over"][0][0] == "SHORT" and "over by 1/16 in" in answers["over"][0][1]
    assert answers["unmeasured"] == [
        ["MEASURE", "1/2 in maximum under it. Not measured yet: gap under the screen (room)."]
    ]
    assert answers["silent"][0][0] == "REFER"
    assert answers["schema"] and answers["field"]
