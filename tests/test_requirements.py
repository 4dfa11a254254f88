"""Requirements for each version of Python: no package is required where it has no wheel.

Outside source: `pip download --only-binary=:all: --python-version VERSION` for every requirement
(PyPI, November 2026). pocketsphinx 5.1.1 has no wheel for 3.14 and later; onnxruntime has none for
3.15, nor for Intel Macs from 3.14 on, and hibari-tts requires it.
"""

import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))[
    "project"
]
LINUX = {"sys_platform": "linux", "platform_machine": "x86_64"}
INTEL_MAC = {"sys_platform": "darwin", "platform_machine": "x86_64"}
ARM_MAC = {"sys_platform": "darwin", "platform_machine": "arm64"}


def required(python: str, computer: dict[str, str]) -> set[str]:
    """Return the names of the core requirements on a computer."""
    requirements = [Requirement(line) for line in PROJECT["dependencies"]]
    environment = {**computer, "python_version": python}
    return {r.name for r in requirements if r.marker is None or r.marker.evaluate(environment)}


@pytest.mark.parametrize("python", ["3.11", "3.13", "3.14"])
@pytest.mark.parametrize("computer", [LINUX, ARM_MAC])
def test_the_voices_are_required_where_they_exist(python: str, computer: dict[str, str]) -> None:
    assert {"hibari-tts", "espeakng-loader"} <= required(python, computer)


@pytest.mark.parametrize(("python", "computer"), [("3.15", LINUX), ("3.14", INTEL_MAC)])
def test_nothing_is_required_that_has_no_wheel(python: str, computer: dict[str, str]) -> None:
    names = required(python, computer)
    assert not names & {"hibari-tts", "onnxruntime"}
    assert "espeakng-loader" in names


def test_only_the_sending_drill_needs_the_recogniser_without_wheels() -> None:
    assert "pocketsphinx" not in required("3.11", LINUX)
    assert PROJECT["optional-dependencies"]["sending"] == ["pocketsphinx==5.1.1"]


def test_constraints_pin_every_requirement_to_an_allowed_version() -> None:
    """`drill.start` installs these versions, so that users get what was tested."""
    lines = (Path(__file__).parents[1] / "constraints.txt").read_text("utf-8").splitlines()
    pins = dict(line.split("==") for line in lines if not line.startswith("#"))
    versions = {canonicalize_name(name): version for name, version in pins.items()}
    extras = PROJECT["optional-dependencies"]
    tested = [*PROJECT["dependencies"], *extras["studio"], *extras["sending"], *extras["test"]]
    for requirement in map(Requirement, tested):
        if requirement.name != "faintcall":
            assert versions[canonicalize_name(requirement.name)] in requirement.specifier


def test_the_guide_names_every_core_dependency() -> None:
    """DEVELOPERS.md says what needs each of them, and its size."""
    guide = (Path(__file__).parents[1] / "DEVELOPERS.md").read_text("utf-8")
    first_cells = "".join(line.split("|")[1] for line in guide.splitlines() if "|" in line)
    for line in PROJECT["dependencies"]:
        assert f" {Requirement(line).name}" in first_cells
