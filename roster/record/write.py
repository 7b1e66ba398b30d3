"""Write to the record of actions."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
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
    entry = _entered(end, Entry(verb, subject, site, child, said), acting() if by is None else by)
    entry.save()
    end.save()
    return entry


@dataclass(frozen=True, slots=True)
class Entry:
    """One action that is to be entered."""

    verb: Verb
    subject: models.Model | str
    site: Site | None = None
    child: Child | None = None
    said: Mapping[str, Any] = field(default_factory=dict)


@transaction.atomic(savepoint=False)
def record_all(entries: Iterable[Entry]) -> None:
    """Enter many actions of one person, each at the end of its site's chain, as `record` does.

    The chains are held in the order of their numbers, so that two who enter many wait for each other and never in a
    ring. Five queries, however many.
    """
    wanted = list(entries)
    ends = _ends_of({_chain(entry.site) for entry in wanted})
    by = acting()
    Action.objects.bulk_create([_entered(ends[_chain(entry.site)], entry, by) for entry in wanted])
    # One statement of rows, where an update of many would be one of as many cases as chains.
    ChainEnd.objects.bulk_create(
        ends.values(), update_conflicts=True, unique_fields=["chain"], update_fields=["number", "seal", "proof"]
    )


def _entered(end: ChainEnd, wanted: Entry, by: int | None) -> Action:
    """Return the sealed entry, not yet saved, and move the end of the chain behind it."""
    entry = Action(
        site=wanted.site,
        chain=end.chain,
        number=end.number + 1,
        verb=wanted.verb,
        actor_id=by,
        child=wanted.child,
        subject=named(wanted.subject),
        recorded_at=timezone.now(),
    )
    entry.payload = written(payload_of(entry, wanted.said))
    entry.digest = digest_of(entry.payload)
    entry.seal = seal(record_key(), place_of(entry), entry.digest, end.seal or START)
    end.number, end.seal = entry.number, entry.seal
    end.proof = proof_of_end(record_key(), end.chain, end.number, end.seal)
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
    return _ends_of({chain})[chain]


def _ends_of(chains: Collection[int]) -> dict[int, ChainEnd]:
    """The ends of the chains, held until this transaction is through."""
    held = ChainEnd.objects.select_for_update().filter(chain__in=chains).order_by("chain")
    ends = {end.chain: end for end in held}
    if missing := sorted(set(chains) - ends.keys()):  # the first entry begins a chain, and two may do so at once
        ChainEnd.objects.bulk_create([ChainEnd(chain=chain) for chain in missing], ignore_conflicts=True)
        ends |= {end.chain: end for end in held.filter(chain__in=missing)}
    return ends


def _chain(site: Site | None) -> int:
    return site.pk if site else 0


def named(subject: models.Model | str) -> str:
    """The subject as the record names it: its kind and its number, never a name of a person."""
    if isinstance(subject, str):
        return subject
    return f"{subject._meta.verbose_name} {subject.pk}"


def _plain(said: Mapping[str, Any]) -> Any:
    return json.loads(json.dumps(said, cls=DjangoJSONEncoder))
