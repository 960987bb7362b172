"""The live page: the whole job in a browser on this machine, each act an edit of the spec's own file.

    desk      the spec that is open: its text, what it comes to, undo, and edits that never overwrite another's
    scene     what the two pictures draw, and the handles in them: which edit a drag comes to
    boxes     the spec as a job sheet: a box for every value, with what may stand in it
    acts      what the page can ask for, by name, each giving plain data
    server    who may ask: one browser of this machine, and nobody else
    static    the page itself: plain HTML, CSS and modules, nothing fetched from elsewhere

The page decides nothing: geometry, verdict and words come from the rooms before this one.
"""
