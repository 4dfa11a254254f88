"""The manual: one Markdown page per topic, for `faintcall help`, the page and readers online."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drill.core.errors import UserError

TOPICS = (
    "start",
    "contact",
    "hunt",
    "copy",
    "exchanges",
    "snr",
    "conditions",
    "measure",
    "sending",
    "recogniser",
    "voices",
    "record",
    "sets",
    "access",
    "cautions",
)
"""The topics in reading order; each is a file of that name."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ManualPage:
    """One page of the manual. text: Markdown, beginning with the title."""

    topic: str
    text: str

    @property
    def title(self) -> str:
        """The heading of the page."""
        return self.text.partition("\n")[0].removeprefix("# ")


@cache
def manual_page(topic: str) -> ManualPage:
    """Return the page on a topic. Raises: UserError for a topic that is not in TOPICS."""
    if topic not in TOPICS:
        raise UserError(f"Unknown topic {topic!r:.40}. Choose one of {', '.join(TOPICS)}.")
    text = (files("drill.manual") / f"{topic}.md").read_text("utf-8")
    return ManualPage(topic=topic, text=text)


def manual_pages() -> tuple[ManualPage, ...]:
    """Return all pages in reading order."""
    return tuple(manual_page(topic) for topic in TOPICS)
