"""Make contact.png again, a picture of a contact: python audio_fixtures/picture_contact.py

Calls a station, notes what it answers, and types the letter of the exchange.
"""

from dataclasses import replace

from browser_picture import open_page, save_picture


def main() -> None:
    """Play half a contact in a browser and take a screenshot."""
    from playwright.sync_api import expect

    from tests.browser.contact_steps import (
        OPTIONS,
        SPEECH_LOG,
        begin_contacts,
        listen,
        send,
        sounds_ended,
    )
    from tests.browser.session_steps import enter

    def begin() -> str:
        return f"contact?session={begin_contacts(replace(OPTIONS, count=10))}"

    with open_page(1100, 640, begin) as page:
        page.evaluate(SPEECH_LOG)
        expect(page.locator("#line")).to_be_focused()
        expect(page.locator("#go-text")).to_have_text("Listen")
        listen(page)
        enter(page, "x61ccw")
        send(page, "m")
        sounds_ended(page, 2)
        enter(page, "59 010")
        expect(page.locator("#will")).to_contain_text("59 010")
        page.keyboard.type("x")
        save_picture(page, "contact.png")


if __name__ == "__main__":
    main()
