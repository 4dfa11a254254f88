"""Learning a mix from a log file: the saved mix and its summary."""

from pathlib import Path

import pytest

from drill.callmix.from_log import learn_from_log, summary_sentences
from drill.callmix.storage import find_learned_mix
from drill.core.errors import UserError
from tests.drill.callmix.invented_logs import cabrillo_text, invented_calls


def test_the_mix_is_saved_and_summarised_without_a_call(tmp_path: Path, home: Path) -> None:
    worked = invented_calls(300)
    log = tmp_path / "own.log"
    log.write_text(cabrillo_text(worked))
    summary = learn_from_log(log, "mine", overwrite=False)
    assert find_learned_mix("mine") == summary.mix
    assert summary.contacts == 300
    sentences = summary_sentences(summary)
    assert sentences[0].startswith("300 contacts. Mix mine: ")
    assert "serial" in sentences[1]
    assert not any(call in sentence for call in worked for sentence in sentences)
    with pytest.raises(UserError, match="already exists") as caught:
        learn_from_log(log, "mine", overwrite=False)
    assert caught.value.kind == "exists"
    assert learn_from_log(log, "mine", overwrite=True).contacts == 300
