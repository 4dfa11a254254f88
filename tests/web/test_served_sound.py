"""The WAV files that the page plays, measured independently of the program's own figures.

The same over is rendered with and without noise. The part of the noisy sound that the clean one
explains is the speech, the rest is the noise. Speech is measured by its active level (ITU-T P.56;
tests/outside/test_p56.py checks the meter), noise by its density in the flat part of the passband
with scipy's Welch estimate, times 3000 Hz (ITU-R F.339-8, Table 1).
"""

import io
import wave
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import welch

from drill.core import audio_files
from drill.core.models import Clip
from drill.core.paths import data_folder, record_file
from drill.items.render import render
from drill.radio.channel import MEAN_OUTPUT_DB
from drill.radio.levels import speech_level
from drill.radio.receiver import LIMITER_CEILING_DB
from drill.records.store import Store
from drill.web.api.states import load_session
from tests.web.client import begin_session, logged_in_client, post_answer

RATE_HZ = 16000
OVERS = 3
FIXED_GAIN = 'says = "Nothing but noise, with a fixed gain."\n[receiver]\nagc = "off"\n'
Samples = NDArray[np.float64]


@pytest.fixture(autouse=True)
def fixed_gain_conditions(home: Path) -> None:
    """Add conditions without AGC, which would change the level of speech with the noise."""
    folder = data_folder() / "conditions"
    folder.mkdir(parents=True)
    (folder / "fixed-gain.toml").write_text(FIXED_GAIN)


def samples_of(wav: bytes) -> Samples:
    """Return the samples of a WAV file, -1 to 1."""
    with wave.open(io.BytesIO(wav)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767


def served_overs(**options: Any) -> list[bytes]:
    """Return the WAV files of a session's overs as the page gets them."""
    client = logged_in_client()
    session = begin_session(client, count=OVERS, seed=12, part="over", **options)["id"]
    wavs = []
    for number in range(OVERS):
        item = client.get(f"/api/sessions/{session}/items/{number}").json()
        wavs.append(client.get(item["sound"]).content)
        post_answer(client, session, number, "?")
    return wavs


def split(noisy: Samples, clean: Samples) -> tuple[Samples, Samples]:
    """Return the speech and the noise of a noisy sound."""
    gain = float(np.dot(noisy, clean) / np.dot(clean, clean))
    return gain * clean, noisy - gain * clean


@pytest.mark.parametrize("snr_db", [-3.0, 6.0, 15.0])
def test_measured_snr_is_that_of_the_session(snr_db: float) -> None:
    clean_overs = [samples_of(wav) for wav in served_overs(conditions="fixed-gain", snr_db=None)]
    noisy_overs = [samples_of(wav) for wav in served_overs(conditions="fixed-gain", snr_db=snr_db)]
    measured = []
    for clean, noisy in zip(clean_overs, noisy_overs, strict=True):
        speech, noise = split(noisy, clean)
        frequency, power = welch(noise[1600:-1600], RATE_HZ, nperseg=1024)
        density = float(np.mean(power[(frequency > 400) & (frequency < 2600)]))
        level_db = speech_level(speech, RATE_HZ).active_db
        measured.append(level_db - 10 * float(np.log10(density * 3000)))
    # 3 overs of 6 s in 2.2 kHz: the errors of noise power and speech gain are about 0.1 dB each.
    assert np.mean(measured) == pytest.approx(snr_db, abs=0.3)


def test_level_is_similar_at_every_snr_and_the_peak_is_limited() -> None:
    for snr_db in (-15.0, 0.0, 30.0):
        for wav in served_overs(snr_db=snr_db):
            samples = samples_of(wav)
            level_db = speech_level(samples, RATE_HZ).active_db
            assert level_db == pytest.approx(MEAN_OUTPUT_DB, abs=4)
            assert 20 * np.log10(np.max(np.abs(samples))) <= LIMITER_CEILING_DB + 0.01


def test_sound_begins_and_ends_in_a_ramp() -> None:
    """The first and last 2 ms of the ramps of 20 ms are far below the level of the sound."""
    for wav in served_overs(snr_db=-10.0):
        samples = samples_of(wav)
        rms = float(np.sqrt(np.mean(samples**2)))
        for end in (samples[:32], samples[-32:]):
            assert float(np.max(np.abs(end))) < 0.2 * rms


def test_served_file_equals_the_written_file(tmp_path: Path) -> None:
    client = logged_in_client()
    session = begin_session(client, count=1, seed=12)["id"]
    client.get(f"/api/sessions/{session}/items/0")
    served = client.get(f"/api/sessions/{session}/items/0/noise.wav").content
    with Store(record_file()) as store:
        clip = render(load_session(store, session).item())
    audio_files.write_audio(tmp_path / "item.wav", clip)
    assert served == (tmp_path / "item.wav").read_bytes()


def test_invalid_samples_stay_within_full_scale() -> None:
    samples = np.array([2.0, -3.0, np.nan, np.inf, -np.inf, 0.5], np.float32)
    wav = audio_files.wav_bytes(Clip(samples=samples, rate_hz=RATE_HZ))
    assert samples_of(wav) == pytest.approx([1, -1, 0, 1, -1, 0.5], abs=1e-4)
