"""The sentences below the result of a hunt: luck, the figures that explain it, and the points."""

from drill.hunt.luck import luck_sentence
from drill.hunt.points import load_rules
from drill.hunt.results import HuntResult
from drill.hunt.wording import figures_sentences, points_sentence


def explaining_sentences(result: HuntResult) -> tuple[str, ...]:
    """Return the sentences, the most important first."""
    luck = luck_sentence(result)
    points = points_sentence(result, load_rules())
    return (*((luck,) if luck else ()), *figures_sentences(result), points)
