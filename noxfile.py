"""Checks by name: `nox -s NAME`; `nox -l` lists them. Sessions run in the current environment.

Set it up once with `python3 -m drill.start --test`, or `pip install -e '.[test]'`.
"""

import nox

nox.options.default_venv_backend = "none"
nox.options.sessions = ["lint", "types", "tests"]
PYTEST = ("python", "-m", "pytest")


@nox.session
def lint(session: nox.Session) -> None:
    """Style, format, layers, dependencies, sizes and names."""
    session.run(*PYTEST, "tests/test_lint.py", "-k", "not types", *session.posargs)


@nox.session
def types(session: nox.Session) -> None:
    """Types, checked strictly."""
    session.run("python", "-m", "mypy", *session.posargs)


@nox.session
def tests(session: nox.Session) -> None:
    """The quick suite."""
    session.run(*PYTEST, "-n", "auto", "-m", "not slow and not lint", *session.posargs)


@nox.session
def slow(session: nox.Session) -> None:
    """Everything else that runs the code."""
    session.run(*PYTEST, "-n", "auto", "-m", "slow", *session.posargs)


@nox.session
def wheel(session: nox.Session) -> None:
    """The wheel: its contents, and every command run from it in a fresh environment."""
    session.run(*PYTEST, "tests/test_wheel.py", *session.posargs)


@nox.session
def docs(session: nox.Session) -> None:
    """README, DEVELOPERS.md, the manual and the help texts against the program."""
    session.run(*PYTEST, "tests/test_docs.py", "tests/drill/manual", *session.posargs)


@nox.session
def js(session: nox.Session) -> None:
    """The page's scripts, checked by the TypeScript compiler."""
    session.run(*PYTEST, "tests/web/test_scripts.py", *session.posargs)
