"""Which clauses are judged, by what, and which are not: the tables hold every clause of the facts, and name nothing that is not there."""

import json
import re
import shutil
from pathlib import Path

import pytest

from hearthcalc import assess, cli, coverage, jobfile, reference
from hearthcalc.errors import FileError
from hearthcalc.findings import Assessment, Verdict
from hearthcalc.job import FIELDS, Job
from hearthcalc.report import contents, model
from hearthcalc.report import text as text_report
from hearthcalc.rules.case import RULES
from hearthcalc_tui.screens.coverage import text

# The clauses of IRC chapter 10 and of its neighbours as they were read in the editions of 2012 to 2024, unless a remark says otherwise.
IRC = re.split(
    r"\s+",
    """R1001.2 R1001.2.1 R1001.3.1 R1001.3.2 R1001.4 R1001.4.1 R1001.5 R1001.5.1 R1001.6 R1001.7 R1001.7.1 R1001.8 R1001.8.1
R1001.9 R1001.9.1 R1001.9.2 R1001.10 R1001.11 R1001.12 R1001.13 R1002.5
R1003.5 R1003.6 R1003.7 R1003.9 R1003.9.1 R1003.9.2 R1003.9.3 R1003.10 R1003.11 R1003.11.1 R1003.11.6 R1003.12 R1003.12.2
R1003.13 R1003.15.1 R1003.15.2 R1003.17 R1003.18 R1003.19 R1003.20 R903.2.2
R1004.1 R1004.2 R1004.4 R1004.5 R1005.3 R1005.4 R1005.7 R1005.8 R1006.1 R1006.2 R1006.3 R1006.4 R1006.5
R102.7.1 R302.11 R315.2 M1306.2.3 M1503.6 M1503.6.1 M1503.6.2 M1801.3""",
)
IRC_EXCEPTIONS = (
    "R1001.6 exception", "R1001.9.2 exception", *(f"R1001.11 exception {number}" for number in (1, 2, 3, 4)),
    *(f"R1003.18 exception {number}" for number in (1, 2, 3)), "Table R1003.14(1)", "Table R1003.14(2)", "Table R1003.20", "Table M1306.2",
)  # fmt: skip
FROM_MEMORY = ("M1801.12", "R314.2.2", "N1102.4.2")  # from memory, as the tables say
# NFPA 54, 2012 edition believed, as reprinted in the California Mechanical Code of 2013.
NFPA_54 = (
    "9.3.1.5", "9.3.2.1", "9.3.2.2", "9.3.2.3(1)", "9.3.2.3(2)", "9.3.3", "9.3.4", "9.3.6", "9.3.7", "9.3.8",
    "10.6.1", "10.6.2", "Table 10.6.2.3", "10.6.3",
)  # fmt: skip
ELSEWHERE = {
    # IBC 2021 and 2024, sections 2111 and 2113.
    "ibc-2021": "2111.8 2111.8.1 2111.12 2111.13 2111.14.3 2113.15 2113.16.1 2113.19",
    # NBC Canada, part 9, in O. Reg. 332/12.
    "canada-nbc": "9.21.1.1 9.21.2.1 9.21.2.3 9.21.2.5 9.21.2.6 9.21.3.3 9.21.3.8 9.21.3.10 9.21.4.4 9.21.4.8 9.21.5.1 9.21.5.3 "
    "9.22.1.4 9.22.2.2 9.22.3.1 9.22.4.1 9.22.5.1 9.22.5.2 9.22.7.1 9.22.7.2 9.22.9.1 9.22.9.2 9.22.9.3",
    # Approved Document J, 2010 edition with later amendments, in reprints; NHBC 6.8 beside it.
    "england-adj": "2.1; 2.4; 2.7; 2.8; 2.9; 2.18; 2.22; 2.23; 2.24; 2.34; 1.56; Table 2.1; Table 2.2; Table 2.4; Table 2.5; Appendix B; "
    "Diagram 17; Diagram 18; Diagram 24; Diagram 25; Diagram 26; Diagram 28",
    # Feuerungsverordnung of Saxony, after the model ordinance.
    "germany-feuvo": "§ 4(7);§ 4(8);§ 4(9);§ 8(2);§ 9(1) 1;§ 9(1) 2",
    # ABCB Housing Provisions 2022.
    "australia-hp": "12.4.2(b)(i) 12.4.2(b)(iii) 12.4.2(c) 12.4.3(c)",
    # Decree of 22 October 1969, and NF DTU 24.1 as trade pages quote it.
    "france": "article 18; NF DTU 24.1; DTU 24.2.1",
    # UNI 10683:1998 as makers' manuals and trade pages quote it.
    "italy-uni": "table of outlets; form of the flue; air inlet; EN 13384-1",
    # General advice on open hearths, as chimney sweeps tell it.
    "sweden": "BFS 1995:17; BFS 1995:17 stoves; BBR 5:4; BBR 6:743",
    # Standards of the domestic handbook; NHBC 6.8 of 2020 and 2022.
    "scotland-th": "3.17; 3.17.8; 3.18; 3.19; 3.20; 3.21; 3.22; NHBC 6.8.6; NHBC 6.8.7; NHBC 6.8.18; NHBC 6.8.22",
    # Technical Guidance Document J, 2014, as others quote it.
    "ireland-tgdj": "J1; 1.2.7; 1.5; 2.2",
    # What the councils tell, and the two documents that decide.
    "new-zealand": "Building consent; C/AS1 part 7; AS/NZS 2918",
    # International Mechanical Code, chapter 8 as New York City prints it.
    "imc-2021": "308.4.2; 505.4; 801.3; 801.11; 801.18.3; 801.18.4; 801.18.4 exception",
    # International Existing Building Code, 2015: 401.2.1, 401.2.2 and 701.2.
    "iebc-2021": "302.3; 302.4; 503.1; 701.2",
    # Farmers' Bulletin 1889, the parts that give figures.
    "usda-1941": "fireplace design, flue area; Table 2; Table 3; Table 4; hearth; throat; smoke chamber; mantel; insulation",
}


@pytest.fixture(scope="module")
def unlisted(tmp_path_factory: pytest.TempPathFactory) -> reference.Edition:
    """An edition of a folder in which no table lists its clauses."""
    folder = tmp_path_factory.mktemp("unlisted") / "reference"
    shutil.copytree(reference.shipped(), folder)
    (folder / "coverage" / "sweden.toml").unlink()
    return reference.load("sweden", folder)


def of(edition_id: str) -> coverage.Coverage:
    listed = coverage.load(reference.load(edition_id))
    assert listed is not None
    return listed


def rows(edition_id: str) -> dict[str, coverage.Clause]:
    return {clause.clause: clause for clause in of(edition_id).clauses}


@pytest.fixture(scope="module")
def inn() -> Assessment:
    return assess.assess(jobfile.parse_text(jobfile.demo("inn"), "inn"), reference.load("irc-2021"))


def test_no_clause_of_the_code_is_without_a_row() -> None:
    wanted = {*IRC, *IRC_EXCEPTIONS, *FROM_MEMORY, *(f"NFPA 54 {number}" for number in NFPA_54)}
    assert wanted <= rows("irc-2021").keys()


@pytest.mark.parametrize("edition_id", ELSEWHERE)
def test_nor_one_of_the_other_editions(edition_id: str) -> None:
    wanted = re.split("; ?" if ";" in ELSEWHERE[edition_id] else " ", ELSEWHERE[edition_id])
    assert set(wanted) <= rows(edition_id).keys()


def test_every_edition_has_a_table_and_its_clauses_are_among_those_wanted_here() -> None:
    listed = {id for id in reference.edition_ids() if coverage.load(reference.load(id))}
    assert listed == set(reference.edition_ids())
    assert {id for id in listed if not id.startswith("irc")} == ELSEWHERE.keys()


def test_an_edition_without_a_table_says_so(unlisted: reference.Edition) -> None:
    assert coverage.load(unlisted) is None
    assert coverage.to_record(None, unlisted)["listed"] is False


@pytest.mark.parametrize("edition_id", reference.edition_ids())
def test_a_row_names_what_there_is_and_no_other_edition_than_it_rests_on(edition_id: str) -> None:
    for clause in of(edition_id).clauses:
        for name in clause.by:
            if clause.how == "asked":
                assert name in FIELDS
            else:
                assert RULES[name].kind == ("advice" if clause.how == "advice" else "rule")
        assert bool(clause.by) == (clause.how not in coverage.NOBODY)
        assert clause.why or clause.how not in coverage.NOBODY


OWN = {
    "irc": ("IRC",), "ibc": ("IBC", "IMC", "IEBC"), "can": ("NBC",), "eng": ("ADJ", "NHBC"), "ger": ("FeuVO",), "aus": ("ABCB",),
    "fra": ("FR-1969", "FR-DTU"), "ita": ("UNI-10683",), "swe": ("SE-sweep",), "sco": ("SBS", "NHBC"), "ire": ("TGD-J",),
    "new": ("NZ-councils",), "imc": ("IMC",), "ieb": ("IEBC",), "usd": ("FB1889",),
}  # fmt: skip
# What a clause of a value is listed as, where its row is named otherwise.
NAMED = {
    "general advice, open hearths": "BFS 1995:17", "municipal guides to the planning and building act": "Planning and building act",
    "BBR 6:743, general advice": "BBR 6:743", "heaters and fireplaces": "Building consent",
    "fireplace design": "fireplace design, flue area",
    "International Mechanical Code 505.4": "IMC 505.4", "International Mechanical Code 801.11": "IMC 801.11",
    "International Existing Building Code 503.1": "IEBC 503.1",
}  # fmt: skip


@pytest.mark.parametrize("edition_id", reference.edition_ids())
def test_a_clause_that_a_value_rests_on_has_a_row(edition_id: str) -> None:
    """The editions name a clause with each value: its own code's clauses are all listed."""
    edition = reference.load(edition_id)
    listed = rows(edition_id)
    for value in edition.values.values():
        if value.source in OWN[edition_id[:3]] and value.edition not in reference.BASES:
            told = next((row for start, row in NAMED.items() if value.clause.startswith(start)), "")
            # R1003.9 of "R1003.9, R1003.10"; Diagram 17 of "Diagram 17, A"; 9.22.5.1 of "9.22.5.1.(1)"
            number = re.match(r"(?:[A-Za-z§]+ )*[\w.-]*\w", value.clause)
            assert number, value.clause
            wanted = told or number[0]
            assert any(clause.removeprefix("NHBC ").startswith(wanted) for clause in listed), (
                value.key,
                wanted,
            )


@pytest.mark.parametrize("edition_id", reference.edition_ids())
def test_a_rule_that_judges_by_the_own_code_is_named_in_a_row(edition_id: str) -> None:
    """What a figure of the edition's own code decides stands in a row of its table."""
    edition = reference.load(edition_id)
    named = {name for clause in of(edition_id).clauses for name in clause.by}
    for rule in RULES.values():
        value = edition.get(rule.asks) if rule.kind == "rule" and rule.asks else None
        if value and value.source in OWN[edition_id[:3]] and value.edition not in reference.BASES:
            assert rule.id in named, rule.id


def test_an_edition_states_only_what_differs_from_the_one_it_extends() -> None:
    """N1102.4.2 became N1102.5.2 in 2024; R1001.13 came in 2021; the make-up air clause was M1503.4 up to 2015."""
    new, now, old = rows("irc-2024"), rows("irc-2021"), rows("irc-2015")
    assert new["R1001.10"] == now["R1001.10"] == old["R1001.10"]
    assert "N1102.4.2" in now and "N1102.4.2" not in new and "N1102.5.2" in new
    assert "R1001.13" not in old and "R1001.13" in now
    assert "M1503.4" in old and "M1503.6" not in old
    assert new["R1001.11 exception 3"].edition == "irc-2024"


def test_a_clause_is_judged_only_where_nothing_is_left_to_measure_or_decide(inn: Assessment) -> None:
    listed, stage = of("irc-2021"), inn.stages["found"]
    told = {c.clause: why for c, why in coverage.in_job(listed, stage.findings, ())}
    by_id: dict[str, set[Verdict]] = {}
    for finding in stage.findings:
        if finding.counts:
            by_id.setdefault(finding.id, set()).add(finding.verdict)
    judged = [c for c in listed.clauses if not told[c.clause]]
    assert judged
    for clause in listed.clauses:
        verdicts = {verdict for name in clause.by for verdict in by_id.get(name, ())}
        if clause.how != "judged" or not verdicts or (
            Verdict.SHORT not in verdicts and verdicts & {Verdict.MEASURE, Verdict.REFER}
        ):  # fmt: skip
            assert told[clause.clause], clause.clause
        else:
            assert not told[clause.clause], clause.clause
    assert stage.covered is not None
    bearing = [clause for clause in listed.clauses if clause.bears]
    assert (stage.covered.listed, stage.covered.judged) == (len(bearing), len(judged))


# Masonry heaters, factory-built fireplaces and their chimneys, and what is for appliances alone.
OUTSIDE = (
    "R1002.5",
    "R1004.2",
    "R1004.4",
    "R1004.5",
    "R1005.3",
    "R1005.7",
    "R1005.8",
    "R1003.16",
    "M1306.2.3",
)


@pytest.mark.parametrize("edition_id", ["irc-2021", "irc-2024"])
def test_what_bears_on_no_masonry_fireplace_is_not_counted(edition_id: str) -> None:
    listed = rows(edition_id)
    assert all(listed[number].how == "outside this program" for number in OUTSIDE)
    assert all(listed[number].bears for number in ("R1001.12", "R1004.1", "R1003.12.2", "R1001.10"))
    assert of(edition_id).counts["outside this program"] == sum(
        not clause.bears for clause in listed.values()
    )


def test_an_empty_job_is_judged_by_no_clause() -> None:
    job = Job.from_document(
        {"format": "hearthcalc-job", "version": 1, "units": "in", "face": [{"name": "room"}]}
    )
    stage = assess.assess(job, reference.load("irc-2021")).stages["found"]
    assert stage.covered is not None and stage.covered.judged == 0


def test_what_meets_is_worded_as_what_was_judged(inn: Assessment) -> None:
    """An overall of MEETS says how many clauses were not judged, or that they are not listed."""
    from msgspec.structs import replace

    stage = inn.stages["found"]
    assert stage.covered is not None
    met = replace(stage, findings=tuple(f for f in stage.findings if f.verdict is Verdict.MEETS and f.counts))
    left = stage.covered.listed - stage.covered.judged
    assert model.overall_words(met) == (
        "What was judged meets the reference values used; "
        f"{left} of the {stage.covered.listed} clauses of the edition that bear on it were not judged"
    )
    assert model.overall_words(replace(met, covered=None)).endswith(
        "; how much else the edition asks is not listed"
    )


def test_every_report_ends_with_what_was_not_judged(tmp_path: Path) -> None:
    for flags in ([], ["--short"], ["--for", "homeowner"], ["--for", "permit"], ["--for", "inspection"]):
        file = tmp_path / "report.txt"
        assert cli.main(["report", "demo", "-o", str(file), "--date", "2026-05-04", *flags]) == 1
        lines = file.read_text().splitlines()
        start = max(
            number for number, line in enumerate(lines) if line.strip().lower() == "what was not judged"
        )
        assert any("R1001.12" in line for line in lines[start:]), flags
        assert not any(line.strip().lower() in ("findings", "drawings") for line in lines[start:]), flags


def test_a_report_by_an_edition_without_a_table_says_so(inn: Assessment, unlisted: reference.Edition) -> None:
    table = contents.unjudged(unlisted, inn.deciding, contents.Choice())
    report = model.Report("x", (table,))
    assert "are not listed here" in " ".join(text_report.write(report).split())


def test_the_screen_shows_every_clause_as_it_stands_in_the_job(
    inn: Assessment, unlisted: reference.Edition
) -> None:
    shown = text(of("irc-2021"), inn.deciding).plain
    for clause, why in coverage.in_job(of("irc-2021"), inn.deciding.findings, ()):
        assert f"{clause.clause}  {clause.asks}" in shown
        assert (
            not why
            or (f"Not judged. {why}" if clause.bears else f"  Outside this program. {clause.why}") in shown
        )
    assert text(
        None, assess.assess(jobfile.parse_text(jobfile.demo("inn"), "inn"), unlisted).deciding
    ).plain == ("How much else the edition asks is not listed.")


def test_the_command_prints_every_clause_and_the_json_holds_the_same(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["reference", "coverage", "--edition", "irc-2024"]) == 0
    told = capsys.readouterr().out
    assert cli.main(["reference", "coverage", "--edition", "irc-2024", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["listed"] and sum(record["counts"].values()) == len(record["clauses"])
    for clause in record["clauses"]:
        assert f"{clause['clause']}: {clause['asks']}." in told


ROW = (
    'clause = [ { clause = "1", asks = "x", how = "judged", by = ["flue.area"], standing = "published" } ]\n'
)

ASKED = ROW.replace('"judged"', '"asked"').replace("flue.area", "hearth.front")
TWICE = ROW.replace("[ {", "[ {}, {").replace("{}", ROW[len("clause = [ ") : -len(" ]\n")])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("edition = ", "is not valid TOML"),
        ('edition = "irc-2012"\n', "says edition 'irc-2012'"),
        ('edition = "sweden"\nextends = "nowhere"\n', "extends 'nowhere', which has no table"),
        ('edition = "sweden"\nwithout = ["1"]\n', "leaves out 1, which is not there"),
        ('edition = "sweden"\n' + ROW.replace("published", "sure"), "cannot have the standing 'sure'"),
        ('edition = "sweden"\n' + ROW.replace("flue.area", "flue.aera"), "names 'flue.aera', and there is none"),
        ('edition = "sweden"\n' + ROW.replace("flue.area", "change.permit"), "names 'change.permit', and there is none"),
        ('edition = "sweden"\n' + ASKED, "names 'hearth.front', and there is none"),
        ('edition = "sweden"\n' + ROW.replace('["flue.area"]', "[]"), "names nothing in by"),
        ('edition = "sweden"\n' + ROW.replace('"judged"', '"not judged"'), "it says why"),
        ('edition = "sweden"\n' + ROW.replace('"judged"', '"outside this program"'), "is outside this program: it says why"),
        ('edition = "sweden"\n' + TWICE, "is listed twice"),
        ('edition = "sweden"\n' + ROW.replace("asks", "ask"), "Clause 1: asks is missing"),
    ],
)  # fmt: skip
def test_a_table_that_is_not_sound_is_refused_with_its_file(tmp_path: Path, text: str, message: str) -> None:
    folder = tmp_path / "reference"
    shutil.copytree(reference.shipped(), folder)
    (folder / "coverage" / "sweden.toml").write_text(text)
    edition = reference.load("sweden", folder)
    with pytest.raises(FileError, match=re.escape(message)) as caught:
        coverage.load(edition)
    assert caught.value.where == "coverage/sweden.toml"
