import pytest

from drill.contact.evidence import Evidence
from drill.contact.understanding import Understood, is_call_form, understand
from phonetics.exchanges import Exchange, load_exchange
from tests.drill.contact.heard import heard_over

SERIAL = load_exchange("serial")


def understood(
    text: str, *, held: str = "", exchange: Exchange = SERIAL, expects_exchange: bool = True
) -> Understood:
    return understand(
        heard_over(text),
        held=Evidence().add(tuple(held)),
        exchange=exchange,
        expects_exchange=expects_exchange,
        doubt_below=0.5,
    )


def texts(parts: tuple[tuple[str, ...], ...]) -> list[str]:
    return ["".join(part) for part in parts]


@pytest.mark.parametrize(
    ("held", "said", "calls", "exchanges"),
    [
        ("", "E 8 7 , A B C", ["E87ABC"], []),
        ("", "E ? 7 , A ? ?", ["E?7A??"], []),
        ("", "E 8 7 , A B C , E 8 ? , A B C", ["E87ABC", "E8?ABC"], []),
        ("E87ABC", "thank you 5 9 , 0 3 4", [], ["034"]),
        ("E87ABC", "thank ? 9 , ? 3 4", [], ["?34"]),
        ("E87ABC", "0 3 4 , ? 3 4", [], ["034", "?34"]),
        ("E87?BC", "correction E 8 7 , A B C , thank you 5 9 , 0 3 4", ["E87ABC"], ["034"]),
        ("E87?BC", "correction E 8 7 , ? B C , ? ? , 0 ? 4", ["E87?BC"], ["0?4"]),
        ("E87A?C", "B , B", ["B", "B"], []),
        ("E87A?C", "? , B", ["?", "B"], []),
    ],
)
def test_call_and_exchange_are_distinguished(
    held: str, said: str, calls: list[str], exchanges: list[str]
) -> None:
    result = understood(said, held=held)
    assert texts(result.calls) == calls
    assert texts(result.exchanges) == exchanges


def test_digits_are_part_of_the_call_when_nobody_asked_for_an_exchange() -> None:
    result = understood("7 A , 7 ?", held="E8??BC", expects_exchange=False)
    assert texts(result.calls) == ["7A", "7?"]


@pytest.mark.parametrize(
    ("said", "wanted"),
    [
        ("again again please", "all"),
        ("again please your number number again", "exchange"),
        ("again please your call call again", "call"),
        ("roger thank you", ""),
    ],
)
def test_requests_are_recognised(said: str, wanted: str) -> None:
    assert understood(said, held="E87ABC").request == wanted


def test_a_correction_and_thanks_are_recognised() -> None:
    assert understood("correction E 8 7 A B C", held="E87APC").corrects
    assert understood("roger thank you", held="E87ABC").thanks
    assert understood("").is_empty


def test_a_doubtful_word_counts_as_not_made_out() -> None:
    over = heard_over("E 8 7 A B C", confidence=0.4)
    result = understand(
        over, held=Evidence(), exchange=SERIAL, expects_exchange=False, doubt_below=0.5
    )
    assert result.copied == 0


def test_exchanges_of_other_kinds_are_understood() -> None:
    locator = load_exchange("locator")
    result = understood("thank you 5 9 , J O 3 1", held="E87ABC", exchange=locator)
    assert texts(result.exchanges) == ["JO31"]
    zone = load_exchange("zone-amateur")
    assert texts(understood("5 9 , 1 4", held="E87ABC", exchange=zone).exchanges) == ["14"]


@pytest.mark.parametrize("call", ["E87ABC", "K1A", "3D2AB/P", "E8??BC", "?87ABC"])
def test_calls_and_fragments_have_the_form_of_a_call(call: str) -> None:
    assert is_call_form(tuple(call))


@pytest.mark.parametrize("text", ["034", "ABC", "E8", "8", ""])
def test_other_text_does_not_have_the_form_of_a_call(text: str) -> None:
    assert not is_call_form(tuple(text))
