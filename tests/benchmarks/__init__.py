"""Speed as ratios, each with its own baseline measured in the same run: `python -m tests.benchmarks`."""
