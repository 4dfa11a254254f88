"""Check that neither the size of the chunks nor the process changes the samples."""

import multiprocessing
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from drill.core.conditions import Conditions, Fading, Noise, Receiver
from drill.core.models import Samples
from drill.radio import BASEBAND_RATE_HZ
from drill.radio.channel import CHUNK_SAMPLES, Channel
from drill.radio.neighbours import tune
from drill.radio.transmitter import transmit
from drill.selfcheck.figures import CheckedFigure
from drill.selfcheck.signals import CHECK_SEED, run_in_chunks, spoken_alphabet

LSB = 1 / 32768
ALL_STAGES = Conditions(
    snr_db=0.0,
    fading=Fading(delay_ms=2.0, spread_hz=1.0),
    noise=Noise(vd_db=4.0),
    receiver=Receiver(agc="quick"),
)


def check_repeatability() -> Iterator[CheckedFigure]:
    """Compare the audio from chunks of several sizes, and from another process."""
    reference = received_audio(1 << 30)
    for chunk in (7, 160, 4096):
        yield _difference(
            f"chunks of {chunk} samples compared with the whole", received_audio(chunk), reference
        )
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        other = pool.submit(received_audio, CHUNK_SAMPLES).result()
    yield _difference("another process compared with this one", other, reference)


def received_audio(chunk: int) -> Samples:
    """Return ten seconds of speech through the whole channel, in chunks of this size."""
    signal = tune(transmit(spoken_alphabet(), ALL_STAGES.transmitter), 0.0)
    signal = signal[: 10 * BASEBAND_RATE_HZ]
    return run_in_chunks(Channel(ALL_STAGES, CHECK_SEED), signal, chunk)


def _difference(quantity: str, audio: Samples, reference: Samples) -> CheckedFigure:
    return CheckedFigure(
        quantity=quantity,
        value=float(np.max(np.abs(audio - reference))) / LSB,
        low=0,
        high=1,
        unit="LSB",
        source="requirement of faintcall: within 1 LSB at 16 bits",
    )
