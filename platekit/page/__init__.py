"""The live page: the whole job in a browser on this machine, each act an edit of the spec's own file.

    desk      the spec that is open: its text, what it comes to, undo, and edits that never overwrite another's
    scene     what the two pictures draw, and the handles in them: which edit a drag comes to
    boxes     the spec as a job sheet: a box for every value, with what may stand in it
    numbers   the boxes beside a drag: what a handle changes, as typed
    holes     the screw holes of each mount, with the odds that it bolts up
    offers    what the tables offer for a box
    asked     a request, read with suspicion
    acts      what the page can ask for, by name, each giving plain data
    answers   what the page is told: the sheet at one state, and what a trial comes to
    start     what stands before a spec is open: the specs of a folder
    new_job   a new job by questions
    old_face  a face that is measured: its sketch, the reading to take next, slips
    picture   a scan or a photo of such a face: what it shows, and its places into the spec
    readings  where each reading stands in the spec
    rough     the plate with the holes where the sketch has them, to look at
    server    who may ask: one browser of this machine, and nobody else
    static    the page itself: plain HTML, CSS and modules, nothing fetched from elsewhere

The page decides nothing: geometry, verdict and words come from the rooms before this one.
"""
