"""Make result.png again, a picture of the end of a training.

Run with python audio_fixtures/picture_result.py. A simulated trainee, who needs more SNR for 9, N
and Q than for other characters, has practised for two weeks and improved. The last item is given
up.
"""

from datetime import UTC, datetime

from browser_picture import open_page, save_picture

ITEMS = 12


def main() -> None:
    """Finish a training in a browser and take a screenshot."""
    from playwright.sync_api import expect

    from drill.core.paths import record_file
    from drill.items.plan import Plan
    from drill.records.store import Store
    from drill.session.kinds.training import Training
    from tests.browser.session_steps import confirm_caution, enter, play
    from tests.drill.simulated_trainee import START, SimulatedTrainee, record_session

    today = (datetime.now(UTC) - START).days

    def practise() -> str:
        """Fill the record with trainings, the last one unfinished; return its path."""
        session = ""
        with Store(record_file()) as store:
            confirm_caution(store)
            for number, ago in enumerate((12, 11, 9, 8, 6, 5, 4, 2, 1, 0)):
                count = 40 if ago else ITEMS
                plan = Plan(seed=number, count=count, mix="unassigned", voices=("birch", "cedar"))
                trainee = SimulatedTrainee(
                    seed=number, x50_db=-4.0 - 0.4 * number, hard={"9": 5.0, "N": 4.0, "Q": 3.0}
                )
                session = record_session(
                    store,
                    Training.from_plan(plan, store),
                    trainee,
                    day=today - ago,
                    most=count if ago else ITEMS - 1,
                )
        return f"practise?session={session}"

    with open_page(1100, 880, practise) as page:
        expect(page.locator("#answer-line")).to_be_focused(timeout=30_000)
        play(page)
        enter(page, ".")
        expect(page.locator("#verdict")).to_be_visible()
        page.wait_for_timeout(500)
        for _ in range(20):  # Enter plays the item twice more, then shows the result
            if page.locator("#result").is_visible():
                break
            page.keyboard.press("Enter")
            page.wait_for_timeout(500)
        expect(page.locator("#result-go")).to_be_focused(timeout=30_000)
        save_picture(page, "result.png")


if __name__ == "__main__":
    main()
