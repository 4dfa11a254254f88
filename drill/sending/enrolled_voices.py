"""The voices that the recogniser has learnt, on disk, and the one used to recognise takes.

One file for each voice, named after its word bank, in the user's data folder. A voice that was
learnt by an earlier model of the recogniser cannot be used; it has to be learnt again.
"""

from pathlib import Path

from drill.core.errors import UserError
from drill.core.paths import data_folder
from drill.recogniser import OWN_RECOGNISER, Recogniser, find_recogniser
from drill.recogniser.own.adaptation import Adaptation, load_adaptation, save_adaptation
from drill.recogniser.own.engine import OwnRecogniser
from drill.recogniser.own.model import load_model
from drill.sending.own_station import SettingStore
from drill.voices.wordbank.storage import check_bank_name

VOICE_SETTING = "enrolled-voice"
NO_VOICE = "none"
_SUFFIX = ".npz"


def voices_folder() -> Path:
    """Return the folder of learnt voices; it may not exist yet."""
    return data_folder() / "enrolled"


def enrolled_names() -> tuple[str, ...]:
    """Return the names of the learnt voices in alphabetical order."""
    return tuple(sorted(path.stem for path in voices_folder().glob(f"*{_SUFFIX}")))


def keep_voice(store: SettingStore, name: str, adaptation: Adaptation) -> None:
    """Write a learnt voice, replacing an older one of this name, and use it from now on.

    Raises: UserError if the name is not valid or the file cannot be written.
    """
    save_adaptation(adaptation, _path(name))
    store.set_setting(VOICE_SETTING, name)


def use_voice(store: SettingStore, name: str) -> None:
    """Recognise takes with this voice from now on; NO_VOICE: with none.

    Raises: UserError if there is no such voice.
    """
    if name != NO_VOICE:
        _existing(name)
    store.set_setting(VOICE_SETTING, name)


def delete_voice(store: SettingStore, name: str) -> None:
    """Delete a learnt voice. Raises: UserError if there is none or it cannot be deleted."""
    path = _existing(name)
    try:
        path.unlink()
    except OSError as error:
        raise UserError(f"{path} cannot be deleted: {error.strerror}") from None
    if used_voice(store) == name:
        store.set_setting(VOICE_SETTING, NO_VOICE)


def used_voice(store: SettingStore) -> str | None:
    """Return the name of the voice used to recognise takes, None for none."""
    name = store.setting(VOICE_SETTING)
    return None if name in (None, NO_VOICE) else name


def take_recogniser(store: SettingStore) -> Recogniser:
    """Return the recogniser for takes, adapted to the voice in use.

    Raises: as enrolled_recogniser.
    """
    name = used_voice(store)
    return find_recogniser(OWN_RECOGNISER) if name is None else enrolled_recogniser(name)


def enrolled_recogniser(name: str) -> OwnRecogniser:
    """Return the recogniser adapted to a learnt voice.

    Raises: NoRecogniser; UserError if the voice is missing, damaged or of another model.
    """
    adaptation = load_adaptation(_existing(name))
    model = load_model()
    if adaptation.model_digest != model.digest:
        raise UserError(
            f"the voice {name!r} was learnt by an earlier recogniser; let it learn the recordings "
            f"again (faintcall enrol {name}) or use none (faintcall enrol --use {NO_VOICE})"
        )
    return OwnRecogniser(model, adaptation=adaptation)


def _existing(name: str) -> Path:
    path = _path(name)
    if not path.exists():
        names = ", ".join(enrolled_names()) or "none"
        raise UserError(f"no voice {name!r} was learnt; learnt voices: {names}")
    return path


def _path(name: str) -> Path:
    check_bank_name(name)
    return voices_folder() / f"{name}{_SUFFIX}"
