"""The page of meals by child, worked out in a browser: it holds to the guidelines, and fits a phone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from compliance.checks.wholemeals.job import work
from tests.browser.test_access import faults
from tests.cast import assemble
from tests.chromium import Live
from tests.ownlunch import checked, day_of_it, on_hand, set_the_table

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def window(chromium: Browser, live_server) -> Iterator[Live]:
    """A window on the service into which the tester may put a script."""
    window = Live(chromium, live_server.url, any_script=True)
    yield window
    window.context.close()


def test_the_meals_are_worked_out_and_the_page_holds_to_the_guidelines(window: Live) -> None:
    cast = assemble()
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    window.sign_in(cast.greta)
    window.page.goto(f"/kitchen/meals/?site=ferrowick&day={day_of_it().isoformat()}")
    window.page.get_by_role("button", name="Work out meals").click()
    window.page.get_by_text("Mateo E.").wait_for()
    assert window.page.get_by_role("heading", name="To prepare beside the menu").is_visible()
    assert faults(window.page) == []


def test_weeks_are_asked_for_and_the_page_follows_them_to_their_end(
    window: Live, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The queue is ours here: it begins when we say so, and the page shows the end without being loaded again."""
    given: list[int] = []
    monkeypatch.setattr("compliance.tasks.work_out_meals.delay", given.append)
    cast = assemble()
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    window.sign_in(cast.greta)
    window.page.goto(f"/kitchen/meals/?site=ferrowick&day={day_of_it().isoformat()}")
    window.page.get_by_label("Work out").select_option("4")
    window.page.get_by_role("button", name="Work out meals").click()
    window.page.get_by_text("Waiting to begin").wait_for()
    assert faults(window.page) == []
    [job] = given
    work(job)
    window.page.get_by_role("heading", name="Portions over all the weeks").wait_for()
    assert faults(window.page) == []
