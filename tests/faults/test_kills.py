"""A share of the kills; `kills.py` runs as many as one likes, and prints what came of them."""

from random import Random

from faults.kills import Figures, in_a_burst, while_saving


def test_a_file_is_whole_whenever_the_program_that_saves_it_is_killed() -> None:
    figures = Figures()
    while_saving(12, Random(5), figures)
    assert (figures.kills, figures.broken, figures.left_over) == (12, 0, 0)


def test_no_key_of_a_burst_is_lost_with_a_kill() -> None:
    figures = Figures()
    in_a_burst(Random(5), figures)
    assert figures.kills == 1 and figures.read > 0
    assert (figures.lost, figures.gaps) == (0, 0)
