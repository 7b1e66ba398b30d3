"""Chromium for browser tests: where it is, how it starts, and a window on the service."""

from __future__ import annotations

import shutil

from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, ConsoleMessage, ViewportSize

from roster.models import User

MISSING = "no Chromium on this machine. Install the package chromium (Debian, Ubuntu: apt-get install chromium)."
ARGUMENTS = [
    "--no-sandbox",
    "--headless=new",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE = 30_000
"""Milliseconds that a window waits for what must come: a busy machine is no fault of a page."""
PHONE: ViewportSize = {"width": 390, "height": 844}
DESK: ViewportSize = {"width": 1280, "height": 900}


def executable() -> str | None:
    """Return where Chromium is, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Live:
    """A browser window on the running service. `page` is Playwright's; addresses may be given from the first slash."""

    def __init__(self, browser: Browser, url: str, *, scripts: bool = True, any_script: bool = False) -> None:
        self.url = url
        self.complaints: list[str] = []
        self.context = browser.new_context(
            base_url=url,
            viewport=PHONE,
            java_script_enabled=scripts,
            bypass_csp=any_script,  # lets a test add a script of its own, which the pages' policy forbids
        )
        self.context.set_default_timeout(PATIENCE)
        self.page = self.context.new_page()
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def sign_in(self, user: User) -> None:
        """Be that person, without the sign-in page."""
        client = Client()
        client.force_login(user)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        self.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": self.url}])

    def seen(self) -> str:
        """Say what stands in the window: its address, its words, and what the browser complained of."""
        return "\n".join([self.page.url, self.page.locator("body").inner_text(), *self.complaints])

    def close(self) -> None:
        """Shut the window; fails when the page broke a script or the content policy."""
        self.context.close()
        assert not self.complaints, self.complaints

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.complaints.append(message.text)
