"""What one is told of a night: all of it, or the own sites alone."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.models import Night, NightSlice, Run
from compliance.operations.nights import Fate, NightPart, night_parts, nights_within
from compliance.operations.scope import Scope
from menus.models import Site
from roster.models import Role
from roster.permits import Act, Permit, Thing
from tests.cast import Cast
from tests.compliance.operations.rows import failed_run, night_of, night_under_way, run_of, slice_of
from tests.factories import PostFactory, SiteFactory, UserFactory
from tests.web.pages import queries

pytestmark = pytest.mark.django_db


def of(*sites: Site) -> Scope:
    """What an administrator of these sites is told of."""
    return Scope({site.pk: site for site in sites}, is_all=False)


def seen(scope: Scope) -> list[NightPart]:
    now = timezone.now()
    return night_parts(nights_within(scope, now), scope, now)


def test_a_night_that_went_well() -> None:
    """Every site checked, in as many slices as it took."""
    night_of([SiteFactory.create() for _ in range(5)], size=2)
    (part,) = seen(Scope.everything())
    assert part.sites == {Fate.CHECKED: 5} and part.states == {NightSlice.State.DONE: 3}
    assert (part.total, part.ended, part.left, part.state) == (5, 5, None, Night.State.COMPLETE)


def test_a_night_under_way_says_how_long_it_will_go_on() -> None:
    """One of four sites took a minute, so three more minutes; for everybody the pace is that of the whole night."""
    first, second, third, fourth = (SiteFactory.create() for _ in range(4))
    night_under_way([first], [second], [third, fourth])
    (part,) = seen(Scope.everything())
    assert part.sites == {Fate.CHECKED: 1, Fate.RUNNING: 1, Fate.WAITING: 2}
    assert part.left is not None and abs(part.left - timedelta(minutes=3)) < timedelta(seconds=10)
    (own,) = seen(of(fourth))
    assert own.sites == {Fate.WAITING: 1} and own.is_under_way
    assert own.left is not None and abs(own.left - part.left) < timedelta(seconds=10)


def test_nothing_done_yet_is_too_early_to_say() -> None:
    night_under_way([], [SiteFactory.create()], [])
    (part,) = seen(Scope.everything())
    assert part.left is None


def test_other_sites_are_not_told_of() -> None:
    """Neither their slices nor their number; a night without a site of one's own is none."""
    mine, theirs, further = (SiteFactory.create() for _ in range(3))
    both = night_of([mine, theirs], size=1)
    night_of([theirs, further], due_at=timezone.now())
    (part,) = seen(of(mine))
    assert part.night == both and part.total == 1 and len(part.slices) == 1
    assert {site for each in part.slices for site in each.fates} == {mine.pk}
    assert len(seen(Scope.everything())) == 2


def test_a_failed_night_of_others_is_complete_for_me() -> None:
    """How others fared is not mine to see."""
    mine, theirs = SiteFactory.create(), SiteFactory.create()
    night = night_of([mine], state=Night.State.PARTIAL)
    slice_of(night, 2, [theirs.pk], state=NightSlice.State.FAILED, counts={}, error="gone")
    assert seen(of(mine))[0].state == Night.State.COMPLETE
    assert seen(Scope.everything())[0].state == Night.State.PARTIAL


def test_sites_of_one_slice_that_fared_differently_are_told_apart() -> None:
    """By their runs since it was due: one checked, one checked after a change, one failed, one busy."""
    good, changed, bad, busy = (SiteFactory.create() for _ in range(4))
    night = night_of([], state=Night.State.PARTIAL)
    counts = {"checked": 2, "busy": 1, "failed": 1}
    slice_of(night, 1, [good.pk, changed.pk, bad.pk, busy.pk], counts=counts)
    within = night.started_at + timedelta(seconds=30)
    run_of(good, within)
    failed_run(bad, within)
    run_of(changed, within, trigger=Run.Trigger.CHANGE)
    run_of(bad, night.started_at - timedelta(days=1))
    run_of(bad, timezone.now())
    (part,) = seen(Scope.everything())
    met = {good.pk: Fate.CHECKED, changed.pk: Fate.CHECKED, bad.pk: Fate.FAILED, busy.pk: Fate.BUSY}
    assert part.slices[0].fates == met
    assert part.ended == part.total == 4 and part.state == Night.State.PARTIAL


def test_sites_of_a_slice_that_failed_as_a_whole_failed() -> None:
    """Unless a run of that night says otherwise: an earlier try may have come so far."""
    good, lost = SiteFactory.create(), SiteFactory.create()
    night = night_of([], state=Night.State.PARTIAL)
    slice_of(night, 1, [good.pk, lost.pk], state=NightSlice.State.FAILED, counts={})
    run_of(good, night.started_at + timedelta(seconds=1))
    (part,) = seen(Scope.everything())
    assert part.slices[0].fates == {good.pk: Fate.CHECKED, lost.pk: Fate.FAILED}


def test_nights_come_newest_first_and_older_than_a_month_only_for_who_sees_all() -> None:
    site, now = SiteFactory.create(), timezone.now()
    old, last, new = (night_of([site], begun=now - timedelta(days=days)) for days in (40, 2, 1))
    assert nights_within(Scope.everything(), now) == [new.pk, last.pk, old.pk]
    assert nights_within(of(site), now) == [new.pk, last.pk]


def test_whose_sites_one_is_told_of(cast: Cast) -> None:
    """An administrator of all sites, of one, and somebody who is none."""
    read = Permit(Thing.NIGHT, Act.READ)
    ansel = UserFactory.create(username="ansel")
    PostFactory.create(user=ansel, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    assert Scope.of(cast.june, read) == Scope({s.pk: s for s in (cast.ferrowick, cast.tansy_gate)}, is_all=True)
    assert Scope.of(ansel, read) == of(cast.tansy_gate)
    assert Scope.of(cast.hakim, read).sites == {}


def test_queries_do_not_grow(django_assert_num_queries: Any) -> None:
    """With nights, slices or sites that fared differently."""
    sites = [SiteFactory.create() for _ in range(6)]
    scope = of(*sites)

    def fill(day: int) -> None:
        night = night_of(sites[:3], size=1, begun=timezone.now() - timedelta(days=day), state=Night.State.PARTIAL)
        slice_of(night, 9, [site.pk for site in sites[3:]], counts={"checked": 0, "busy": 0, "failed": 3})

    fill(1)
    few = queries(lambda: seen(scope))
    for day in range(2, 8):
        fill(day)
    # nights, whose; the nights, their slices, the runs of sites that fared differently
    assert queries(lambda: seen(scope)) == few == 5
