"""Change the settings of a site: its clock, its food law, what is printed for it."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from menus.models import Site
from menus.signals import facts_changed

SETTINGS = (
    *("country", "time_zone", "jurisdiction", "nightly_hour"),
    *("names_conditions", "forms_to", "nondiscrimination"),
)
"""What an administrator of the site decides."""

JUDGED_BY = ("time_zone", "jurisdiction")
"""What every check of the site rests on."""


class StaleSite(ValidationError):
    """Somebody changed the settings meanwhile."""

    def __init__(self, newer: Site) -> None:
        self.newer = newer
        super().__init__(
            "Nothing was saved: somebody changed the settings of %(site)s meanwhile. Look at both, then decide again.",
            code="stale",
            params={"site": newer},
        )


def version_of(site: Site) -> int:
    """Return a number that tells these settings from any others of the site: 56 bits of a digest."""
    said = repr([str(getattr(site, name)) for name in SETTINGS])
    return int(sha256(said.encode()).hexdigest()[:14], 16)


@transaction.atomic
def change_site(*, site: Site, after: int | None, **settings: Any) -> Site:
    """Change those settings, and have the site's menus checked again where the checks rest on them.

    `after` is the `version_of` the settings that the person saw. Raises StaleSite when others stand by now,
    ValidationError for what is no country, time zone or hour. Who may do it is the caller's to see to.
    """
    stands = Site.objects.select_for_update(no_key=True).get(pk=site.pk)
    if after != version_of(stands):
        raise StaleSite(stands)
    judged_by = [getattr(stands, name) for name in JUDGED_BY]
    for name, value in settings.items():
        setattr(stands, name, value)
    stands.full_clean()
    stands.save()
    if [getattr(stands, name) for name in JUDGED_BY] != judged_by:
        facts_changed.send(sender=Site, instance=stands)
    return stands
