"""A share of the kills; `kills.py` runs as many as one likes, and prints what came of them."""

from random import Random

from faults.kills import Figures, in_a_burst, while_saving


def test_a_file_is_whole_whenever_the_program_that_saves_it_is_killed() -> None:
    figures = Figures()
    while_saving(12, Random(5), figures)
    assert (figures.kills, figures.broken, figures.left_over) == (12, 0, 0)


def test_a_draft_cut_off_in_a_burst_has_no_gap() -> None:
    figures = Figures()
    in_a_burst(Random(5), figures)
    assert figures.kills == 1 and figures.sent == 6
    assert figures.gaps == 0
