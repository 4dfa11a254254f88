"""Manual pages as HTML fragments for the web page's Help."""

import re
from functools import cache

from markdown_it import MarkdownIt

from drill.manual import manual_page

_ADDRESS = re.compile(r'href="([\w-]+)\.md"')


@cache
def manual_html(topic: str) -> str:
    """Return a manual page as HTML, its title as h1. Raises: UserError for an unknown topic.

    Links between pages lead to /help/TOPIC. Pictures are left out, because they are in the checkout
    but not in the installed package. HTML inside the Markdown is escaped.
    """
    text = manual_page(topic).text
    text = re.sub(r"<!--.*?-->\n?", "", text)
    text = re.sub(r"^!\[.*?\]\(.*?\)\n+", "", text, flags=re.MULTILINE)
    html: str = MarkdownIt("commonmark", {"html": False}).enable("table").render(text)
    return _ADDRESS.sub(r'href="/help/\1"', html)
