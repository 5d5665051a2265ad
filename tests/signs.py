"""What texts at random are made of."""

from hypothesis import strategies as st

SIGNS = st.characters(exclude_categories=["Cs"])
"""All that UTF-8 can write, as `st.text` takes it by itself: but that tries each sign there is, for two seconds in each new folder."""
