"""Caliper readings to hole positions, with what each is worth, and the odds that a plate made from them bolts up.

Where things are:

    net         features, readings, nets: what goes in
    solve       `solve(net)`: the survey; `result` says what is in it
    blunder     `suspect(survey)`: the reading that is wrong, or all explanations that suit and what settles them;
                `explain` knows the slips of one reading, `alike` the habits that spoil all of a kind
    further     `next_reading(survey)`: the reading that helps most
    plan        `plan(features)`: the readings to take on a pattern not yet measured
    fit         bolt circle and rectangle through measured holes
    match       known patterns that suit, with odds; whether a pattern is its own mirror image
    nominal     the round metric and inch sizes nearest to what was measured
    odds        `fit_odds(mount)`: the probability that every screw goes in, and what would help

Nothing here imports scipy: a check must not wait for it. The tests hold the results against scipy's solvers.
"""
