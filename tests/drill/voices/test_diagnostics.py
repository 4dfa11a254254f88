"""A package is usable in its pinned version; the pins are those of pyproject.toml."""

import tomllib
from dataclasses import replace
from pathlib import Path

from drill.voices.diagnostics import PackageStatus, engine_statuses

PROJECT = tomllib.loads((Path(__file__).parents[3] / "pyproject.toml").read_text("utf-8"))[
    "project"
]


def test_only_the_pinned_version_is_usable() -> None:
    package = PackageStatus(name="x", version="1.0", pinned="1.0")
    assert package.usable
    assert replace(package, pinned="").usable
    assert not replace(package, version="1.1").usable
    assert not replace(package, version="none", pinned="").usable


def test_the_pins_are_those_of_the_project() -> None:
    optional = PROJECT["optional-dependencies"].values()
    requirements = [*PROJECT["dependencies"], *(line for group in optional for line in group)]
    pins = dict(
        line.split(";")[0].strip().split("==")
        for line in requirements
        if "==" in line.split(";")[0]
    )
    packages = [package for status in engine_statuses() for package in status.packages]
    assert {package.name for package in packages} > {"hibari-tts", "espeakng-loader", "pyttsx3"}
    for package in packages:
        assert package.pinned == pins.get(package.name, ""), package
