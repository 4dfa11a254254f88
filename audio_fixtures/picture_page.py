"""Make page.png again, a picture of the practice page: python audio_fixtures/picture_page.py

Answers two items, the second with one wrong character.
"""

from browser_picture import open_page, save_picture


def main() -> None:
    """Answer two items of a session in a browser and take a screenshot."""
    from playwright.sync_api import expect

    from drill.items.plan import Plan, compose_item
    from drill.session.kinds.practice import Practice
    from tests.browser.session_steps import begin_in_record, enter, play
    from tests.web.client import correct_answer

    plan = Plan(seed=24, count=10, mix="unassigned", part="over", voices=("tin", "wren"))

    def begin() -> str:
        return f"practise?session={begin_in_record(Practice(plan=plan))}"

    first, second = (correct_answer(compose_item(plan, number)) for number in (0, 1))
    with open_page(1100, 860, begin) as page:
        expect(page.locator("#answer-line")).to_be_focused(timeout=30_000)
        for number, text in enumerate((first, second[:3] + "?" + second[4:])):
            play(page, number + 1)
            enter(page, text)
            expect(page.locator("#heard .strip")).to_be_visible()
        save_picture(page, "page.png")


if __name__ == "__main__":
    main()
