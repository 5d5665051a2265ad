"""The loader of the reference files: what it reads, what it refuses, and where it says the mistake stands."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.errors import EntryError, FileError

F = Fraction

SOURCES = '[code]\ntitle = "A code"\n\n[shop]\ntitle = "A shop"\n'
HEAD = 'id = "town-2020"\ntitle = "Code of a town, 2020"\napplies = "Houses of that town"\nunits = "in"\n'
POLICY = 'id = "policy"\ntitle = "Settled here"\napplies = "Everywhere"\n'
VALUE = """
[[value]]
key = "hearth.front"
title = "Hearth out from the opening"
value = "16 in"
source = "code"
clause = "1.1"
standing = "published"
"""


def library(root: Path, **files: str) -> Path:
    """A folder of reference files. files: editions by their name, "_" for "-"; sources and policy stand by."""
    (root / "editions").mkdir()
    (root / "tables").mkdir()
    (root / "sources.toml").write_text(files.pop("sources", SOURCES))
    (root / "policy.toml").write_text(files.pop("policy", POLICY))
    for name, text in files.items():
        (root / "editions" / f"{name.replace('_', '-')}.toml").write_text(text)
    return root


def town(root: Path, text: str) -> reference.Edition:
    """The edition town-2020 with this text below its head."""
    return reference.load("town-2020", library(root, town_2020=HEAD + text))


def test_a_value_keeps_what_its_file_prints(tmp_path: Path) -> None:
    value = town(
        tmp_path, VALUE + 'note = "as printed"\nhard = ["0 in", "60 in"]\nusual = ["12 in", "30 in"]\n'
    )["hearth.front"]
    assert (value.number, value.shown, value.quantity.unit if value.quantity else None) == (16, "16 in", "in")
    assert (value.source, value.clause, value.standing, value.note) == (
        "code",
        "1.1",
        "published",
        "as printed",
    )
    assert (value.edition, value.place) == ("town-2020", "town-2020.toml, line 7")
    told = value.basis()
    assert (told.key, told.value, told.unit, told.edition) == ("hearth.front", "16 in", "in", "town-2020")


@pytest.mark.parametrize(
    ("text", "number", "dimension"),
    [
        ("16 in", F(16), "length"),
        ("1 1/2 in", F(3, 2), "length"),
        ("3 ft", F(36), "length"),
        ("254 mm", F(10), "length"),
        ("50 cm", F(5000, 254), "length"),
        ("4.5 m", F(45000, 254), "length"),
        ("6 ft2", F(864), "area"),
        ("645.16 mm2", F(1), "area"),
        ("400 cfm", F(400), "flow"),
        ("50 ft3", F(50), "volume"),
        ("45 deg", F(45), "angle"),
        ("1/12", F(1, 12), "ratio"),
        ("15 %", F(3, 20), "ratio"),
    ],
)
def test_a_quantity_is_read_exactly(text: str, number: Fraction, dimension: str) -> None:
    read = reference.read_quantity(text)
    assert (read.number, read.dimension, read.text) == (number, dimension, text)


def test_a_constant_of_a_model_names_its_own_unit(tmp_path: Path) -> None:
    value = town(tmp_path, VALUE.replace('"16 in"', '"0.8"\nunit = "W/m2.K"'))["hearth.front"]
    assert (value.number, value.shown) == (F(4, 5), "0.8 W/m2.K")


def test_a_bare_method_words_and_steps_are_values_too(tmp_path: Path) -> None:
    rows = (
        ('method = "asked"', "asked", "asked"),
        ('value = ["clay", "steel"]', "clay, steel", ""),
        ('steps = [ { below = "6 ft2", value = "8 in" }, { value = "12 in" } ]', "below 6 ft2: 8 in; otherwise: 12 in", ""),
    )  # fmt: skip
    for number, (line, shown, method) in enumerate(rows):
        value = town(_folder(tmp_path, number), VALUE.replace('value = "16 in"', line))["hearth.front"]
        assert (value.shown, value.method) == (shown, method)
        with pytest.raises(ValueError, match=r"hearth\.front holds no single number"):
            value.number  # noqa: B018 - reading it is the test


def _folder(root: Path, number: int) -> Path:
    folder = root / str(number)
    folder.mkdir()
    return folder


@pytest.mark.parametrize(
    ("value", "warns"), [("12 in", False), ("30 in", False), ("11 in", True), ("31 in", True)]
)
def test_a_value_outside_its_usual_range_is_used_and_says_so(tmp_path: Path, value: str, warns: bool) -> None:
    text = VALUE.replace("16 in", value) + 'hard = ["0 in", "60 in"]\nusual = ["12 in", "30 in"]\n'
    read = town(tmp_path, text)["hearth.front"]
    expected = f"{value} is outside the usual 12 in to 30 in" if warns else ""
    assert read.unusual == expected
    assert read.basis().note == expected


EXTENDS = 'extends = "town-2020"\n'


def extended(root: Path, text: str, below: str = "") -> reference.Edition:
    """town-2024, which extends town-2020 and adds this text; below: what town-2020 states besides hearth.front."""
    child = HEAD.replace("2020", "2024").replace('units = "in"\n', EXTENDS) + text
    return reference.load("town-2024", library(root, town_2020=HEAD + VALUE + below, town_2024=child))


def test_an_edition_takes_over_what_it_does_not_restate(tmp_path: Path) -> None:
    edition = extended(
        tmp_path, VALUE.replace("16 in", "20 in"), VALUE.replace("hearth.front", "hearth.side")
    )
    assert edition.units == "in"
    assert (edition["hearth.front"].shown, edition["hearth.front"].edition) == ("20 in", "town-2024")
    assert (edition["hearth.side"].shown, edition["hearth.side"].edition) == ("16 in", "town-2020")


def test_an_edition_can_fall_silent_where_the_one_it_extends_speaks(tmp_path: Path) -> None:
    edition = extended(tmp_path, 'silent = ["hearth.front"]\n')
    assert edition.get("hearth.front") is None
    assert reference.silent_on(edition) == ["hearth.front"]
    with pytest.raises(reference.Silent, match=r"hearth\.front"):
        edition["hearth.front"]


def test_an_edition_can_speak_where_the_one_it_extends_is_silent(tmp_path: Path) -> None:
    child = HEAD.replace("2020", "2024") + EXTENDS + VALUE
    root = library(tmp_path, town_2020=HEAD + VALUE.replace("hearth.front", "hearth.side"), town_2024=child)
    assert reference.load("town-2024", root)["hearth.front"].shown == "16 in"
    assert reference.silent_on(reference.load("town-2024", root)) == []
    assert reference.silent_on(reference.load("town-2020", root)) == ["hearth.front"]


def test_the_policy_lies_under_every_edition_and_an_edition_overrides_it(tmp_path: Path) -> None:
    policy = POLICY + VALUE + VALUE.replace("hearth.front", "hearth.side")
    root = library(tmp_path, policy=policy, town_2020=HEAD + VALUE.replace("16 in", "20 in"))
    edition = reference.load("town-2020", root)
    assert (edition["hearth.front"].shown, edition["hearth.front"].edition) == ("20 in", "town-2020")
    assert (edition["hearth.side"].shown, edition["hearth.side"].edition) == ("16 in", "policy")


def test_the_fingerprint_changes_with_a_value_and_a_table_and_with_nothing_else(
    tmp_path: Path,
) -> None:
    table = VALUE.replace("hearth.front", "flue.liners.round").replace('value = "16 in"', 'table = "flues"')

    def fingerprint(number: int, text: str, cells: str = "12,113") -> str:
        root = library(_folder(tmp_path, number), town_2020=HEAD + text)
        (root / "tables" / "flues.csv").write_text(f"# A code\nsize,area\n{cells}\n")
        return reference.load("town-2020", root).fingerprint

    same = fingerprint(0, VALUE + table)
    assert fingerprint(1, "# a remark\n" + VALUE + table) == same
    others = [
        fingerprint(2, VALUE.replace("16 in", "17 in") + table),
        fingerprint(3, VALUE.replace("1.1", "1.2") + table),
        fingerprint(4, VALUE.replace("published", "from memory") + table),
        fingerprint(5, VALUE + table, "12,114"),
    ]
    assert len({same, *others}) == 5


def holds(line: str) -> str:
    """The value with this line in place of its 16 in."""
    return VALUE.replace('value = "16 in"', line)


def without(key: str) -> str:
    """The value without one of its keys."""
    return "".join(line for line in VALUE.splitlines(keepends=True) if not line.startswith(f"{key} ="))


ROWS = "line 9: steps takes rows of below and value"
LAST = "line 9: steps must end with one row that has no below, and only there"
REFUSED = [
    ("wrong key of the edition", 'author = "me"\n' + VALUE, "line 5: author is not a key here. Keys here: .*units"),
    ("wrong key of a value", VALUE + 'colour = "red"\n', "line 13: colour is not a key here. Keys here: .*choices"),
    ("no key", without("key"), "line 6: key is missing"),
    ("no title", without("title"), "line 6: title is missing"),
    ("no source", without("source"), "line 6: source is missing"),
    ("empty clause", VALUE.replace('"1.1"', '""'), "line 11: clause is empty"),
    ("no standing", without("standing"), "line 6: standing is missing"),
    ("source not known", VALUE.replace('"code"', '"hearsay"'), "line 10: source 'hearsay' is not in sources.toml. Add it"),
    ("standing not known", VALUE.replace("published", "gospel"), "line 12: standing cannot be 'gospel'. Use one of: published"),
    ("value and steps", VALUE + 'steps = [ { value = "12 in" } ]\n', "line 13: steps stands beside value. Keep one"),
    ("value and table", VALUE + 'table = "flues"\n', "line 13: table stands beside value. Keep one"),
    ("nothing held", without("value"), "line 7: key hearth.front holds nothing. Add value, steps, table or method"),
    ("twice stated", VALUE + VALUE, "line 15: key hearth.front is stated twice. Take one"),
    ("stated and silent", 'silent = ["hearth.front"]\n' + VALUE, "line 5: silent hearth.front is both stated and silent"),
    ("not readable", holds('value = "16 furlongs"'), "line 9: value '16 furlongs' cannot be read"),
    ("a number without quotes", holds("value = 16"), "line 9: value is not text in quotes"),
    ("two units", VALUE + 'unit = "Pa"\n', "line 9: value '16 in' cannot be read: 16 in has a unit of its own. .*it is in Pa"),
    ("above its hard range", VALUE + 'hard = ["0 in", "15 in"]\n', "line 9: value 16 in is outside 0 in to 15 in. Nothing was"),
    ("below its hard range", VALUE + 'hard = ["17 in", "60 in"]\n', "line 9: value 16 in is outside 17 in to 60 in"),
    ("range of one", VALUE + 'hard = ["0 in"]\n', "line 13: hard takes two values"),
    ("range of another kind", VALUE + 'usual = ["0 in2", "60 in2"]\n', "line 13: usual is not of the kind of 16 in. Give both"),
    ("range not readable", VALUE + 'usual = ["few", "many"]\n', "line 13: usual 'few' cannot be read"),
    ("no such choice", holds('value = ["face"]\nchoices = ["opening"]'), "line 9: value cannot be 'face'. Use one of: opening"),
    ("step without a value", holds('steps = [ { below = "6 ft2" } ]'), ROWS),
    ("step with more", holds('steps = [ { value = "8 in", over = "1 in" } ]'), ROWS),
    ("last step is bounded", holds('steps = [ { below = "6 ft2", value = "8 in" } ]'), LAST),
    ("an open step in between", holds('steps = [ { value = "8 in" }, { value = "9 in" } ]'), LAST),
    ("step outside its hard range", holds('steps = [ { value = "80 in" } ]\nhard = ["0 in", "60 in"]'), "80 in is outside 0 in to 60 in"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "told"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED])
def test_a_mistake_is_refused_with_file_and_line(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(FileError, match=rf"^town-2020\.toml, (line \d+: .*)?{told}"):
        town(tmp_path, text)


CIRCLE = "(town-2020|b).toml, line 5: extends makes editions extend one another in a circle"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"town_2020": HEAD.replace('title = "Code of a town, 2020"\n', "")}, "line 1: title is missing"),
        ({"town_2020": HEAD.replace('"Houses of that town"', "3")}, "line 3: applies is not text"),
        ({"town_2020": HEAD.replace("town-2020", "b")}, "town-2020.toml, line 1: id says 'b' in a file named town-2020.toml"),
        ({"town_2020": HEAD.replace('units = "in"\n', "")}, 'town-2020.toml, line 1: units is missing. Add units = "in"'),
        ({"town_2020": HEAD + "[[value]\n"}, "town-2020.toml: .*line 5.* Fix that line"),
        ({"town_2020": HEAD + EXTENDS}, CIRCLE),
        ({"town_2020": HEAD + 'extends = "b"\n', "b": HEAD.replace("town-2020", "b") + EXTENDS}, CIRCLE),
        ({"town_2020": HEAD + 'extends = "gone"\n'}, "town-2020.toml, line 5: extends names 'gone'"),
        ({"town_2020": HEAD, "sources": "[code\n"}, "sources.toml: .*line 1.* Fix that line"),
        ({"town_2020": HEAD, "policy": POLICY + "rule = 1\n"}, "policy.toml, line 4: rule is not a key here"),
        ({"town_2020": HEAD + "# " + "x" * reference.MAX_BYTES}, "town-2020.toml: It has 1048"),
    ],
)  # fmt: skip
def test_a_file_that_is_not_sound_is_refused(tmp_path: Path, change: dict[str, str], told: str) -> None:
    with pytest.raises(FileError, match=told):
        reference.load("town-2020", library(tmp_path, **change))


def test_an_edition_that_does_not_exist_is_refused_with_those_that_do(tmp_path: Path) -> None:
    with pytest.raises(
        EntryError, match=r'about\.edition: There is no edition "town-1900". Choose one of: town-2020'
    ):
        reference.load("town-1900", library(tmp_path, town_2020=HEAD))


TABLES = [
    ("size,area\n12,113\n", "flues.csv, line 1: The first line is not a comment"),
    ("", "flues.csv, line 1: The first line is not a comment"),
    ("# A code\nsize,area\n12,113\n10\n", "flues.csv, line 4: A row has too many or too few cells"),
    ("# A code\nsize,area\n12,113,1\n", "flues.csv, line 3: A row has too many or too few cells"),
]


@pytest.mark.parametrize(("text", "told"), TABLES)
def test_a_table_that_is_not_sound_is_refused(tmp_path: Path, text: str, told: str) -> None:
    root = library(tmp_path)
    (root / "tables" / "flues.csv").write_text(text)
    with pytest.raises(FileError, match=told):
        reference.read_table(root, "flues")


def test_a_table_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"tables.flues.csv: No such file"):
        reference.read_table(library(tmp_path), "flues")


def test_a_table_names_its_source_and_keeps_its_cells_as_printed(tmp_path: Path) -> None:
    root = library(tmp_path)
    (root / "tables" / "flues.csv").write_text("# A code, table 3\nsize,area\n12,-\n")
    table = reference.read_table(root, "flues")
    assert (table.source, table.rows) == ("A code, table 3", ({"size": "12", "area": "-"},))


LINERS = VALUE.replace("hearth.front", "flue.liners.rectangular").replace(
    'value = "16 in"', 'table = "flues"'
)


def liner_library(root: Path) -> Path:
    """Two editions: only the first has a table of liners, in an order of its own; the second names sizes alone."""
    sizes = LINERS.replace("flue.liners.rectangular", "flue.sizes").replace("flues", "sizes")
    library(root, town_2020=HEAD + LINERS, b=HEAD.replace("town-2020", "b") + sizes)
    (root / "tables" / "flues.csv").write_text("# A code\nsize,area\n13x13,127\n8.5x13,76\n")
    (root / "tables" / "sizes.csv").write_text("# A code\nsize\n300x300\n")
    return root


def test_liners_come_by_area_with_the_shorter_side_first(tmp_path: Path) -> None:
    edition = reference.load("town-2020", liner_library(tmp_path))
    assert [(liner.name, liner.sides, liner.area) for liner in edition.liners("rectangular")] == [
        ("8.5x13", (F(17, 2), F(13)), F(76)),
        ("13x13", (F(13), F(13)), F(127)),
    ]
    assert edition.liners("round") == ()


@pytest.mark.parametrize("typed", ["8.5x13", "13x8.5", "8 1/2 x 13", "13 × 8.5"])
def test_a_liner_is_found_however_its_size_is_written(tmp_path: Path, typed: str) -> None:
    edition = reference.load("town-2020", liner_library(tmp_path))
    liner, elsewhere = reference.find_liner(edition, typed)
    assert (liner.name if liner else None, elsewhere) == ("8.5x13", ())


def test_a_liner_of_another_edition_is_told_with_that_edition(tmp_path: Path) -> None:
    root = liner_library(tmp_path)
    first, second = reference.load("town-2020", root), reference.load("b", root)
    assert reference.find_liner(second, "13x13") == (None, ("town-2020",))
    assert reference.find_liner(first, "300x300") == (None, ("b",))
    assert reference.find_liner(first, "9x9") == (None, ())
    assert (first.sizes(), second.sizes()) == ((), ("300x300",))


@pytest.mark.parametrize(
    ("size", "sides"), [("12", (F(12),)), ("12 round", (F(12),)), ("13x18", (F(13), F(18)))]
)
def test_the_sides_of_a_nominal_size(size: str, sides: tuple[Any, ...]) -> None:
    assert reference.liner_sides(size) == sides


def test_a_size_that_names_nothing_is_refused() -> None:
    with pytest.raises(EntryError, match="large is not read as a length"):
        reference.liner_sides("large")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('value = "16 in"', 'table = "flues"', "table names 'flues', and there is no such table"),
        ('standing = "published"', 'standing = "edited here"', "standing cannot be 'edited here'"),
        ('value = "16 in"', 'value = "16 in"\nnote = 3', "note is not text"),
        (
            'value = "16 in"',
            'value = "16 in"\nusual = ["30 in", "12 in"]',
            "usual must go from the least to the most",
        ),
        (
            'value = "16 in"',
            'value = "16 in"\nusual = ["12 in", "30 cfm"]',
            "usual must go from the least to the most, of one kind",
        ),
        (
            'value = "16 in"',
            'steps = [ { below = "6 ft2", value = "8 in" }, { below = "4 ft2", value = "9 in" }, { value = "12 in" } ]',
            "steps must rise",
        ),
        ('value = "16 in"', 'value = "clay"\nchoices = "clay"', "choices is not a list"),
    ],
)
def test_what_a_value_cannot_hold_is_refused(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert old in VALUE
    with pytest.raises(FileError, match=rf"town-2020.toml, line \d+: {told}"):
        town(tmp_path, VALUE.replace(old, new))


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('silent = "hearth.front"', "silent is not a list"),
        ('history = "no"', "history is neither true nor false"),
        ("silent = [3]", "silent is not text"),
    ],
)
def test_what_an_edition_cannot_say_is_refused(tmp_path: Path, line: str, told: str) -> None:
    with pytest.raises(FileError, match=rf"town-2020.toml, line 5: {told}"):
        reference.load("town-2020", library(tmp_path, town_2020=f"{HEAD}{line}\n"))


def test_a_unit_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="line 4: units is none of in, mm"):
        reference.load("town-2020", library(tmp_path, town_2020=HEAD.replace('"in"', '"cubit"')))


def test_a_source_without_a_title_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"sources.toml: A source's title is missing"):
        reference.load("town-2020", library(tmp_path, town_2020=HEAD, sources="[code]\n"))
