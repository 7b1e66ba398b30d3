"""One door for every kind of import, of food and of children alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import IO, Any

from menus.imports.draft import Draft
from menus.imports.kind import Kind
from menus.imports.kinds import MENU_KINDS
from menus.imports.plan import ImportPlan, digest_of, plan_of, plan_rows
from menus.imports.problem import Unreadable
from menus.imports.sheet import read_bytes
from roster.imports.package import Package, checked, from_folder, from_upload
from roster.imports.restrictions import RESTRICTIONS
from roster.imports.roster import draft_roster

KINDS: dict[str, Kind] = {**MENU_KINDS, RESTRICTIONS.name: RESTRICTIONS}
"""The kinds that have a template, by name."""

ROSTER = "roster"


def plan_import(kind: str, file: IO[bytes], name: str = "", **context: Any) -> ImportPlan:
    """Return the dry run of a file: products, recipes, cycle, restrictions, or roster (a zip).

    The context is that of the kind's `draft_…` function: a cycle needs `site`, `menu` and `starts_on`. Problems are
    listed in the plan and never raised, whatever the bytes are.
    """
    if kind == ROSTER:
        return replace(plan_roster(lambda: from_upload(file), **context), digest=digest_of(file))
    return plan_rows(KINDS[kind], file, **context)


def plan_roster_files(files: Mapping[str, IO[bytes]], **context: Any) -> ImportPlan:
    """Return the dry run of a class list that came as several files, by name."""
    return plan_roster(lambda: checked({name: read_bytes(file) for name, file in files.items()}), **context)


def plan_roster_folder(folder: Path, **context: Any) -> ImportPlan:
    """Return the dry run of a class list that lies in a folder. Raises OSError when it cannot be read."""
    return plan_roster(lambda: from_folder(folder), **context)


def plan_roster(package: Callable[[], Package], **context: Any) -> ImportPlan:
    """Return the dry run of the package that the callable opens, once; context as in `draft_roster`."""
    try:
        opened = package()
    except Unreadable as error:
        return plan_of(ROSTER, partial(_unreadable, error))
    return plan_of(ROSTER, partial(draft_roster, opened, **context))


def _unreadable(error: Unreadable) -> Draft:
    return Draft(problems=[error.problem])
