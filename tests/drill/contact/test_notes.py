import pytest

from drill.contact.notes import LogEntry, log_entry, looks_like_call


@pytest.mark.parametrize(
    "text", ["E87ABC", "OH2Q?K", "K1A", "DL/E87ABC", "E87ABC/P", "Z1ABC", "?87?B"]
)
def test_calls_are_recognised_by_their_form(text: str) -> None:
    assert looks_like_call(text)


@pytest.mark.parametrize("text", ["59", "034", "JO31", "ABC", "?", "5?", "K", "1K"])
def test_other_entries_are_not_calls(text: str) -> None:
    assert not looks_like_call(text)


def test_later_notes_replace_earlier_ones() -> None:
    notes = ["oh2q?k", "59 21?", "oh2qrk", "59 212"]
    assert log_entry(notes) == LogEntry(call="OH2QRK", exchange="59 212")


def test_call_and_exchange_in_one_line() -> None:
    assert log_entry(["OH2QRK, 59 JO31"]) == LogEntry(call="OH2QRK", exchange="59 JO31")
    assert not log_entry(["OH2Q?K 59 212"]).is_complete
    assert log_entry([]) == LogEntry()
