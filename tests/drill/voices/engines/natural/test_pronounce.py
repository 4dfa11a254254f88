"""Every word has its phonemes, with the stress of the standard."""

import re

import pytest

from drill import voices
from drill.voices.engines.natural import engine, pronounce
from drill.voices.engines.studio import engine as studio
from drill.voices.people.roster import operator
from phonetics.message import Word
from phonetics.phrases import vocabulary


class TestPronunciation:
    @pytest.mark.parametrize("accent", ["", *pronounce.accents()])
    def test_every_word_is_in_the_table_and_in_the_alphabet(self, accent: str) -> None:
        symbols = set(engine._session()[1])
        for say in sorted(vocabulary()):
            assert pronounce.known(say), f"{say!r} has no pronunciation"
            spoken = pronounce.phonemes(say, accent)
            assert set(spoken) <= symbols, f"{say!r}: {set(spoken) - symbols}"
            assert not set(spoken) & set(" ,."), say
            assert set(spoken) <= set(studio.symbols()), say

    def test_a_number_is_put_together(self) -> None:
        assert pronounce.known("twenty-six").endswith(pronounce.known("six"))
        assert pronounce.known("twenty-nobody") == ""

    def test_a_word_from_outside_is_read_and_spoken(self) -> None:
        assert not pronounce.known("kelp")
        clip = voices.find("natural").say([Word(say="kelp")], operator("slate"), 1)
        assert 0.2 < clip.seconds < 1.5

    @pytest.mark.parametrize(
        ("say", "last"), [("papa", 2), ("quebec", 2), ("juliett", 3), ("hotel", 2), ("echo", 1)]
    )
    def test_the_stress_is_that_of_the_standard(self, say: str, last: int) -> None:
        """Which vowel has the main stress: the syllables in capitals of ITU RR Appendix 14 are
        PAH PAH with the second underlined, KEH BECK, JEW LEE ETT, HO TELL, ECK OH."""
        before = pronounce.known(say).partition(pronounce.MAIN_STRESS)[0]
        assert (
            len(re.findall("[aeiouAIOWY\\u00e6\\u0250-\\u025c\\u026a\\u028a\\u028c]", before))
            == last - 1
        )
