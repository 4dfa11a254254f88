"""Which addresses a browser requests."""

from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, Request


def record_requests(context: BrowserContext) -> list[str]:
    """Return a list to which every URL is added that the browser requests from now on."""
    urls: list[str] = []

    def add(request: Request) -> None:
        urls.append(request.url)

    context.on("request", add)
    return urls


def foreign_urls(urls: list[str], site: str) -> list[str]:
    """Return the URLs that are neither the server's nor part of a page itself (data:, blob:)."""
    own = urlsplit(site)
    return [
        url
        for url in urls
        if (parts := urlsplit(url)).scheme not in ("data", "blob")
        and (parts.scheme, parts.netloc) != (own.scheme, own.netloc)
    ]
