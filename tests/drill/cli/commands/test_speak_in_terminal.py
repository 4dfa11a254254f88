"""faintcall speak in a real terminal, with a file as the microphone."""

import os
import sys
from pathlib import Path

import pytest

from drill.core.paths import record_file
from drill.records.store import Store
from tests.drill.cli.speaking import RATE_HZ, SPEAK_COMMAND, spoken_take
from tests.drill.devices.fake_input import play_into_microphone


@pytest.mark.slow
@pytest.mark.usefixtures("home")
def test_a_session_in_a_terminal(microphone_file: Path, tmp_path: Path) -> None:
    import pexpect

    play_into_microphone(microphone_file, spoken_take("wrong word"), RATE_HZ)
    child = pexpect.spawn(
        sys.executable,
        ["-m", "drill", *SPEAK_COMMAND, "--audio-to", str(tmp_path / "far")],
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "ALSA_CONFIG_PATH": str(microphone_file.with_name("asound.conf"))},
    )
    child.expect("To be sent: E87ABC")
    child.expect("s: stop. ")
    assert "Recording." not in child.before
    child.sendline("")
    for line in ("Recording. Keep still.", "Say it now.", "Recorded, ", "Fault: You said"):
        child.expect(line)
    child.expect("a: again. s: stop. ")
    play_into_microphone(microphone_file, spoken_take(), RATE_HZ)
    child.sendline("a")
    child.expect("Everything was said correctly.")
    child.expect("Compared with your first try: gone: wrong")
    child.expect("5 W, SNR -3.0 dB: you")
    child.expect("s: stop. ")
    child.sendline("s")
    child.expect("2 takes reviewed")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    names = {path.name for path in (tmp_path / "far").iterdir()}
    assert {"call-4-1-take-5w.wav", "call-4-2-take-100w.wav", "call-4-2-meadow-5w.wav"} <= names
    with Store(record_file()) as store:
        assert len(store.takes()) == 2
