"""Sets up and starts faintcall from a fresh checkout, with only Python installed.

    python3 -m drill.start create .venv, install faintcall there, open its page
    python3 -m drill.start WORDS      the same, then `faintcall WORDS`
    python3 -m drill.start --test     install with the test extras and run the whole test suite

On Windows type `py` for `python3`. Only the standard library is used here. Some systems (Debian,
Ubuntu) ship Python without its installer; for them `.start` holds a copy of pip. An environment
that was broken by an interruption, a Python upgrade or a move of the checkout is created again.
"""

import hashlib
import importlib.util
import json
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
ENVIRONMENT = ROOT / ".venv"
OWN_PIP = ROOT / ".start" / "pip-26.3-py3-none-any.whl"
OWN_PIP_SHA256 = "f3b60b20ffaadd4415ed7957212a38ac63fa4c5fa375bd0f4a797777940fad13"
CONSTRAINTS = ROOT / "constraints.txt"
"""The versions of all libraries that the test suite last ran with."""
SIZES = "130 MB of download, 480 MB on disk"
OLDEST = (3, 11)
ENVIRONMENT_ENTRIES = {
    *("pyvenv.cfg", "bin", "include", "lib", "lib64", "share", "etc", "man", ".gitignore"),
    *("Scripts", "Include", "Lib", "CACHEDIR.TAG"),
}
"""Files that identify an environment, so that no other folder is ever deleted."""
PROBE_TIMEOUT_S = 120
PROBE = """
import importlib.metadata, json, re, sys
import drill, numpy, phonetics
for line in importlib.metadata.requires("faintcall") or []:
    if ";" not in line:
        importlib.metadata.version(re.match("[A-Za-z0-9._-]+", line)[0])
print(json.dumps([drill.__file__, sys.prefix]))
"""
"""Runs in the environment; fails if a library is missing."""


def python_in(environment: Path) -> Path:
    """Return the path of an environment's Python on this system."""
    windows = environment / "Scripts" / "python.exe"
    return windows if sys.platform == "win32" else environment / "bin" / "python"


def installer(python: Path, *, bundled: bool) -> list[str]:
    """Return the command of pip: that of the environment (bundled), or the copy in .start."""
    if bundled:
        return [str(python), "-m", "pip"]
    digest = hashlib.sha256(OWN_PIP.read_bytes()).hexdigest() if OWN_PIP.exists() else "none"
    if digest != OWN_PIP_SHA256:
        sys.exit(f"{OWN_PIP} is damaged or missing (SHA-256 {digest}); get the checkout again")
    return [str(python), str(OWN_PIP / "pip")]


def make_environment(environment: Path, *, bundled: bool) -> Path:
    """Create the environment if it is missing or broken; return its Python.

    bundled: install the pip that comes with Python.
    """
    python = python_in(environment)
    if environment.exists() and not environment_works(environment, bundled=bundled):
        print(f"{environment} is broken and is created again.", flush=True)
        delete_environment(environment)
    if not environment.exists():
        import venv  # some systems ship Python without ensurepip

        print(f"Creating {environment} ...", flush=True)
        venv.create(environment, with_pip=bundled)
    return python


def environment_works(environment: Path, *, bundled: bool) -> bool:
    """Return True if the environment's Python runs, belongs there and, if bundled, has pip.

    A Python upgrade can remove the Python that the environment was made with, or change its version
    so that it no longer sees what was installed.
    """
    modules = "pip" if bundled else "sys"
    code = f"import {modules}, json, sys; print(json.dumps([sys.prefix, sys.version_info[:2]]))"
    result = _run_probe(environment, code)
    if result is None or Path(result[0]).resolve() != environment.resolve():
        return False
    libraries = environment / "Lib"
    if sys.platform != "win32":
        major, minor = result[1]
        libraries = environment / "lib" / f"python{major}.{minor}"
    return (libraries / "site-packages").is_dir() and not _unfinished(environment).exists()


def is_complete(environment: Path) -> bool:
    """Return True if faintcall of this checkout and all that it requires are installed."""
    result = _run_probe(environment, PROBE)
    return result is not None and Path(result[0]).resolve().parents[1] == ROOT


def _run_probe(environment: Path, code: str) -> list[Any] | None:
    """Return what a script prints as JSON in the environment, None if it fails."""
    try:
        result = subprocess.run(
            [str(python_in(environment)), "-I", "-c", code],
            capture_output=True,
            check=True,
            timeout=PROBE_TIMEOUT_S,
            cwd=environment,
        )
        values: list[Any] = json.loads(result.stdout)
    except (OSError, ValueError, subprocess.SubprocessError):
        return None
    return values


def delete_environment(environment: Path) -> None:
    """Delete an environment; exit if the folder holds something else."""
    entries = {entry.name for entry in environment.iterdir()} if environment.is_dir() else {""}
    if not all(name in ENVIRONMENT_ENTRIES or name.startswith("faintcall-") for name in entries):
        sys.exit(f"{environment} is not an environment of faintcall; move it away and start again")
    shutil.rmtree(environment)


def stamp(environment: Path, extras: str) -> Path:
    """Return the file that exists if faintcall is installed by these requirements and versions."""
    files = (ROOT / "pyproject.toml", CONSTRAINTS)
    content = b"".join(file.read_bytes() for file in files if file.exists())
    return environment / f"faintcall-{hashlib.sha256(content).hexdigest()[:16]}{extras}"


def _unfinished(environment: Path) -> Path:
    """Return the file that exists while packages are being installed."""
    return environment / "faintcall-unfinished"


def install(environment: Path, *, extras: str) -> Path:
    """Install the checkout, editable, unless that is done already; return the Python."""
    bundled = importlib.util.find_spec("ensurepip") is not None
    done = stamp(environment, extras)
    if done.exists():
        if environment_works(environment, bundled=bundled) and is_complete(environment):
            return python_in(environment)
        print(f"{environment} is broken and is created again.", flush=True)
        delete_environment(environment)
    python = make_environment(environment, bundled=bundled)
    print(f"Installing faintcall and its libraries (once, {SIZES}) ...", flush=True)
    command = [*installer(python, bundled=bundled), "install", "--no-warn-script-location"]
    command += ["--disable-pip-version-check", "--editable", f"{ROOT}{extras}"]
    _unfinished(environment).touch()
    installed = any(
        subprocess.run([*command, *options], check=False).returncode == 0
        for options in version_options()
    )
    _unfinished(environment).unlink(missing_ok=True)  # after a failure pip itself has cleaned up
    if not installed:
        sys.exit("The installation failed; the lines above say why. Run the command again.")
    done.touch()
    return python


def version_options() -> Iterator[list[str]]:
    """Yield the options of pip to try: the versions that were tested, then the newest ones.

    The tested versions may have no wheel for a newer Python or another system. `--only-binary`
    makes pip report that at once instead of compiling them.
    """
    if CONSTRAINTS.exists():
        yield ["--constraint", str(CONSTRAINTS), "--only-binary", ":all:"]
        print("The tested versions do not install here; trying the newest ones.", flush=True)
    yield []


def set_up(*, test: bool) -> Path:
    """Install what is missing and return the environment's Python; exit if that is impossible."""
    try:
        return install(ENVIRONMENT, extras="[test]" if test else "")
    except KeyboardInterrupt:
        print("\nStopped. Run the same command again to continue.", file=sys.stderr)
        sys.exit(130)
    except ModuleNotFoundError as error:
        sys.exit(f"This Python lacks its module {error.name}; install Python from python.org")
    except (OSError, subprocess.CalledProcessError) as error:
        sys.exit(f"{ENVIRONMENT} cannot be created: {error}. Fix this and run the command again.")


def main(arguments: Sequence[str]) -> int:
    """Set up as far as needed, then run; return the exit code."""
    if sys.version_info < OLDEST:
        return _too_old()
    if not (ROOT / "pyproject.toml").exists():
        print(
            f"This is not a checkout: faintcall is installed in {ROOT}. Start it with: "
            f"{sys.executable} -m drill",
            file=sys.stderr,
        )
        return 2
    if arguments[:1] in (["--help"], ["-h"]):
        print(__doc__)
        print(f"The first start downloads and installs the libraries ({SIZES}).")
        print("Afterwards `python3 -m drill.start help` shows the help of faintcall itself.")
        return 0
    test = "--test" in arguments[:1]
    python = set_up(test=test)
    every_core = ["-n", "auto"]
    words = ["drill", *arguments]
    if test:
        words = ["pytest", *every_core, str(ROOT), *arguments[1:]]
    with subprocess.Popen([str(python), "-m", *words]) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:  # the program receives SIGINT too and stops by itself
                continue


def _too_old() -> int:
    have, need = (".".join(map(str, v[:2])) for v in (sys.version_info, OLDEST))
    print(f"This is Python {have}; faintcall needs {need} or newer.", file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
