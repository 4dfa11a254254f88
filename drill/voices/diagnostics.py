"""What there is to speak with: each engine, whether it works, its packages, its operators."""

import re
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, requires

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.voices.engines.studio import model, voice_files
from drill.voices.people.roster import OPERATOR_GROUPS, roster_entries
from drill.voices.versions import installed_version

PACKAGES = {
    "natural": ("hibari-tts", "onnx"),
    "formant": ("espeakng-loader",),
    "studio": (*model.PACKAGES, model.RUNTIME),
    "system": ("pyttsx3",),
}
WITH_DIGEST = ("natural", "studio")
"""Engines whose model's digest is part of whether they work."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Package:
    """A package that an engine needs: the version that is there and the one pinned, "" for none."""

    name: str
    version: str
    pinned: str

    @property
    def right(self) -> bool:
        """Return True where it is installed, in the pinned version if one is pinned."""
        return self.version not in ("", "none") and self.pinned in ("", self.version)


@dataclass(frozen=True, kw_only=True, slots=True)
class Engine:
    """An engine as it is here.

    problem: "" where it works. bad: files of no use, a line each. others: how many more voices it
    has, of other languages than English.
    """

    name: str
    problem: str
    packages: tuple[Package, ...]
    operators: tuple[Operator, ...]
    bad: tuple[str, ...] = ()
    others: int = 0

    @property
    def digest_checked(self) -> bool:
        """Return True where it works and has a model, whose digest was found right."""
        return not self.problem and self.name in WITH_DIGEST


def engines() -> tuple[Engine, ...]:
    """Return every engine that is installed, in alphabetical order, as it was found just now."""
    return tuple(_engine(name) for name in voices.engine_names())


def _engine(name: str) -> Engine:
    everyone = (each.operator for group in OPERATOR_GROUPS for each in roster_entries(group))
    operators = [each for each in everyone if each.engine == name]
    bad: tuple[str, ...] = ()
    others = 0
    if name == "studio":
        own, bad = own_operators()
        operators += own
    if name == "bank":
        from drill.voices.wordbank.engine import bank_operators

        operators += bank_operators()
    try:
        problem = voices.find_engine(name).problem()
    except NoVoice as lack:
        problem = str(lack)
    if name == "system" and not problem:
        operators, others = _of_system()
    needed = PACKAGES.get(name, ())
    return Engine(
        name=name,
        problem=problem,
        packages=tuple(
            Package(name=each, version=installed_version(each), pinned=_pins().get(each, ""))
            for each in needed
        ),
        operators=tuple(operators),
        bad=bad,
        others=others,
    )


def _of_system() -> tuple[list[Operator], int]:
    """Return the operators of the system's English voices, and how many other voices there are."""
    from drill.voices.engines.system.engine import system_operator, system_voices

    every = system_voices()
    english = [each for each in every if any(one.lower()[:2] == "en" for one in each.languages)]
    names = dict.fromkeys(each.operator_name for each in english)
    return [system_operator(name) for name in names], len(every) - len(english)


def own_operators() -> tuple[list[Operator], tuple[str, ...]]:
    """Return the operators of the voices in the user's folder, and a line for each bad file."""
    good, bad = [], []
    for name in voice_files.own_names():
        try:
            good.append(voice_files.own_operator(voice_files.PREFIX + name))
        except UserError as error:
            bad.append(str(error))
    return good, tuple(bad)


def _pins() -> dict[str, str]:
    """Return the packages that faintcall pins to one version, from its own metadata."""
    try:
        lines = requires("faintcall") or []
    except PackageNotFoundError:
        return {}
    found = (re.match(r"([A-Za-z0-9._-]+)==([0-9][^\s;,]*)", line) for line in lines)
    return {each[1].lower(): each[2] for each in found if each}
