"""State of each speech engine on this computer: whether it works, its packages, its operators."""

import re
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, requires

from drill import voices
from drill.core.errors import NoVoice, UserError
from drill.core.models import Operator
from drill.voices.engines.studio import voice_files
from drill.voices.engines.studio.model import STUDIO_MODEL_PACKAGES, STUDIO_RUNTIME_PACKAGES
from drill.voices.engines.system.engine import system_operator, system_voices
from drill.voices.people.roster import ENGINE_GROUPS, group_members
from drill.voices.versions import installed_version
from drill.voices.wordbank.bank_operators import bank_operators

_PACKAGES = {
    "natural": ("hibari-tts",),
    "formant": ("espeakng-loader",),
    "studio": (*STUDIO_MODEL_PACKAGES, *STUDIO_RUNTIME_PACKAGES),
    "system": ("pyttsx3",),
}
_ENGINES_WITH_MODEL = ("natural", "studio")


@dataclass(frozen=True, kw_only=True, slots=True)
class PackageStatus:
    """A package that an engine needs.

    version: installed version, "none" if it is missing. pinned: version that faintcall requires, ""
    if it accepts several.
    """

    name: str
    version: str
    pinned: str

    @property
    def usable(self) -> bool:
        """Return True if the package is installed, in the pinned version if there is one."""
        return self.version != "none" and self.pinned in ("", self.version)


@dataclass(frozen=True, kw_only=True, slots=True)
class EngineStatus:
    """The state of an engine on this computer.

    problem: "" if the engine works, else one sentence with the remedy. unusable_files: one message
    for each voice file of the user that cannot be used. other_language_voices: number of its voices
    that do not speak English.
    """

    name: str
    problem: str
    packages: tuple[PackageStatus, ...]
    operators: tuple[Operator, ...]
    unusable_files: tuple[str, ...] = ()
    other_language_voices: int = 0

    @property
    def model_verified(self) -> bool:
        """Return True if the engine works and has a model, whose digest has been checked."""
        return not self.problem and self.name in _ENGINES_WITH_MODEL


def engine_statuses() -> tuple[EngineStatus, ...]:
    """Return the state of every engine, in alphabetical order, checked at each call."""
    return tuple(_engine_status(name) for name in voices.engine_names())


def _engine_status(name: str) -> EngineStatus:
    try:
        problem = voices.find_engine(name).problem()
    except NoVoice as error:
        problem = str(error)
    roster = (operator for group in ENGINE_GROUPS for operator in group_members(group))
    operators = [operator for operator in roster if operator.engine == name]
    unusable_files: tuple[str, ...] = ()
    other_language_voices = 0
    if name == "studio":
        user_operators, unusable_files = user_voice_operators()
        operators += user_operators
    elif name == "bank":
        operators += bank_operators()
    elif name == "system" and not problem:
        operators, other_language_voices = _system_operators()
    return EngineStatus(
        name=name,
        problem=problem,
        packages=tuple(_package_status(package) for package in _PACKAGES.get(name, ())),
        operators=tuple(operators),
        unusable_files=unusable_files,
        other_language_voices=other_language_voices,
    )


def _system_operators() -> tuple[list[Operator], int]:
    """Return the operators of the system's English voices and the number of its other voices."""
    all_voices = system_voices()
    english = [
        voice
        for voice in all_voices
        if any(language.lower().startswith("en") for language in voice.languages)
    ]
    names = dict.fromkeys(voice.operator_name for voice in english)
    return [system_operator(name) for name in names], len(all_voices) - len(english)


def user_voice_operators() -> tuple[list[Operator], tuple[str, ...]]:
    """Return the operators of the studio voices in the user's folder, and the unusable files.

    The second value has a one-line message for each file that cannot be used.
    """
    operators, messages = [], []
    for name in voice_files.user_voice_names():
        try:
            operators.append(voice_files.user_voice_operator(voice_files.STUDIO_PREFIX + name))
        except UserError as error:
            messages.append(str(error))
    return operators, tuple(messages)


def _package_status(package: str) -> PackageStatus:
    return PackageStatus(
        name=package,
        version=installed_version(package),
        pinned=_pinned_versions().get(package, ""),
    )


@cache
def _pinned_versions() -> dict[str, str]:
    """Return the packages that faintcall's metadata pins to one version."""
    try:
        requirements = requires("faintcall") or []
    except PackageNotFoundError:
        return {}
    matches = (re.match(r"([A-Za-z0-9._-]+)==([0-9][^\s;,]*)", line) for line in requirements)
    return {match[1].lower(): match[2] for match in matches if match}
