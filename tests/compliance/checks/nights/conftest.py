"""A check of sites that does what a test tells it, in place of the real one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.nights import work
from compliance.checks.slices import Checked
from compliance.models import Run
from menus.models import Site
from tests.nights import complete


@dataclass
class Checks:
    """What was asked for, and what is to come of it: by the id of a site, or for all by `before`."""

    asked: list[list[int]] = field(default_factory=list)
    busy: set[int] = field(default_factory=set)
    poison: set[int] = field(default_factory=set)
    before: Callable[[], None] = lambda: None
    after: Callable[[], None] = lambda: None

    def __call__(
        self, sites: Sequence[Site], trigger: Run.Trigger, *, first_day: date | None = None, progress: Any = None
    ) -> Checked:
        """Keep complete runs of the sites that are neither busy nor fail."""
        self.asked.append([site.pk for site in sites])
        self.before()
        checked = Checked()
        for site in sites:
            if site.pk in self.busy:
                checked.busy[site] = f"{site} is being checked at this moment."
            elif site.pk in self.poison:
                checked.failed.append((self._run(site, trigger, first_day, Run.State.FAILED), ValueError("a loop")))
            else:
                checked.runs.append(complete(site, timezone.now(), trigger=trigger, first_day=first_day))
        self.after()
        return checked

    def _run(self, site: Site, trigger: Run.Trigger, first_day: date | None, state: Run.State) -> Run:
        now = timezone.now()
        day = first_day or now.astimezone(site.zone).date()
        return Run.objects.create(
            site=site, trigger=trigger, as_of=now, first_day=day, last_day=day, state=state, error="ValueError: a loop"
        )


@pytest.fixture
def checks(monkeypatch: pytest.MonkeyPatch) -> Checks:
    """In place of the real check of a slice's sites."""
    made = Checks()
    monkeypatch.setattr(work, "check_and_tell_all", made)
    return made
