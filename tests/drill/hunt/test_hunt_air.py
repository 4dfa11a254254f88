"""Overs on one frequency of a hunt: lengths, levels and the sound of the microphone."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from drill.contact.air import Participant, samples
from drill.contact.model_air import ModelAir
from drill.contact.overs import FAR, TRAINEE, Over
from drill.hunt.band import Holder, compose_band
from drill.hunt.hunt_air import FAINTEST_DB, HuntAir
from drill.radio import AUDIO_RATE_HZ
from phonetics.message import Word
from tests.drill.hunt.simple_hunter import make_setup
from tests.drill.hunt.sounding import WORD_S, NoiseSpeech
from tests.drill.radio.sounds import voice_like

SETUP = make_setup()
HOLDER = compose_band(SETUP, 0).holders[0]
OVER = Over(kind="call", words=(Word(say="alfa", means="A"), Word(say="nine", means="9")))


def air(*, in_reach: bool = True, holder: Holder = HOLDER) -> HuntAir:
    model = ModelAir(SETUP.values.contact, SETUP.plan.conditions.fading)
    return HuntAir(holder, model, NoiseSpeech(), lambda: in_reach)


def station(name: str = FAR, near_db: float | None = 10.0) -> Participant:
    return Participant(
        name=name,
        path_seed=1,
        near_db=near_db,
        far_db=5.0,
        operator=HOLDER.station.speaker.operator,
    )


@pytest.mark.parametrize(
    ("who", "in_reach", "has_speech"),
    [
        (station(), True, True),
        (station(), False, False),
        (station("caller 1", None), True, False),
        (station("caller 1", FAINTEST_DB - 1), True, False),
        (station(TRAINEE, None), False, True),
    ],
)
def test_only_audible_overs_have_the_length_of_their_speech(
    who: Participant, in_reach: bool, has_speech: bool
) -> None:
    over = air(in_reach=in_reach).key(who, OVER, 0, 1000)
    spoken = samples(0.25 + 2 * WORD_S + 0.15)
    assert (over.end - over.start == spoken) == has_speech
    assert len(over.times) == 2


def test_the_level_at_the_trainee_has_the_drift_and_the_splatter() -> None:
    here, whose = air(), station()
    levels = []
    for time_s in (0.0, 400.0):
        over = here.key(whose, OVER, 0, samples(time_s))
        near = here.receive("near", [over], over.start, over.end, told=[over])
        fading = ModelAir(SETUP.values.contact, SETUP.plan.conditions.fading)
        word_db = near.voices[0].words[0].snr_db - fading.fade_db(over, *over.times[0])
        levels.append(word_db - HOLDER.drift.db(over.times[0][0] / AUDIO_RATE_HZ))
    assert levels == pytest.approx([10.0 - HOLDER.splatter_db] * 2)


def rendered_voice(far_db: float) -> NDArray[np.float32]:
    """Return the sound at the far end of an over by microphone."""
    here, who = air(), replace(station(TRAINEE), far_db=far_db)
    clip = replace(voice_like(1.0), words=())
    over = here.key(who, Over(kind="voice", words=(), clip=clip), 0, samples(3000.0))
    reception = here.receive("far", [over], over.start, over.end, told=[over])
    assert reception.clip is not None
    sound = reception.clip().samples
    assert len(sound) == pytest.approx(over.end - over.start, abs=2)
    return sound[samples(0.3) : samples(1.1)]


def test_an_over_by_microphone_is_rendered_at_the_far_end() -> None:
    loud, softer, lost = (rendered_voice(far_db) for far_db in (40.0, 30.0, -30.0))
    assert np.corrcoef(loud, softer)[0, 1] > 0.9
    assert abs(np.corrcoef(loud, lost)[0, 1]) < 0.3


def test_words_need_no_sound_at_the_far_end() -> None:
    here = air()
    words = here.key(station(TRAINEE), OVER, 0, 0)
    assert here.receive("far", [words], 0, words.end, told=[words]).clip is None
