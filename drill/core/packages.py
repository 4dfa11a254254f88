"""Missing packages and shared libraries, with the command that installs them on this computer."""

import importlib.util
import re
import shlex
import shutil
import subprocess
import sys
import sysconfig
from importlib.metadata import PackageNotFoundError, requires
from pathlib import Path

from drill.core.errors import ResourceUnavailable

CHECKOUT = Path(__file__).parents[2]
"""Folder of the source checkout, if faintcall runs from a checkout."""
DISTRIBUTIONS = {
    "adif_io": "adif-io",
    "espeakng_loader": "espeakng-loader",
    "hibari": "hibari-tts",
    "markdown_it": "markdown-it-py",
}
"""Distributions whose modules have another name."""
OWN_PACKAGES = ("drill", "phonetics")


class PackageMissing(ResourceUnavailable):
    """A Python package that faintcall needs is missing or cannot be loaded."""


def pip_install_command(*requirements: str) -> str:
    """Return a shell command that installs packages for the Python that runs faintcall.

    The command works without pip in this environment too: with the copy of pip in a checkout, or
    with another pip or uv on the PATH. If none of them exists, it creates pip first.
    """
    words = pip_install_words()
    if words is not None:
        return _shell(*words, *requirements)
    python = sys.executable
    ensure = _shell(python, "-m", "ensurepip")
    return f"{ensure} && {_shell(python, '-m', 'pip', 'install', *requirements)}"


def pip_install_words() -> list[str] | None:
    """Return the words of the install command, without requirements; None if there is no pip."""
    python = sys.executable
    if importlib.util.find_spec("pip") is not None:
        return [python, "-m", "pip", "install"]
    for wheel in sorted((CHECKOUT / ".start").glob("pip-*.whl")):
        return [python, f"{wheel}/pip", "install"]
    if shutil.which("uv"):
        return ["uv", "pip", "install", "--python", python]
    for pip in ("pip", "pip3"):
        if shutil.which(pip):
            return [pip, "--python", python, "install"]
    return None


def missing_package(error: ImportError) -> PackageMissing | None:
    """Return the error for the user if a third-party package is missing or cannot be loaded.

    Return None if the import failed within faintcall itself, which is a bug.
    """
    module = (error.name or "").partition(".")[0]
    if module in OWN_PACKAGES or not module:
        return None
    distribution = DISTRIBUTIONS.get(module, module)
    problem = f"the Python package {distribution} is missing"
    if not isinstance(error, ModuleNotFoundError):
        problem = f"the Python package {distribution} cannot be loaded ({_first_line(error)})"
    return PackageMissing(f"{problem}; {install_remedy(requirement_of(distribution))}")


def install_remedy(requirement: str) -> str:
    """Return the instruction to install a package, such as "install it with: ...".

    A Python that belongs to the operating system refuses pip (PEP 668); a checkout then creates its
    own environment.
    """
    if is_externally_managed() and (CHECKOUT / "drill" / "start.py").exists():
        start = f"{_shell(sys.executable)} -m drill.start"
        return f"in {CHECKOUT}, start faintcall with: {start}"
    return f"install it with: {pip_install_command(requirement)}"


def requirement_of(distribution: str) -> str:
    """Return the requirement on a distribution, such as "adif-io>=0.6.1,<0.7", or its name."""
    try:
        requirements = requires("faintcall") or []
    except PackageNotFoundError:
        requirements = []
    for line in requirements:
        requirement = line.partition(";")[0].strip()
        name = re.match(r"[A-Za-z0-9._-]+", requirement)
        if name and _normalised(name[0]) == _normalised(distribution):
            return requirement
    return distribution


def _normalised(distribution: str) -> str:
    """Return a distribution's name for comparisons. Source: PyPA, Names and normalization."""
    return re.sub(r"[-_.]+", "-", distribution).lower()


def is_externally_managed() -> bool:
    """Return True if this Python belongs to the operating system, which keeps pip out (PEP 668)."""
    marker = Path(sysconfig.get_path("stdlib")) / "EXTERNALLY-MANAGED"
    return sys.prefix == sys.base_prefix and marker.exists()


def _shell(*words: str) -> str:
    """Return a command line for the shell of this operating system."""
    if sys.platform == "win32":
        return subprocess.list2cmdline(words)
    return shlex.join(words)


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or ["no reason given"])[0]
