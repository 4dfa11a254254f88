"""python -m drill is the same as the command faintcall."""

from drill.cli import run

run()
