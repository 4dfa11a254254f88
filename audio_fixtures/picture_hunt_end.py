"""Make hunt-end.png again, a picture of the end of a hunt.

Run with python audio_fixtures/picture_hunt_end.py. The scripted hunter has worked an hour on a
jammed band with 5 W; it takes a minute or two.
"""

from dataclasses import replace
from datetime import UTC, datetime

from browser_picture import open_page, save_picture


def main() -> None:
    """Record a hunt, open its end in a browser and take a screenshot."""
    from playwright.sync_api import expect

    from drill.core.paths import record_file
    from drill.hunt.sessions import HuntSession
    from drill.hunt.values import find_band_kind
    from drill.records.store import Store
    from tests.browser.session_steps import confirm_caution
    from tests.drill.hunt.recorded_hunt import hunt_by_script
    from tests.drill.hunt.simple_hunter import make_setup

    def hunt() -> str:
        """Record the hunt; return the path of its end."""
        setup = make_setup(minutes=60.0, watts=5.0, seed=3)
        setup = replace(setup, bands=(find_band_kind("jammed"),))
        with Store(record_file()) as store:
            confirm_caution(store)
            session = HuntSession.begin(setup, store, now=datetime.now(UTC))
            hunt_by_script(session, "first")
            session.result()
        return f"hunt-end?hunt={session.identity}"

    with open_page(1100, 1500, hunt) as page:
        expect(page.locator("#content")).to_be_visible(timeout=30_000)
        page.wait_for_timeout(500)
        save_picture(page, "hunt-end.png")


if __name__ == "__main__":
    main()
