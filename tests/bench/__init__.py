"""Speed and memory, measured by hand: `python -m tests.bench` prints the main table."""
