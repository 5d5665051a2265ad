"""Foreign text reaches the screen as plain characters: nothing in it is markup, a control or a direction."""

import pytest
from textual.content import Content

from hearthcalc_tui.safe import ELLIPSIS, plain, safe

HOSTILE = {
    "markup": "7 [in] [/] [bold red]x[/bold red] [@click=app.quit]y[/]",
    "escape": "\x1b[31mred\x1b]0;title\x07\x1b[2J",
    "c1": "\x9b31m\x90q",
    "nul": "a\x00b",
    "bidi": "abc\u202edef\u2066ghi\u2069\u200f\u061c",
    "zero width": "a\u200bb\u200dc\ufeffd",
    "line parts": "a\nb\rc\td\u2028e\u2029f",
    "surrogate": "a\ud800b",
    "marks": "a" + "\u0301" * 400,
    "long": "x" * 1_000_000,
    "private": "a\ue000b\U000f0000c",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_only_printable_characters_are_left(text: str) -> None:
    shown = plain(text)
    assert shown.isprintable()
    assert len(shown) <= 2000


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_content_has_no_style_of_its_own(text: str) -> None:
    shown = safe(text)
    assert isinstance(shown, Content)
    assert not shown.spans
    assert shown.plain == plain(text)


def test_brackets_stay_as_they_are() -> None:
    assert plain("7 [in] [/]") == "7 [in] [/]"
    assert safe("7 [in] [/]", "bold").plain == "7 [in] [/]"


def test_what_is_stripped_and_what_becomes_a_space() -> None:
    assert plain("a\x1b[31mb\x00c") == "a[31mbc"
    assert plain("a\nb\tc") == "a b c"
    assert plain("\u202eabc\u2069") == "abc"


def test_letters_of_every_script_stay() -> None:
    assert plain("Größe 7½″ 暖炉 камин") == "Größe 7½″ 暖炉 камин"


def test_the_limit_and_both_neighbours() -> None:
    assert plain("abcd", limit=5) == "abcd"
    assert plain("abcde", limit=5) == "abcde"
    assert plain("abcdef", limit=5) == "abcd" + ELLIPSIS


def test_other_things_than_text_are_shown_as_they_print() -> None:
    assert plain(7) == "7"
    assert plain(ValueError("a\x1bb")) == "ab"
