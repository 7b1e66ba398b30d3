"""Changes that no check has read, read: only what they bear on is checked again, for all sites at once."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils import timezone

from compliance.checks.digest import tell_of
from compliance.checks.foodstands import Changed
from compliance.checks.incremental import check_food
from compliance.checks.moment import moment
from compliance.checks.night import check_and_tell_all
from compliance.checks.reach import Reach
from compliance.checks.schedule import failed_lately
from compliance.checks.slices import Checked
from compliance.checks.standingrun import standing_runs
from compliance.checks.unreadsites import unread_sites
from compliance.models import Run, UnreadChange
from menus.models import Site

FIRST_PAUSE = timedelta(seconds=2)
"""How soon to come back for a site that somebody else is checking."""

CHECK_FAILED = "The check after a change failed: see the site's last check."
"""What is kept of a site that could not be checked; the reason stands in its run."""


def note_site(site: int) -> None:
    """Note that a site is to be checked, whatever changed there. Nothing when it is gone."""
    UnreadChange.objects.bulk_create(UnreadChange(site=each) for each in Site.objects.filter(pk=site))


def note_unread(now: datetime) -> int:
    """Note the sites of which a check would read other facts than the run that stands, and return how many are noted.

    For what was never noted: it was written past the services. Sites that wait already are not compared.
    """
    waiting = set(UnreadChange.objects.exclude(site=None).values_list("site", flat=True))
    found = unread_sites(Site.objects.exclude(pk__in=waiting | failed_lately(now)), now)
    UnreadChange.objects.bulk_create(UnreadChange(site_id=pk) for pk in sorted(found))
    return UnreadChange.objects.count()


def noted_ahead() -> bool:
    """Tell whether something was noted by a clock that is ahead of ours."""
    return UnreadChange.objects.filter(noted_at__gt=timezone.now()).exists()


def check_changes() -> Checked:
    """Check what the changes noted so far bear on, and return what came of it.

    Where nothing but food changed, the dishes concerned are judged again and all else stays; every other site is
    checked as at night. A site that somebody else is checking stays noted: come back for it. So does what was noted by
    a clock that is ahead of ours: a check of our moment does not read it. A site that cannot be checked fails visibly,
    and its notes go: the facts are compared again before long.
    """
    noted = list(UnreadChange.objects.all())
    now = moment()  # after the notes, so that a check of this moment reads whatever a note stands for
    notes = [note for note in noted if note.noted_at <= now]
    if not notes:
        return Checked()
    sites = {site.pk: site for site in Site.objects.all()}
    named = {note.site_id for note in notes if note.site_id}
    edited = _edited(notes)
    reach = Reach(edited.products, edited.recipes, now)
    # Where the lexicon changed, any site may be reached: labels tell, when they are read.
    reached = set(sites) if any(note.is_of_lexicon for note in notes) else reach.sites(edited.products, edited.recipes)
    runs = standing_runs([sites[pk] for pk in sorted(reached & sites.keys() - named)], now)
    found = check_food([sites[pk] for pk in runs], runs, edited, reach)
    if whole := [*(sites[pk] for pk in sorted(named)), *found.left]:
        found.result.take(check_and_tell_all(whole, Run.Trigger.CHANGE))
    tell_of(found.result.runs)
    _forget(notes, {site.pk for site in found.result.busy})
    return found.result


def _edited(notes: list[UnreadChange]) -> Changed:
    return Changed(
        frozenset(note.product_id for note in notes if note.product_id),
        frozenset(note.recipe_id for note in notes if note.recipe_id),
    )


def _forget(notes: list[UnreadChange], busy: set[int]) -> None:
    """What a check has read is noted no more; where a site was busy, neither is the food that it has still to read."""
    read = [note.pk for note in notes if (note.site_id not in busy if note.site_id else not busy)]
    UnreadChange.objects.filter(pk__in=read).delete()
