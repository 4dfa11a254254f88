from drill.hunt.explanation import explaining_sentences
from drill.hunt.luck import luck_sentence
from tests.drill.hunt.checked import checked
from tests.drill.hunt.hunts import hunt


def test_luck_comes_first_and_the_rules_of_the_points_last() -> None:
    result = hunt(contacts=(checked(),))
    sentences = explaining_sentences(result)
    luck = luck_sentence(result)
    assert sentences[0] == luck or not luck
    assert "an invented contest" in sentences[-1]
    assert len(set(sentences)) == len(sentences)
