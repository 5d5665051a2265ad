"""The three demos: invented houses, each another story. They are shipped, valid, never written to, and use no amendments."""

import json
import re

import pytest

from hearthcalc import cli, jobfile
from hearthcalc.errors import UsageError

STORIES = {
    "inn": ("Heron Inn", ["taproom", "dining"], None),
    "schoolhouse": ("Old schoolhouse", ["loft"], ("hearth", "clearances")),
    "stonehouse": ("Small stone house", ["opening"], None),
}


@pytest.mark.parametrize("name", jobfile.DEMOS)
def test_each_demo_is_a_job_of_its_own_story_in_an_invented_place(name: str) -> None:
    text = jobfile.demo(name)
    job = jobfile.parse_text(text, name)
    title, faces, questions = STORIES[name]
    assert (job.about.title or "").startswith(title) and "(invented)" in (job.about.place or "")
    assert [face.name for face in list(job.stages().values())[-1].job.face] == faces
    assert job.asked.questions == questions
    assert not re.search(r"\b(deck|porch|terrace)", text), "no demo plays on one of these"


def test_the_inn_is_inside_on_both_sides() -> None:
    planned = jobfile.parse_text(jobfile.demo("inn"), "inn").stages()["planned"].job
    assert [face.opens_to for face in planned.face] == ["room", "room"] and planned.flue.place == "inside"


def test_a_demo_is_told_by_its_name_and_an_unknown_one_with_those_that_there_are(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = []
    for words in (["demo", "schoolhouse", "--json"], ["check", "demo:schoolhouse", "--json"]):
        cli.main(words)
        told.append(json.loads(capsys.readouterr().out))
    assert told[0] == told[1] and told[0]["job"]["title"].startswith("Old schoolhouse")
    assert cli.main(["demo", "castle"]) == 2
    assert "There are: inn, schoolhouse, stonehouse." in capsys.readouterr().err
    with pytest.raises(UsageError, match='no demo called "castle"'):
        jobfile.demo_of("demo:castle")
    assert jobfile.demo_of("demo") == "inn" and jobfile.demo_of("house.hearth.toml") == ""
