"""The same outputs on every machine: what writes them, and the kinds of machine that one processor can play."""
