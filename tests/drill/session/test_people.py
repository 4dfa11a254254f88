"""Several people on one computer: records apart, compared, and removable."""

from pathlib import Path

import pytest

from drill.core.errors import UserError
from drill.core.paths import checked_person, people_folder, record_file, record_of
from drill.items.plan import Plan
from drill.psychometrics.grid import Prior
from drill.psychometrics.placement import Placement
from drill.records.store import Store
from drill.session.kinds.measurement import Measurement
from drill.session.kinds.practice import Practice
from drill.session.people import people_names, remove_person, score_set, summarise_people
from tests.drill.simulated_trainee import SimulatedTrainee, record_session

pytestmark = pytest.mark.usefixtures("home")
PLAN = Plan(seed=3, count=20, mix="unassigned", voices=("birch",))


def practise(person: str, x50_db: float, *, day: int = 0) -> None:
    record_of(person).parent.mkdir(parents=True, exist_ok=True)
    with Store(record_of(person)) as store:
        record_session(store, Practice(plan=PLAN), SimulatedTrainee(x50_db=x50_db), day=day)


def test_the_variable_chooses_the_record(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert record_file() == home / "data" / "record.sqlite3"
    monkeypatch.setenv("FAINTCALL_PERSON", "Anna Lee")
    assert record_file() == home / "data" / "people" / "Anna Lee" / "record.sqlite3"


@pytest.mark.parametrize("name", ["", " ", "..", "a/b", "a\\b", ".hidden", "x" * 41, "a\nb", "-"])
def test_a_name_that_cannot_be_a_folder_is_refused(name: str) -> None:
    with pytest.raises(UserError, match="name") as caught:
        checked_person(name)
    assert caught.value.field == "person"


def test_everybody_is_summarised() -> None:
    assert summarise_people() == ()
    practise("", -12.0)
    practise("Bo", -12.0, day=2)
    practise("anna", 6.0)
    with Store(record_of("Bo")) as store:
        kind = Measurement(
            plan=Plan(seed=4, count=24, mix="unassigned", voices=("birch",)),
            placement=Placement(seed=4, prior=Prior()),
        )
        record_session(store, kind, SimulatedTrainee(), day=1)
    assert people_names() == ("anna", "Bo")
    nobody, anna, bo = summarise_people()
    assert [nobody.name, anna.name, bo.name] == ["", "anna", "Bo"]
    assert (nobody.answered, anna.answered, bo.answered) == (20, 20, 44)
    assert nobody.right_at_first_hearing > anna.right_at_first_hearing
    assert anna.x50_db is None
    assert bo.x50_db is not None and bo.newest is not None
    assert bo.newest.day == 3


def test_a_damaged_record_is_named_and_the_others_are_shown() -> None:
    practise("anna", 0.0)
    (people_folder() / "bo").mkdir()
    (people_folder() / "bo" / "record.sqlite3").write_bytes(b"no database" * 100)
    anna, bo = summarise_people()
    assert anna.answered == 20
    assert bo.problem
    assert [score.name for score in score_set(PLAN.to_dict())] == ["anna"]


def test_a_set_ranks_the_first_try_of_everybody() -> None:
    practise("anna", 2.0)
    practise("anna", -20.0, day=1)
    practise("bo", -12.0)
    first, second = score_set(PLAN.to_dict())
    assert (first.name, second.name) == ("bo", "anna")
    assert first.right > second.right
    assert first.characters_sent == second.characters_sent
    assert score_set(Plan(seed=4, count=20).to_dict()) == ()


def test_a_person_can_be_removed() -> None:
    practise("anna", 0.0)
    practise("", 0.0)
    remove_person("anna")
    assert people_names() == ()
    assert record_of("").is_file()
    with pytest.raises(UserError, match="no record of a person called 'anna'"):
        remove_person("anna")
