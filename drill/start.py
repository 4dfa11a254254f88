"""Set up and start from a fresh checkout, with nothing but Python.

    python3 -m drill.start            make .venv, install faintcall there, open its page
    python3 -m drill.start WORDS      the same, then `faintcall WORDS`
    python3 -m drill.start --test     install with the test extras and run the whole test suite

On Windows say `py` for `python3`. Only the standard library is used here. Some systems (Debian,
Ubuntu) ship Python without its installer; for them a copy of pip lies in .start.
"""

import hashlib
import importlib.util
import subprocess
import sys
import venv
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ENVIRONMENT = ROOT / ".venv"
OWN_PIP = ROOT / ".start" / "pip-26.3-py3-none-any.whl"
OWN_PIP_SHA256 = "f3b60b20ffaadd4415ed7957212a38ac63fa4c5fa375bd0f4a797777940fad13"
OLDEST = (3, 11)


def python_in(environment: Path) -> Path:
    """Return the path of an environment's Python on this system."""
    windows = environment / "Scripts" / "python.exe"
    return windows if sys.platform == "win32" else environment / "bin" / "python"


def installer(python: Path, *, bundled: bool) -> list[str]:
    """Return the command that installs: the environment's pip, or the copy that lies here."""
    if bundled:
        return [str(python), "-m", "pip"]
    found = hashlib.sha256(OWN_PIP.read_bytes()).hexdigest()
    if found != OWN_PIP_SHA256:
        sys.exit(f"{OWN_PIP} is damaged (SHA-256 {found}); get the checkout again")
    return [str(python), str(OWN_PIP / "pip")]


def make_environment(environment: Path, *, bundled: bool) -> Path:
    """Make the environment where it is missing and return its Python."""
    python = python_in(environment)
    if not python.exists():
        print(f"Making {environment} ...", flush=True)
        venv.create(environment, with_pip=bundled)
    return python


def stamp(environment: Path, extras: str) -> Path:
    """Return the file that stands for 'installed as pyproject.toml says now', extras included."""
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()[:16]
    return environment / f"faintcall-{wanted}{extras}"


def install(environment: Path, *, extras: str) -> Path:
    """Install the checkout, editable, unless that is done already; return the Python."""
    bundled = importlib.util.find_spec("ensurepip") is not None
    python = make_environment(environment, bundled=bundled)
    done = stamp(environment, extras)
    if not done.exists():
        print("Installing faintcall and what it needs (once, a minute or so) ...", flush=True)
        command = [*installer(python, bundled=bundled), "install", "--quiet"]
        command += ["--disable-pip-version-check", "--editable", f"{ROOT}{extras}"]
        if subprocess.run(command, check=False).returncode:
            sys.exit("The installation failed; the lines above say why. Give the command again.")
        done.touch()
    return python


def main(arguments: Sequence[str]) -> int:
    """Set up as far as needed, then run; return the exit code."""
    if sys.version_info < OLDEST:
        return _too_old()
    test = "--test" in arguments[:1]
    python = install(ENVIRONMENT, extras="[test]" if test else "")
    every_core = ["-n", "auto"]
    words = ["drill", *arguments]
    if test:
        words = ["pytest", *every_core, str(ROOT), *arguments[1:]]
    with subprocess.Popen([str(python), "-m", *words]) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:  # it has reached the program too, which stops by itself
                continue


def _too_old() -> int:
    have, need = (".".join(map(str, v[:2])) for v in (sys.version_info, OLDEST))
    print(f"This is Python {have}; faintcall needs {need} or newer.", file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
