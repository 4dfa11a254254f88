"""The offer of the studio voices: what they add, whether they are installed, and their
installation.

They are an extra, because their model is large. Terminal and page show the same sentences.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from drill import voices
from drill.core.counting import plural
from drill.core.errors import UserError
from drill.core.extras import EXTRAS, InstallProgress, install_extra, install_target
from drill.voices.engines.studio.speed import (
    StudioSpeed,
    measure_studio_speed,
    stored_studio_speed,
)
from drill.voices.operators import find_operators
from drill.voices.people.roster import STUDIO_GROUP

STUDIO_EXTRA = "studio"


@dataclass(frozen=True, kw_only=True, slots=True)
class StudioOffer:
    """The offer of the studio voices on this computer.

    operators: number of operators. download_mb, disk_mb: size of the extra. installed: the voices
    can speak. speed: None until it is measured. folder: environment into which the extra would be
    installed. shared: other programs may use that environment. refusal: why nothing can be
    installed there, with the remedy; "" if it is possible.
    """

    operators: int
    download_mb: float
    disk_mb: float
    installed: bool
    speed: StudioSpeed | None
    folder: Path
    shared: bool
    refusal: str

    @property
    def is_complete(self) -> bool:
        """Return True if the voices are installed and their speed is known."""
        return self.installed and self.speed is not None


def studio_offer() -> StudioOffer:
    """Return the offer for this computer."""
    extra, target = EXTRAS[STUDIO_EXTRA], install_target()
    operators = find_operators([STUDIO_GROUP])
    return StudioOffer(
        operators=len(operators),
        download_mb=extra.download_mb,
        disk_mb=extra.disk_mb,
        installed=not voices.engine_problems(operators),
        speed=stored_studio_speed(),
        folder=target.folder,
        shared=not target.own,
        refusal=target.refusal,
    )


def add_studio_voices(*, allow_shared: bool) -> Iterator[InstallProgress | StudioSpeed]:
    """Install the studio voices if they are missing, then measure their speed on this computer.

    Yields the progress of the installation, and the measured speed last. allow_shared: the user
    agrees to an environment that other programs may use.

    Raises: UserError if the environment is shared and the user has not agreed; ResourceUnavailable
    if the installation fails; NoVoice if the voices cannot speak afterwards.
    """
    offer = studio_offer()
    if not offer.installed:
        if offer.shared and not allow_shared and not offer.refusal:
            raise UserError(
                f"the environment {offer.folder} was not made by faintcall, so other programs may "
                "use it; agree before packages are added to it",
                field="allow_shared",
            )
        yield from install_extra(STUDIO_EXTRA)
    yield measure_studio_speed()


def offer_sentences(offer: StudioOffer) -> list[str]:
    """Return sentences on what the voices add, and on either their size or their speed here."""
    sentences = [
        f"The studio voices add {plural(offer.operators, 'operator')} that sound like recorded "
        "people."
    ]
    if offer.installed:
        return [*sentences, speed_sentence(offer.speed)]
    sentences.append(
        f"They are a download of {offer.download_mb:.0f} MB and take {offer.disk_mb:.0f} MB."
    )
    if offer.refusal:
        return [*sentences, f"They cannot be added here: {offer.refusal}."]
    place = f"They would be added to {offer.folder}"
    if offer.shared:
        place += ", an environment that faintcall did not make and other programs may use"
    return [*sentences, f"{place}."]


def speed_sentence(speed: StudioSpeed | None) -> str:
    """Return a sentence on whether installed studio voices speak by default, and why."""
    if speed is None:
        return (
            "They are installed. Until faintcall has measured how quickly this computer "
            "synthesises them, they speak only if you choose them."
        )
    share = (
        f"This computer synthesises an over in {100 * speed.share_of_length:.0f} % of its length"
    )
    if speed.is_quick_enough:
        return (
            f"{share}, so they speak together with the natural operators if you choose none; "
            "never in the first item of a session."
        )
    return f"{share}, which is too slow for them to speak unless you choose them."


def progress_sentence(progress: InstallProgress) -> str:
    """Return one step of the installation as a sentence."""
    if progress.installing:
        return "Installing the packages."
    size = f"{progress.done_mb:.0f} of {progress.total_mb:.0f} MB"
    return f"Downloading, {size}." if progress.file else "Looking for the packages."
