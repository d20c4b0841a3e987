"""A machine that runs and is watched: its stand, what hands do to it, what screens show of it."""
