"""Make the reference renders of this folder again: python audio_fixtures/remake.py

Each is the first item of a plan; the line of its manifest is kept beside it.
"""

import json
import tempfile
from pathlib import Path

from drill.core.conditions import Conditions
from drill.items.plan import Plan
from drill.itemsets.write import write_item_set
from drill.radio.presets import load_preset, parse_fading

FOLDER = Path(__file__).parent
PLANS = {
    "call-clean-formant": Plan(
        seed=11,
        count=1,
        mix="unassigned",
        conditions=Conditions(snr_db=None),
        voices=("tin",),
    ),
    "call-0db-formant": Plan(seed=12, count=1, mix="unassigned", voices=("reed",)),
    "over-minus3db-fading-formant": Plan(
        seed=13,
        count=1,
        mix="unassigned",
        part="over",
        exchange="zone-itu",
        conditions=Conditions(snr_db=-3.0, fading=parse_fading("mid-moderate")),
        voices=("rivet",),
    ),
    "call-clean-natural": Plan(
        seed=14,
        count=1,
        mix="unassigned",
        conditions=Conditions(snr_db=None),
        voices=("meadow",),
    ),
    "over-3db-flutter-natural": Plan(
        seed=15,
        count=1,
        mix="unassigned",
        part="over",
        exchange="serial",
        conditions=Conditions(snr_db=3.0, fading=parse_fading("high-moderate")),
        voices=("boulder",),
    ),
    "over-busy-weekend": Plan(
        seed=16,
        count=1,
        mix="unassigned",
        part="over",
        conditions=load_preset("busy-weekend").conditions,
        voices=("tin", "wren", "rivet"),
    ),
}


def main() -> None:
    """Render every plan and move its sound and its line here."""
    lines = []
    for name, plan in PLANS.items():
        with tempfile.TemporaryDirectory() as folder:
            for _ in write_item_set(plan, Path(folder), workers=1):
                pass
            row = json.loads((Path(folder) / "manifest.jsonl").read_text("utf-8"))
            sound = (Path(folder) / row["file"]).read_bytes()
        row["file"] = f"{name}.flac"
        (FOLDER / row["file"]).write_bytes(sound)
        lines.append(json.dumps(row))
        print(f"{row['file']}: {row['truth']}, {row['seconds']:.1f} s")
    (FOLDER / "manifest.jsonl").write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main()
