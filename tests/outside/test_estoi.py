"""Rendered items judged by an independent index of intelligibility: ESTOI, from pystoi.

Source: J. Jensen, C. Taal, An algorithm for predicting the intelligibility of speech masked by
modulated noise maskers, IEEE/ACM Trans. Audio, Speech, Lang. Process. 24 (2016). What a trainee
would hear is compared with the same over without noise and fading.
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

PLAN = Plan(seed=31, count=6, part="over", mix="unassigned", voices=("tin", "wren"))
ITEMS = [compose_item(PLAN, number) for number in range(PLAN.count)]
SNRS_DB = (-9.0, -3.0, 3.0, 9.0, 15.0)


def estoi(item: Item, conditions: Conditions) -> float:
    received = render(replace(item, conditions=conditions))
    clean = render_clean(item)
    return float(stoi(clean.samples, received.samples, received.rate_hz, extended=True))


@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.message.call)
def test_intelligibility_rises_with_the_snr_at_constant_gain(item: Item) -> None:
    receiver = Receiver(agc="off")
    values = [estoi(item, Conditions(snr_db=snr_db, receiver=receiver)) for snr_db in SNRS_DB]
    assert np.all(np.diff(values) > 0.02)


@pytest.mark.slow
def test_intelligibility_rises_with_the_snr_with_agc() -> None:
    means = [
        np.mean([estoi(item, Conditions(snr_db=snr_db)) for item in ITEMS]) for snr_db in SNRS_DB
    ]
    assert np.all(np.diff(means) > 0.02)


@pytest.mark.slow
def test_intelligibility_falls_as_the_path_is_disturbed() -> None:
    """Means over items, because a slow fade can favour a single one."""
    names = ("steady", "mid-disturbed", "low-disturbed", "high-disturbed")
    means = [
        np.mean([estoi(item, Conditions(snr_db=None, fading=parse_fading(name))) for item in ITEMS])
        for name in names
    ]
    assert np.all(np.diff(means) < -0.01)
