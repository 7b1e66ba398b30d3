"""Write to the record of actions."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models, transaction
from django.utils import timezone

from menus.models import Site
from roster.models import Child
from roster.models.action import Action, ChainEnd, Verb
from roster.record.actor import acting
from roster.record.chain import START, digest_of, proof_of_end, seal, written


def record_key() -> bytes:
    """The key that seals the record."""
    return str(settings.RECORD_KEY).encode()


@transaction.atomic(savepoint=False)
def record(
    verb: Verb,
    subject: models.Model | str,
    *,
    site: Site | None = None,
    child: Child | None = None,
    by: int | None = None,
    **said: Any,
) -> Action:
    """Enter one action at the end of the site's chain; nothing that came before it can be changed unseen.

    `by` is the id of the person (default: whoever is signed in, see `actor`); `said` is whatever else is to be kept,
    such as `before` and `after`: numbers, texts, dates, lists and mappings of them. The entry stands or falls with the
    caller's transaction. Two writers of one site wait for each other until that transaction is through, so record last.
    Three queries, and two more for the first entry of a chain.
    """
    end = _end_of(site.pk if site else 0)
    entry = Action(
        site=site,
        chain=end.chain,
        number=end.number + 1,
        verb=verb,
        actor_id=acting() if by is None else by,
        child=child,
        subject=named(subject),
        recorded_at=timezone.now(),
    )
    entry.payload = written(payload_of(entry, said))
    entry.digest = digest_of(entry.payload)
    entry.seal = seal(record_key(), place_of(entry), entry.digest, end.seal or START)
    entry.save()
    end.number, end.seal = entry.number, entry.seal
    end.proof = proof_of_end(record_key(), end.chain, end.number, end.seal)
    end.save()
    return entry


def place_of(entry: Action) -> dict[str, Any]:
    """What stays of an entry when it is purged, and is sealed with it."""
    return {
        "chain": entry.chain,
        "site": entry.site_id,
        "number": entry.number,
        "verb": str(entry.verb),
        "at": entry.recorded_at.isoformat(),
    }


def payload_of(entry: Action, said: Mapping[str, Any]) -> dict[str, Any]:
    """What was done, as it is sealed: who, to what, to whom, and whatever was said beside, in plain JSON values."""
    return {
        "actor": entry.actor_id,
        "child": entry.child_id,
        "subject": entry.subject,
        "said": _plain(said),
    }


def _end_of(chain: int) -> ChainEnd:
    """The end of the chain, held until this transaction is through."""
    ends = ChainEnd.objects.select_for_update().filter(chain=chain)
    end = ends.first()
    if end is None:  # the first entry begins the chain, and two may do so at once
        ChainEnd.objects.bulk_create([ChainEnd(chain=chain)], ignore_conflicts=True)
        end = ends.get()
    return end


def named(subject: models.Model | str) -> str:
    """The subject as the record names it: its kind and its number, never a name of a person."""
    if isinstance(subject, str):
        return subject
    return f"{subject._meta.verbose_name} {subject.pk}"


def _plain(said: Mapping[str, Any]) -> Any:
    return json.loads(json.dumps(said, cls=DjangoJSONEncoder))
