"""An import is one entry: which kind of file, its digest, how many rows of what, and every row that it wrote."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser

from menus.imports.plan import ImportPlan
from menus.models import Site
from roster.models.action import Verb
from roster.record.together import as_one, gathering
from roster.record.write import record


@contextmanager
def import_on_record(plan: ImportPlan, user: AbstractBaseUser | None) -> Iterator[None]:
    """Put the saving of the plan on record. The file's name is not kept: people put names of children into it."""
    counts = {noun: dict(tally) for noun, tally in plan.draft.tally.items()}
    by = user.pk if user else None
    with as_one(Verb.IMPORTED, f"file of {plan.kind}", by=by, file_sha256=plan.digest, counts=counts):
        yield


def servings_on_record(
    *, site: Site, made: list[int], withdrawn: list[int], marked: dict[int, str] | None = None, **_: Any
) -> None:
    """Put on record what the planning of a site's servings added, withdrew, and marked as one choice of something."""
    said: dict[str, Any] = {"marked": marked} if marked else {}
    together = gathering()
    if together:
        together.made.setdefault("serving", []).extend(made)
        together.gone.setdefault("serving", []).extend(withdrawn)
        together.said.update(said)
    else:
        record(Verb.RECORDED, "servings as the cycle menus ask", site=site, made=made, withdrawn=withdrawn, **said)
