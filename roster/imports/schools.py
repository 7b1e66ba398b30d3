"""Which site a school of a class list is."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from django.utils.text import slugify

from menus.imports.draft import Action, Draft
from menus.models import Site
from roster.imports.snapshot import School, Snapshot

FILE = "orgs.csv"


def draft_sites(draft: Draft, snapshot: Snapshot, given: Mapping[str, str], *, create: bool) -> dict[str, str]:
    """Return the site code of each school that has a class, by the school's id. One query.

    A school is the site that `given` names for its identifier or id, else the site whose code is its identifier, else
    the one of its name. Other schools are created when `create` says so, and are a problem otherwise.
    """
    sites = {site.code: site.name for site in Site.objects.all()}
    codes: dict[str, str] = {}
    for id in dict.fromkeys(room.school for room in snapshot.rooms.values()):
        school = snapshot.schools[id]
        code = _known(school, given, sites)
        wanted = code or slugify(school.identifier or school.name)[:50]
        if code is None and create and wanted and wanted not in codes.values():
            draft.step(Action.CREATE, "site", wanted, school.name, partial(_create, wanted, school.name[:120]))
            what = f"The site “{wanted}” gets the default time zone and food law."
            draft.note(school.row, "", what, "Check both before the first check of its menu.", file=FILE)
        elif code is None:
            _refuse(draft, school, wanted)
            continue
        codes[id] = wanted
    return codes


def _known(school: School, given: Mapping[str, str], sites: Mapping[str, str]) -> str | None:
    named = given.get(school.identifier) if school.identifier else None
    named = named or given.get(school.id)
    if named:
        return named if named in sites else None
    code = slugify(school.identifier)
    if code in sites:
        return code
    same = [code for code, name in sites.items() if name.casefold() == school.name.casefold()]
    return same[0] if len(same) == 1 else None


def _refuse(draft: Draft, school: School, wanted: str) -> None:
    draft.refuse(
        school.row,
        "identifier",
        f"No site is known for the school “{school.name}” (identifier “{school.identifier}”).",
        f"Make a site with the code “{wanted}”, name the site that it is, or let the import create it.",
        file=FILE,
    )


def _create(code: str, name: str, user: Any) -> None:
    site = Site(code=code, name=name)
    site.full_clean()
    site.save()
