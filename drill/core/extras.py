"""Optional parts of faintcall that it can install itself: pip runs in another process.

A part is an extra in pyproject.toml, which lists its requirements. Screens show the progress, and
ask before packages are added to an environment that faintcall did not create.
"""

import importlib
import os
import re
import subprocess
import sys
import sysconfig
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, requires, version
from pathlib import Path

from drill.core.errors import ResourceUnavailable
from drill.core.packages import (
    CHECKOUT,
    install_remedy,
    is_externally_managed,
    pip_install_command,
    pip_install_words,
)
from drill.core.validation import one_of

MEGABYTE = 1e6
_MARKER = re.compile(r""";.*\bextra\s*==\s*["']([a-z]+)["']""")
_PINNED = re.compile(r"([A-Za-z0-9._-]+)\s*(?:==\s*([^,;\s]+))?")
_DOWNLOAD = re.compile(r"\s*Downloading (\S+)")
_PROGRESS = re.compile(r"Progress (\d+) of (\d+)")
_INSTALLING = "Installing collected packages:"


@dataclass(frozen=True, kw_only=True, slots=True)
class Extra:
    """An optional part. adds: a sentence about its contents. download_mb, disk_mb: its sizes."""

    name: str
    adds: str
    download_mb: float
    disk_mb: float

    @property
    def requirements(self) -> tuple[str, ...]:
        """The requirements of pyproject.toml, such as "onnx<2,>=1.17".

        Raises: ResourceUnavailable if faintcall itself is not installed as a package.
        """
        try:
            lines = requires("faintcall") or []
        except PackageNotFoundError:
            raise ResourceUnavailable(
                "faintcall is not installed as a package, so it cannot add the "
                f"{self.name} extra; start it with python3 -m drill.start"
            ) from None
        marked = ((line, _MARKER.search(line)) for line in lines)
        return tuple(
            line.partition(";")[0].strip() for line, mark in marked if mark and mark[1] == self.name
        )


EXTRAS: Mapping[str, Extra] = {
    extra.name: extra
    for extra in (
        Extra(
            name="studio",
            adds="The studio voices: 54 voices that sound more natural, on a processor quick "
            "enough for them.",
            download_mb=72,
            disk_mb=124,
        ),
        Extra(
            name="sending",
            adds="Another speech recogniser beside faintcall's own, up to Python 3.13.",
            download_mb=29,
            disk_mb=38,
        ),
        Extra(
            name="parquet",
            adds="Export and import of the record as Parquet files.",
            download_mb=55,
            disk_mb=174,
        ),
    )
}


@dataclass(frozen=True, kw_only=True, slots=True)
class InstallTarget:
    """The environment into which extras are installed.

    folder: of the environment. own: True if `drill.start` created it for faintcall only; in any
    other environment, new packages can affect other programs. refusal: why nothing can be installed
    there, with the remedy; "" if it is possible.
    """

    folder: Path
    own: bool
    refusal: str


@dataclass(frozen=True, kw_only=True, slots=True)
class InstallProgress:
    """A step of an installation.

    installing: False while packages are fetched, True while they are unpacked. file: name of the
    file being fetched, "" for none. done_mb: fetched so far. total_mb: size of the whole extra, as
    if none of its packages were installed.
    """

    installing: bool
    file: str
    done_mb: float
    total_mb: float


def extra_is_installed(name: str) -> bool:
    """Return True if all packages of an extra are installed, pinned ones in the pinned version.

    Raises: UserError for an unknown extra; ResourceUnavailable as Extra.requirements.
    """
    for requirement in find_extra(name).requirements:
        match = _PINNED.match(requirement)
        assert match
        try:
            installed = version(match[1])
        except PackageNotFoundError:
            return False
        if match[2] and match[2] != installed:
            return False
    return True


def find_extra(name: str) -> Extra:
    """Return the extra with this name. Raises: UserError."""
    return EXTRAS[one_of("extra", name, EXTRAS)]


def install_target() -> InstallTarget:
    """Return the environment into which extras would be installed."""
    folder = Path(sys.prefix)
    own = folder.resolve() == (CHECKOUT / ".venv").resolve()
    refusal = ""
    if is_externally_managed():
        refusal = (
            "this Python belongs to the operating system, which does not let programs add "
            f"packages; {install_remedy('faintcall')}"
        )
    elif pip_install_words() is None:
        refusal = f"this environment has no pip; install it with: {sys.executable} -m ensurepip"
    elif not os.access(sysconfig.get_path("purelib"), os.W_OK):
        refusal = f"you may not write to {folder}; ask its owner to install the extra"
    return InstallTarget(folder=folder, own=own, refusal=refusal)


def install_extra(name: str, *, pip: Sequence[str] = ()) -> Iterator[InstallProgress]:
    """Install an extra; yield the progress. Closing the iterator stops the installation.

    pip: the command before the requirements, by default the one of this environment.
    Raises: UserError for an unknown extra; ResourceUnavailable if nothing can be installed here or
    if the installation fails, with the command that shows why.
    """
    extra = find_extra(name)
    refusal = "" if pip else install_target().refusal
    if refusal:
        raise ResourceUnavailable(f"the {name} extra cannot be installed: {refusal}")
    command = [*(pip or _pip_with_progress()), *extra.requirements]
    reader = _PipReader(extra.download_mb)
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
        )
    except OSError as failure:
        raise _failed(extra, str(failure)) from None
    with process:
        assert process.stdout
        try:
            for line in process.stdout:
                if reader.read(line):
                    yield reader.progress
        except BaseException:
            process.terminate()
            raise
    if process.returncode:
        raise _failed(extra, reader.error or f"pip ended with {process.returncode}")
    importlib.invalidate_caches()  # otherwise this process would not find the new packages


def _failed(extra: Extra, reason: str) -> ResourceUnavailable:
    command = pip_install_command(*extra.requirements)
    return ResourceUnavailable(
        f"the {extra.name} extra could not be installed ({reason}); this shows more: {command}"
    )


def _pip_with_progress() -> list[str]:
    """Return the install command of this environment, with the progress that it can report."""
    words = pip_install_words()
    assert words
    help_text = subprocess.run(
        [*words, "--help"], capture_output=True, text=True, check=False
    ).stdout
    _, option, rest = help_text.partition("--progress-bar")
    if option:  # pip, not uv
        kinds = rest.partition("\n  -")[0]  # before the next option
        words += ["--no-input", "--disable-pip-version-check", "--progress-bar"]
        words.append("raw" if "raw" in kinds else "off")
    return words


class _PipReader:
    """Reads the output of pip."""

    def __init__(self, total_mb: float) -> None:
        self.error = ""
        self._complete_mb = self._file_mb = 0.0
        self.progress = InstallProgress(installing=False, file="", done_mb=0, total_mb=total_mb)

    def read(self, line: str) -> bool:
        """Read one line; return True if the progress has changed."""
        if line.startswith("ERROR:"):
            self.error = line.removeprefix("ERROR:").strip()
        elif match := _DOWNLOAD.match(line):
            self._complete_mb += self._file_mb
            self._file_mb = 0.0
            self._advance(file=match[1].rpartition("/")[2])
        elif match := _PROGRESS.match(line):
            self._file_mb = int(match[1]) / MEGABYTE
            self._advance(file=self.progress.file)
        elif line.startswith(_INSTALLING):
            self._advance(file="", installing=True)
        else:
            return False
        return True

    def _advance(self, *, file: str, installing: bool = False) -> None:
        self.progress = replace(
            self.progress,
            file=file,
            installing=installing,
            done_mb=self._complete_mb + self._file_mb,
        )
