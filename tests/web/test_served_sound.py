"""The bytes that the page plays, held against the item's figures by instruments of their own.

The same over comes once in the noise and once without; what the second explains of the first is the
speech, the rest is the noise. Speech is measured by its active level (ITU-T P.56, checked against
the G.191 tool library's conventions in tests/outside/test_p56.py), noise by its density with
scipy's Welch estimate in the flat part of the passband, times 3000 Hz (ITU-R F.339-8, Table 1).
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
from drill.core.paths import data_folder, record_file
from drill.items.render import render
from drill.radio.channel import MEAN_OUTPUT_DB
from drill.radio.levels import speech_level
from drill.radio.receiver import LIMITER_CEILING_DB
from drill.records.store import Store
from drill.web.api.states import practice_of
from tests.web.client import answer, begin, visitor

RATE_HZ = 16000
OVERS = 3
STEADY = 'says = "Nothing but noise, at a gain that stays."\n[receiver]\nagc = "off"\n'
Sound = NDArray[np.float64]


@pytest.fixture(autouse=True)
def own_home(home: Path) -> Path:
    folder = data_folder() / "conditions"
    folder.mkdir(parents=True)
    (folder / "steady-gain.toml").write_text(STEADY)
    return home


def samples(data: bytes) -> Sound:
    with wave.open(io.BytesIO(data)) as file:
        form = (file.getnchannels(), file.getsampwidth(), file.getframerate())
        assert form == (1, 2, RATE_HZ)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767


def overs(**choices: Any) -> list[bytes]:
    """Return the sounds of a sitting as the page gets them."""
    client = visitor()
    state = begin(client, count=OVERS, seed=12, part="over", **choices)
    found = []
    for number in range(OVERS):
        item = client.get(f"/api/sittings/{state['id']}/items/{number}").json()
        found.append(client.get(item["sound"]).content)
        answer(client, state["id"], number, "?")
    return found


def split(noisy: Sound, clean: Sound) -> tuple[Sound, Sound]:
    """Return the speech in a noisy sound, and what is left of it."""
    share = float(np.dot(noisy, clean) / np.dot(clean, clean))
    return share * clean, noisy - share * clean


@pytest.mark.parametrize("snr_db", [-3.0, 6.0, 15.0])
def test_the_snr_that_is_heard_is_the_items(snr_db: float) -> None:
    silent = [samples(one) for one in overs(conditions="steady-gain", snr_db=None)]
    noisy = [samples(one) for one in overs(conditions="steady-gain", snr_db=snr_db)]
    found = []
    for clean, heard in zip(silent, noisy, strict=True):
        speech, noise = split(heard, clean)
        frequency, power = welch(noise[1600:-1600], RATE_HZ, nperseg=1024)
        density = float(np.mean(power[(frequency > 400) & (frequency < 2600)]))
        level_db = speech_level(speech, RATE_HZ).active_db
        found.append(level_db - 10 * float(np.log10(density * 3000)))
    # 3 overs of 6 s in 2.2 kHz: the noise's power is known to 0.1 dB, the speech's share to 0.1.
    assert np.mean(found) == pytest.approx(snr_db, abs=0.3)


def test_the_level_stays_and_the_peak_is_limited() -> None:
    """From the faintest to the strongest the page plays about as loudly, and never louder."""
    for snr_db in (-15.0, 0.0, 30.0):
        for data in overs(snr_db=snr_db):
            sound = samples(data)
            level_db = speech_level(sound, RATE_HZ).active_db
            assert level_db == pytest.approx(MEAN_OUTPUT_DB, abs=4)
            assert 20 * np.log10(np.max(np.abs(sound))) <= LIMITER_CEILING_DB + 0.01


def test_a_sound_begins_and_ends_in_a_ramp() -> None:
    """From nothing within 20 ms: no sample of the first 2 ms is near the level of the rest."""
    for data in overs(snr_db=-10.0):
        sound = samples(data)
        level = float(np.sqrt(np.mean(sound**2)))
        for end in (sound[:32], sound[-32:]):
            assert float(np.max(np.abs(end))) < 0.2 * level


def test_the_page_plays_what_a_file_would_hold(tmp_path: Path) -> None:
    client = visitor()
    state = begin(client, count=1, seed=12)
    client.get(f"/api/sittings/{state['id']}/items/0")
    heard = client.get(f"/api/sittings/{state['id']}/items/0/noise.wav").content
    with Store(record_file()) as store:
        clip = render(practice_of(store, state["id"]).item())
    audio_files.write(tmp_path / "it.wav", clip)
    assert heard == (tmp_path / "it.wav").read_bytes()


def test_too_loud_or_broken_samples_stay_within_full_scale() -> None:
    from drill.core.models import Clip

    wild = np.array([2.0, -3.0, np.nan, np.inf, -np.inf, 0.5], np.float32)
    found = samples(audio_files.wav_bytes(Clip(samples=wild, rate_hz=RATE_HZ)))
    assert found == pytest.approx([1, -1, 0, 1, -1, 0.5], abs=1e-4)
