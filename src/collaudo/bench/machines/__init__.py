"""Machines at hand: the library's and one's own, looked up, compared, described, checked."""
