"""faintcall help: the pages of the manual in the terminal."""

import argparse
import re

from drill.manual import manual_page, manual_pages

EXAMPLES = """examples:
  faintcall help
  faintcall help snr
"""


def add(command: argparse.ArgumentParser) -> None:
    """Add the options of `faintcall help`."""
    command.description = "Show a page of the manual, or list the topics."
    command.epilog = EXAMPLES
    command.add_argument("topic", nargs="?", metavar="TOPIC", help="a topic of the list")


def run(options: argparse.Namespace) -> int:
    """Print a page or the list of topics. Raises: UserError for an unknown topic."""
    if options.topic is not None:
        print(_plain(manual_page(options.topic).text), end="")
        return 0
    print("Topics of the manual; `faintcall help TOPIC` shows one:")
    for page in manual_pages():
        print(f"  {page.topic:12}{page.title}")
    return 0


def _plain(markdown: str) -> str:
    """Return Markdown without what a terminal cannot show: comments, pictures, link targets."""
    text = re.sub(r"<!--.*?-->\n?", "", markdown)
    text = re.sub(r"^!\[.*?\]\(.*?\)\n+", "", text, flags=re.MULTILINE)
    return re.sub(r"\[(.*?)\]\(.*?\)", r"\1", text)
