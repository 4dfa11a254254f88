"""Runs the command faintcall: python -m drill."""

from drill.cli import run

run()
