"""An independent intelligibility index judges rendered items: pystoi's ESTOI.

Source: J. Jensen, C. Taal, An algorithm for predicting the intelligibility of speech masked by
modulated noise maskers, IEEE/ACM Trans. Audio, Speech, Lang. Process. 24 (2016). What a trainee
would hear is compared with the same over clean.
"""

from dataclasses import replace

import numpy as np
import pytest
from pystoi import stoi

from drill.core.conditions import Conditions, Receiver
from drill.core.models import Item
from drill.items.plan import Plan, compose_item
from drill.items.render import render, render_clean
from drill.radio.presets import parse_fading

ITEMS = [
    compose_item(Plan(seed=31, count=6, part="over", mix="unassigned", voices=("tin", "wren")), number)
    for number in range(6)
]
SNRS = (-9.0, -3.0, 3.0, 9.0, 15.0)


def index(item: Item, conditions: Conditions) -> float:
    heard = render(replace(item, conditions=conditions))
    clean = render_clean(item)
    return float(stoi(clean.samples, heard.samples, heard.rate_hz, extended=True))


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.message.call)
def test_it_rises_with_the_snr(item: Item) -> None:
    steady = [index(item, Conditions(snr_db=snr, receiver=Receiver(agc="off"))) for snr in SNRS]
    assert np.all(np.diff(steady) > 0.02)


def test_it_rises_with_agc_too() -> None:
    means = [np.mean([index(item, Conditions(snr_db=snr)) for item in ITEMS]) for snr in SNRS]
    assert np.all(np.diff(means) > 0.02)


def test_it_falls_as_the_path_is_disturbed() -> None:
    """Mean over items: single ones may be lucky with a slow fade."""
    names = ("steady", "mid-disturbed", "low-disturbed", "high-disturbed")
    means = [
        np.mean([index(item, Conditions(snr_db=None, fading=parse_fading(name))) for item in ITEMS])
        for name in names
    ]
    assert np.all(np.diff(means) < -0.01)
