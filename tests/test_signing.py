"""Who signed: frozen with the entries and the values, void once either is another, and said to be no more than it is."""

import datetime as dt
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from hearthcalc import cli, jobfile, reference
from hearthcalc.assess import assess
from hearthcalc.errors import UsageError
from hearthcalc.job import Document, Job, set_entry, signing
from hearthcalc.report import contents, text

DEMO = files("hearthcalc_reference").joinpath("demos/inn.hearth.toml").read_text("utf-8")
DOCUMENT = jobfile.document(DEMO, "demo")
EDITION = reference.load("irc-2021")
DAY = dt.date(2026, 5, 4)


def signed(
    document: Document = DOCUMENT, name: str = "Ann Arden", role: str = "measured", **more: str
) -> Document:
    return signing.sign(document, name=name, role=role, values=EDITION.fingerprint, date=DAY, **more)


def standings(document: Document) -> list[str]:
    job = Job.from_document(document)
    return [signing.standing(job, one, EDITION.fingerprint) for one in job.signed]


def test_a_sign_off_holds_until_an_entry_is_another_and_holds_again_where_it_is_put_back() -> None:
    both = signed(signed(), "Ben Low", "checked", trade="home inspector", license="No. 7")
    assert standings(both) == ["Holds: nothing was changed since."] * 2
    assert Job.from_document(both).fingerprint == Job.from_document(DOCUMENT).fingerprint
    before = DOCUMENT["firebox"]["depth"]
    edited = set_entry(both, "firebox.depth", "22")
    assert standings(edited) == ["Void: the job or the sign-off itself was changed after that."] * 2
    assert standings(set_entry(edited, "firebox.depth", before)) == ["Holds: nothing was changed since."] * 2


CHANGES: dict[str, Callable[[Document], Document]] = {
    "a caption": lambda document: set_entry(document, "photo.x.file", "x.jpg"),
    "a note": lambda document: set_entry(document, "about.notes", "seen again"),
    "the date of signing": lambda document: set_entry(
        document, 'signed."Ann Arden".date', dt.date(2026, 6, 1)
    ),
    "the license": lambda document: set_entry(document, 'signed."Ann Arden".license', "No. 8"),
    "a plan": lambda document: set_entry(document, "planned.firebox.depth", "30"),
    "a question": lambda document: set_entry(document, "asked.questions", ["flue"]),
    "an edition": lambda document: set_entry(document, "about.edition", "irc-2018"),
}


@pytest.mark.parametrize("change", CHANGES)
def test_whatever_is_changed_voids_it(change: str) -> None:
    assert standings(CHANGES[change](signed())) == [
        "Void: the job or the sign-off itself was changed after that."
    ]


def test_other_reference_values_void_it() -> None:
    job = Job.from_document(signed())
    assert list(signing.voided(job, EDITION.fingerprint)) == []
    assert list(signing.voided(job, "f" * 64)) == [
        "The sign-off by Ann Arden does not hold: it was signed with other reference values than are used now."
    ]


def test_what_it_was_last_judged_by_and_another_signer_void_nothing() -> None:
    document = signed({**signed(), "judged": {"edition": "irc-2021"}}, "Ben Low", "checked")
    assert standings(document) == ["Holds: nothing was changed since."] * 2


@pytest.mark.parametrize(
    "name", ["Ann Arden", "ann  arden", "ANN ARDEN", "Ann\tArden", "\uff21nn Arden", "Ann\u200b Arden"]
)
def test_who_measured_cannot_check(name: str) -> None:
    for measured in (set_entry(DOCUMENT, "about.measured_by", "Ann Arden"), signed()):
        with pytest.raises(UsageError, match="Who measured cannot be the one who checks"):
            signed(measured, name, "checked")
    with pytest.raises(UsageError, match="Who checked cannot be the one who measured"):
        signed(signed(set_entry(DOCUMENT, "about.measured_by", None), role="checked"), name, "measured")
    forged = signed()
    forged = {
        **forged,
        "signed": [*forged["signed"], {**forged["signed"][0], "name": f"{name}.", "role": "checked"}],
    }
    assert standings(forged)[1] == "Void: who measured cannot be the one who checks."


@pytest.mark.parametrize("name", ["", "  ", "\u202e", "."])
def test_nobody_cannot_sign(name: str, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sign", str(job), "--name", name, "--role", "measured"]) == 2
    assert capsys.readouterr().err == (
        "hearthcalc: Nobody signs. The name is empty. Give the full name of the person who signs.\n"
    )
    assert job.read_text("utf-8") == DEMO


def test_a_person_who_was_only_named_has_not_signed() -> None:
    named = {
        **DOCUMENT,
        "signed": [{"name": "Ann Arden", "role": "measured", "date": DAY}, {"name": "B", "fingerprint": "x"}],
    }
    assert standings(named) == ["Not signed yet."] * 2
    assert list(signing.voided(Job.from_document(named), EDITION.fingerprint)) == []


def test_signing_again_takes_the_place_of_the_first_time() -> None:
    again = signed(set_entry(signed(license="No. 7"), "firebox.depth", "22"))
    assert standings(again) == ["Holds: nothing was changed since."]
    assert again["signed"][0]["license"] == "No. 7"


def test_the_report_and_the_check_say_who_signed_and_what_is_void() -> None:
    def told(document: Document) -> str:
        job = Job.from_document(document)
        return " ".join(text.write(contents.compose(assess(job, EDITION), job, EDITION, DAY)).split())

    good = told(signed(trade="mason", license="No. 7"))
    assert (
        "Measured by: Name and trade Ann Arden, mason; License or certificate No. 7; Date 2026-05-04" in good
    )
    assert "Holds: nothing was changed since." in good and "Checked by: How it stands Not signed yet." in good
    assert "It is not a qualified electronic signature" in good and "does not hold" not in good
    bad = told(set_entry(signed(), "firebox.depth", "22"))
    words = (
        "! The sign-off by Ann Arden does not hold: the job or the sign-off itself was changed after that."
    )
    assert words in bad.split("What was asked")[0]
    assert "Void: the job or the sign-off itself was changed after that." in bad


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "house.hearth.toml"
    path.write_text(DEMO, encoding="utf-8")
    return path


def test_the_command_signs_the_file_and_verify_tells_what_came_after(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = job.with_name("r.md")
    cli.main(["report", str(job), "-o", str(out), "--short"])
    sign = ["sign", str(job), "--name", "Ann Arden", "--role", "measured", "--date", "2026-05-04"]
    assert cli.main(sign) == 0
    assert "Signed: measured by Ann Arden, 2026-05-04." in capsys.readouterr().out
    comments = [line for line in DEMO.splitlines() if line.startswith("#")]
    assert all(line in job.read_text("utf-8") for line in comments)
    assert cli.main(sign) == 0
    assert "It takes the place of what was signed on 2026-05-04." in capsys.readouterr().out
    assert cli.main(["verify", str(out), str(job)]) == 1
    assert capsys.readouterr().out.startswith("The sign-off has changed: somebody signed since")
    cli.main(["report", str(job), "-o", str(out), "--short"])
    assert cli.main(["verify", str(out), str(job)]) == 0
    job.write_text(job.read_text("utf-8").replace('depth = "21"', 'depth = "22"'), encoding="utf-8")
    capsys.readouterr()
    assert cli.main(["verify", str(out), str(job)]) == 1
    assert capsys.readouterr().out.splitlines() == [
        "The entries of the job have changed in: firebox.",
        "The sign-off by Ann Arden does not hold: the job or the sign-off itself was changed after that.",
    ]
    cli.main(["check", str(job)])
    assert "! The sign-off by Ann Arden does not hold" in capsys.readouterr().out


def test_a_job_that_changes_meanwhile_is_not_signed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As by another who signs it."""
    path = tmp_path / "house.hearth.toml"
    path.write_text(jobfile.demo("inn"))
    sign = signing.sign

    def slowly(*given: Any, **named: Any) -> Any:
        path.write_text("# mine\n" + jobfile.demo("inn"))
        return sign(*given, **named)

    monkeypatch.setattr(signing, "sign", slowly)
    assert cli.main(["sign", str(path), "--role", "measured", "--name", "Ann Arden"]) == 4
    assert "has changed since it was read" in capsys.readouterr().err
    assert path.read_text() == "# mine\n" + jobfile.demo("inn")


def test_a_demo_cannot_be_signed(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["sign", "demo", "--name", "A", "--role", "checked"]) == 2
    assert "Only a job file can be signed" in capsys.readouterr().err
