"""The package of voices loads nothing heavy before a voice speaks."""

import subprocess
import sys


def test_the_door_is_light() -> None:
    code = (
        "import sys, drill.voices as v; v.names(); "
        "print(sorted({'numpy', 'onnx', 'hibari', 'pyttsx3', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
