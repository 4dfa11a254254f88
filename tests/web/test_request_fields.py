"""Request bodies as checked values."""

import pytest

from drill.core.errors import UserError
from drill.web.request_fields import json_object, session_options, short_list, short_text


@pytest.mark.parametrize("body", [b"", b"[]", b"3", b"null", b"{", b'{"a": NaN}', b"\xff"])
def test_body_that_is_not_a_json_object_is_refused(body: bytes) -> None:
    with pytest.raises(UserError):
        json_object(body)


def test_half_of_a_surrogate_pair_is_refused() -> None:
    with pytest.raises(UserError, match="invalid Unicode"):
        json_object(b'{"call": "\\ud800"}')


def test_texts_and_lists_have_a_maximum_length() -> None:
    assert short_text("mix", "x" * 500) == "x" * 500
    with pytest.raises(UserError, match="501 characters"):
        short_text("mix", "x" * 501)
    assert short_list("voices", ["a"] * 100) == ("a",) * 100
    with pytest.raises(UserError, match="101 entries"):
        short_list("voices", ["a"] * 101)


def test_null_for_the_snr_means_no_noise_unless_the_kind_sets_the_snr() -> None:
    assert session_options({"snr_db": None}).no_noise
    assert not session_options({"snr_db": None}, null_is_noiseless=False).no_noise
    assert not session_options({"snr_db": None, "watts": 5}).no_noise
    assert not session_options({}).no_noise


def test_null_counts_as_left_out() -> None:
    assert session_options({"part": None, "count": 3}).part == "call"
