"""faintcall people: compares the people who have a record on this computer."""

import argparse
from pathlib import Path

from drill.cli.tables import print_table
from drill.cli.wrapping import print_text
from drill.core.errors import UserError
from drill.itemsets.read import read_item_set
from drill.session.people import remove_person, score_set, summarise_people
from drill.session.people_wording import people_table, set_table

_EPILOG = """examples:
  faintcall --person Anna copy                 practise with a record of Anna's own
  faintcall --person Anna import anna.jsonl    add what Anna exported on her own computer
  faintcall people                             everybody's answers and last measurement
  faintcall people --set club-evening          what everybody copied of a rendered set
  faintcall people --remove Anna               delete Anna's record
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall people`."""
    command.description = (
        "Compare the people who have a record on this computer. `faintcall --person NAME` before "
        "any command uses that person's own record."
    )
    command.epilog = _EPILOG
    command.add_argument(
        "--set", type=Path, metavar="DIR", help="compare what everybody copied of this rendered set"
    )
    command.add_argument(
        "--remove", metavar="NAME", help="delete this person's record after you confirm it"
    )


def run(options: argparse.Namespace) -> int:
    """Print the table, or remove a person. Raises: UserError, EOFError."""
    if options.remove is not None:
        return _remove(options.remove)
    if options.set is not None:
        scores = score_set(read_item_set(options.set).plan.to_dict())
        if scores:
            print_table(set_table(scores))
        else:
            print_text(
                "Nobody has answered items of this set yet. Start with: faintcall copy --set DIR"
            )
        return 0
    people = summarise_people()
    if people:
        print_table(people_table(people))
    else:
        print_text("Nobody has a record yet. Start with: faintcall --person NAME copy")
    return 0


def _remove(name: str) -> int:
    answer = input(f"This deletes everything that {name} has answered. Type the name to confirm: ")
    if answer.strip() != name.strip():
        raise UserError("the name was not typed, so nothing was deleted")
    remove_person(name)
    print_text(f"The record of {name} is deleted.")
    return 0
