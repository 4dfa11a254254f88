"""faintcall record-words in a terminal, with a file in place of the microphone."""

import os
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pexpect
import pytest

from drill.voices.wordbank.storage import create_bank
from tests.drill.devices.fake_input import play_into_microphone
from tests.drill.word_recordings import (
    CONSENT,
    RATE_HZ,
    recorded_word,
    white_noise,
    words_in_bank,
)

QUIET = white_noise(6, -70)


def start_command(microphone_file: Path) -> Any:
    return pexpect.spawn(
        sys.executable,
        ["-m", "drill", "record-words", "mine"],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "ALSA_CONFIG_PATH": str(microphone_file.with_name("asound.conf"))},
    )


@pytest.mark.slow
def test_two_words_are_recorded_and_ctrl_c_keeps_them(microphone_file: Path, home: Path) -> None:
    play_into_microphone(microphone_file, QUIET, RATE_HZ)
    child = start_command(microphone_file)
    for question, answer in (("Name: ", "Test Voice"), ("Type yes: ", "yes"), ("stay quiet", "")):
        child.expect(question)
        child.sendline(answer)
    child.expect("Background noise -7.* dB: quiet enough")
    for number, word in enumerate(("alfa", "bravo")):
        child.expect(f"Word {number + 1} of 37: {word}")
        child.expect("q: stop. ")
        sound = np.concatenate((recorded_word(number), QUIET))
        play_into_microphone(microphone_file, sound, RATE_HZ)
        child.sendline("")
        child.expect(f"Say now: {word}")
        child.expect("above the background")
        child.expect("Saved.")
    child.expect("q: stop. ")
    child.sendintr()
    child.expect("2 words saved")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert words_in_bank("mine") == {"alfa", "bravo"}


def test_no_word_is_lost_if_the_command_is_killed_while_recording(
    microphone_file: Path, home: Path
) -> None:
    play_into_microphone(microphone_file, np.concatenate((recorded_word(1), QUIET)), RATE_HZ)
    create_bank("mine", CONSENT)
    child = start_command(microphone_file)
    child.expect("stay quiet")
    child.sendline("")
    child.expect("q: stop. ")
    child.sendline("")
    child.expect("Saved.")
    child.expect("q: stop. ")
    child.sendline("")
    child.expect("Say now: bravo")
    child.kill(9)
    child.close(force=True)
    assert "alfa" in words_in_bank("mine")
