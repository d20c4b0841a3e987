"""Running machines that browsers watch and work.

hub           what goes out: frames of which only the latest counts, and notes that all count
stand_thread  one thread a stand: it lets the time pass, does what is asked, makes each frame once
keeper        which stands there are, their opening, and when they are put away
asked         what comes in from a socket: how much, how fast, and what is answered
"""
