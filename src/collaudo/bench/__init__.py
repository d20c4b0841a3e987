"""One function per thing a user can ask for. Each module is one such thing; none is imported early.

    machines    the library's and one's own: looked up, compared, described, checked
    runs        sessions, recordings, currents, and a machine to work by hand
    running     a machine that runs and is watched: its stand, hands, frames, cards
    explaining  states, paths and drawings
    judging     from findings files to causes, and the signatures that this rests on
    findings    the sheets of a job: what was entered, what it says, which check comes next
    sound       what a sound machine shows
    setting     what follows from a setting
    measuring   what is measured of the tool itself
"""
