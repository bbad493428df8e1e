"""Rooms and rules for hypothesis, drawn by the check of random rooms from a seed."""

import numpy as np
from hypothesis import strategies as st
from validation.rooms import draw_case

seeds = st.integers(0, 2**32 - 1)


def cases():
    """A room, a rule, a length that about fills it."""
    return seeds.map(lambda seed: draw_case(np.random.default_rng(seed)))
