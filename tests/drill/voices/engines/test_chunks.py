"""An over is split at pauses into chunks that are short enough, and no word is lost."""

from hypothesis import given
from hypothesis import strategies as st

from drill.voices.engines.chunks import MAX_SYMBOLS, split_into_chunks, symbols_of
from phonetics.message import Word

WORDS = st.lists(
    st.builds(
        Word, say=st.text("abc", min_size=1, max_size=30), pause=st.sampled_from(["", ",", "."])
    ),
    min_size=1,
    max_size=120,
)


@given(WORDS)
def test_the_chunks_hold_all_words_and_are_short_enough(words: list[Word]) -> None:
    chunks = split_into_chunks(words, str.upper)
    assert [word for chunk in chunks for word, _ in chunk] == words
    for chunk in chunks:
        symbols, bounds = symbols_of(chunk)
        assert len(symbols) <= MAX_SYMBOLS + 14  # a word of 30 letters may end beyond the limit
        assert symbols[-1] in ",."
        for (say, first, end), (word, phonemes) in zip(bounds, chunk, strict=True):
            assert say == word.say
            assert symbols[first:end] == phonemes


def test_a_chunk_ends_at_a_pause_in_its_second_half() -> None:
    words = [Word(say="a" * 20, pause="," if number == 12 else "") for number in range(30)]
    chunks = split_into_chunks(words, str)
    assert [len(chunk) for chunk in chunks] == [13, 17]
