"""All checks, in the order in which a signal passes through the stages."""

from collections.abc import Callable, Iterator

from drill.selfcheck.fading import check_delay, check_tap
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.intelligibility import check_intelligibility
from drill.selfcheck.noise import check_external_noise, check_noise
from drill.selfcheck.power import check_power
from drill.selfcheck.receiver import check_agc, check_filter
from drill.selfcheck.repeatability import check_repeatability
from drill.selfcheck.snr import check_snr
from drill.selfcheck.speech_level import check_speech_level
from drill.selfcheck.transmitter import check_mistuning, check_processing

StageCheck = Callable[[], Iterator[CheckedFigure]]

SELF_CHECKS: tuple[StageCheck, ...] = (
    check_speech_level,
    check_snr,
    check_processing,
    check_mistuning,
    check_tap,
    check_delay,
    check_noise,
    check_external_noise,
    check_filter,
    check_agc,
    check_repeatability,
    check_intelligibility,
    check_power,
)
"""Every check is a generator: each figure is measured when it is requested."""
