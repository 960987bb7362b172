"""Does the plate hold: its elastic answer to what it carries, by quadratic finite elements.

    mesh        the plate as six-node triangles, sides on its true edges
    element     stiffness and mass of such a plate: plane stress and Reissner-Mindlin bending together
    rings       what bears on the plate round a screw: springs to the ground, or to a rigid part
    joined      the loose plate factored once, and any choice of seats and parts on it: answers and natural frequencies
    solving     a sparse factor
    threads     one thread for it
    stresses    stresses in the plate and along its edges

numpy and scipy are met here only, scipy inside the functions; nothing else imports this room until a mass is given.
"""
