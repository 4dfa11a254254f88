"""A log of 900 invented contacts and the mix learned from it."""

import pytest

from drill.callmix.learn import calls_in_text, learn_mix
from drill.callmix.mix import LearnedMix
from tests.drill.callmix.invented_logs import cabrillo_text, invented_calls


@pytest.fixture(scope="session")
def worked() -> list[str]:
    return invented_calls(900)


@pytest.fixture(scope="session")
def mix(worked: list[str]) -> LearnedMix:
    return learn_mix("mine", worked, calls_in_text(cabrillo_text(worked)))
