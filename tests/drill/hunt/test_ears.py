"""How the far operators of a hunt hear: a model for words, a recogniser for sound."""

from dataclasses import replace

from drill.contact.air import ArrivedVoice, ArrivedWord, Reception
from drill.contact.hearing import Ears, HeardOver, HeardToken
from drill.core.models import Clip
from drill.hunt.band import compose_band
from drill.hunt.ears import HuntEars, model_ears
from phonetics.message import Word
from tests.drill.hunt.simple_hunter import make_setup

SETUP = make_setup()
HOLDER = compose_band(SETUP, 0).holders[0]
LOUD = ArrivedWord(
    word=Word(say="alfa", means="A"), start_s=0.0, end_s=0.5, snr_db=40.0, crowded=False
)
RECEPTION = Reception(
    start=0,
    end=16000,
    voices=(
        ArrivedVoice(speaker="trainee", number=0, start=0, end=8000, words=(LOUD,), level_db=40.0),
    ),
)


def no_clip() -> Clip:
    raise AssertionError("the sound is not needed here")


SOUND = replace(RECEPTION, clip=no_clip)


class FixedEars:
    """Ears that return two words, one of them doubtful."""

    name = "fixed"
    doubt_below = 0.85

    def notices(self, level_db: float, draw: float) -> bool:
        return False

    def listen(self, reception: Reception) -> tuple[HeardOver, ...]:
        tokens = (HeardToken("B", 0.9, 0.0, 0.5), HeardToken("C", 0.7, 0.5, 1.0))
        return (HeardOver(tokens=tokens, level_db=3.0),)


def heard(machine: Ears | None, reception: Reception) -> list[tuple[str, float]]:
    ears = HuntEars(model_ears(SETUP, HOLDER), lambda: machine)
    return [(t.text, t.confidence) for over in ears.listen(reception) for t in over.tokens]


def test_words_are_heard_by_the_model_and_sound_by_the_recogniser() -> None:
    assert heard(FixedEars(), RECEPTION) == [("A", 0.9)]
    assert heard(FixedEars(), SOUND)[0] == ("B", 0.9)
    assert heard(None, SOUND) == [("A", 0.9)]


def test_a_word_that_the_recogniser_doubts_is_in_doubt() -> None:
    ears = HuntEars(model_ears(SETUP, HOLDER), FixedEars)
    (over,) = ears.listen(SOUND)
    assert over.tokens[1].confidence < ears.doubt_below <= over.tokens[0].confidence


def test_voices_are_noticed_by_the_model() -> None:
    ears = HuntEars(model_ears(SETUP, HOLDER), FixedEars)
    assert ears.notices(30.0, 0.5)
    assert not ears.notices(-60.0, 0.5)
