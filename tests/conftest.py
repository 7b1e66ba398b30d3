"""What every test stands on: the cast, quick passwords, and Chromium for the browser tests."""

from __future__ import annotations

import gc
import os
from collections.abc import Generator, Iterator

import hypothesis
import pytest
from django.conf import settings
from django.core.cache import cache
from playwright.sync_api import Browser, Error, expect, sync_playwright

from compliance.config import env
from menus.ocr import reader
from tests.cast import cast
from tests.chromium import ARGUMENTS, MISSING, PATIENCE, Live, executable

__all__ = ["cast"]


def pytest_configure() -> None:
    """Hash passwords fast, keep photos in memory, and let no busy machine fail a test."""
    hypothesis.settings.register_profile("unhurried", deadline=None)
    hypothesis.settings.load_profile("unhurried")
    reader.PATIENCE = 600
    expect.set_options(timeout=PATIENCE)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.SECOND_FACTOR_ROLES = []  # tests of accounts turn it on
    settings.ACCOUNT_RATE_LIMITS = {"login": None, "login_failed": None}
    settings.MFA_RATE_LIMITS = {"webauthn_login": None}
    settings.STORAGES = settings.STORAGES | {"default": {"BACKEND": "django.core.files.storage.InMemoryStorage"}}


@pytest.fixture(autouse=True)
def _no_count_left_over() -> None:
    """Requests are counted by the person's id, which the next test gives to somebody else."""
    cache.clear()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the browser tests out where there is no Chromium, except under CI, where nothing is left out."""
    if executable() or env.flag("CI", default=False):
        return
    browser = [item for item in items if item.get_closest_marker("browser")]
    items[:] = [item for item in items if not item.get_closest_marker("browser")]
    config.hook.pytest_deselected(items=browser)
    config.stash[LEFT_OUT] = len(browser)


def pytest_collection_finish() -> None:
    """Keep what was loaded so far from the garbage collector: with ten thousand tests, to go through it takes long."""
    gc.collect()
    gc.freeze()


LEFT_OUT = pytest.StashKey[int]()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say what was left out."""
    if left_out := config.stash.get(LEFT_OUT, 0):
        terminalreporter.write_line(f"{left_out} browser tests left out: {MISSING}", yellow=True)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Lay beside the failure of a browser test what stood in its windows."""
    report = yield
    if report.when == "call" and report.failed:
        windows = [each for each in getattr(item, "funcargs", {}).values() if isinstance(each, Live)]
        report.sections.extend(("In the window", _seen(each)) for each in windows)
    return report


def _seen(window: Live) -> str:
    try:
        return window.seen()
    except Error as gone:  # the window may be what failed
        return f"The window does not answer: {gone}"


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One headless Chromium for all browser tests."""
    path = executable()
    assert path, MISSING
    # Playwright keeps an event loop running in this thread, which Django would otherwise take for async code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def live(chromium: Browser, live_server) -> Iterator[Live]:
    """The service on a port of this machine, and an empty browser window on it, as wide as a phone."""
    window = Live(chromium, live_server.url)
    yield window
    window.close()
