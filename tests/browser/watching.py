"""A browser that is watched while it reads the pages."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from playwright.sync_api import Browser, ConsoleMessage, Page, Request, Response

PATIENCE_MS = 30_000


@dataclass
class Watch:
    """What the browser complained about and which other hosts it asked."""

    address: str
    faults: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    def follow(self, page: Page) -> None:
        """Write down what the page complains of from now on."""
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("request", self._request)
        page.on("response", self._response)

    def _console(self, message: ConsoleMessage) -> None:
        # the server's own probing of an address below a page's path is told by `_response`
        if message.type == "error" and "Failed to load resource" not in message.text:
            self.faults.append(message.text)

    def _request(self, request: Request) -> None:
        if not request.url.startswith((self.address, self.address.replace("http", "ws"), "data:", "blob:")):
            self.outside.append(request.url)

    def _response(self, response: Response) -> None:
        is_probe = response.url.endswith(("/_stcore/health", "/_stcore/host-config"))
        if response.status >= 400 and not is_probe:
            self.missing.append(f"{response.status} {response.url}")


@contextmanager
def watched(browser: Browser, address: str, *, width: int = 1440, scheme: str = "light") -> Iterator[Page]:
    """A page whose console errors, failed requests and requests to other hosts fail the test at its end."""
    context = browser.new_context(
        viewport={"width": width, "height": 900},
        accept_downloads=True,
        color_scheme="dark" if scheme == "dark" else "light",
    )
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    watch = Watch(address)
    watch.follow(page)
    try:
        yield page
    finally:
        context.close()
    assert watch.faults == []
    assert watch.outside == []
    assert watch.missing == []
