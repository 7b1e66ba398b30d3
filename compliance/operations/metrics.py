"""Figures about the service for Prometheus: read when asked for, nothing counted between, so any process may answer.

Names follow the naming conventions of Prometheus: a prefix, base units, the unit at the end (from memory). No figure is
about a person; sites are named by their codes, and only where METRICS_BY_SITE says so.
"""

from __future__ import annotations

import platform
from collections.abc import Iterator
from datetime import datetime, timedelta

import django
from django.conf import settings
from django.db.models import Count, Min, Q
from django.utils import timezone
from prometheus_client import CollectorRegistry
from prometheus_client.core import GaugeMetricFamily, InfoMetricFamily, Metric
from prometheus_client.registry import Collector

from compliance.config.version import version
from compliance.models import DeadLetter, Night, NightSlice, OutgoingMail, Referral, Run, UnreadChange
from compliance.operations.overdue import last_checked, late_sites
from compliance.operations.queues import queue_lengths
from compliance.operations.scope import Scope

PREFIX = "menu_compliance_"
LATELY = timedelta(hours=24)
_COUNT_AND_START = (Count("pk"), Min("started_at"))


def registry() -> CollectorRegistry:
    """Return what holds our figures and no others: those of the process itself say nothing about the service."""
    ours = CollectorRegistry(auto_describe=False)
    ours.register(Service())
    return ours


class Service(Collector):
    """All figures. Ten queries, however many sites, runs and mails there are; and one look into the queue."""

    def collect(self) -> Iterator[Metric]:
        now = timezone.now()
        yield _build()
        yield from _nights(now)
        yield from _runs(now)
        yield from _sites(now)
        yield from _changes(now)
        yield from _mail(now)
        given_up = DeadLetter.objects.unsettled().order_by().count()
        yield _gauge("dead_letters_open", "Work given up that nobody has settled.", given_up)
        waiting = Referral.objects.waiting().order_by().count()
        yield _gauge("referrals_waiting", "Questions that licensed staff have not answered.", waiting)
        yield from _queues()


def _gauge(name: str, says: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(PREFIX + name, says, value=value)


def _by(name: str, says: str, label: str, values: dict[str, float]) -> GaugeMetricFamily:
    family = GaugeMetricFamily(PREFIX + name, says, labels=[label])
    for each, value in values.items():
        family.add_metric([each], value)
    return family


def _age(since: datetime | None, now: datetime) -> float:
    return max(0.0, (now - since).total_seconds()) if since else 0.0


def _build() -> InfoMetricFamily:
    said = {"version": version(), "python": platform.python_version(), "django": django.get_version()}
    return InfoMetricFamily(PREFIX + "build", "Which version answers.", value=said)


def _nights(now: datetime) -> Iterator[Metric]:
    lately = Night.objects.filter(Q(due_at__gte=now - LATELY) | Q(state=Night.State.RUNNING)).order_by()
    counted = {state: (count, since) for state, count, since in lately.values_list("state").annotate(*_COUNT_AND_START)}
    states = {state.value: float(counted.get(state, (0, None))[0]) for state in Night.State}
    yield _by("nights", "Nights due in the last 24 hours, or still under way, by state.", "state", states)
    says = "For how long the oldest night under way has been at it; 0: none is."
    begun = counted.get(Night.State.RUNNING, (0, None))[1]
    yield _gauge("oldest_night_under_way_age_seconds", says, _age(begun, now))
    slices = dict(NightSlice.objects.filter(night__in=lately).order_by().values_list("state").annotate(Count("pk")))
    pieces = {state.value: float(slices.get(state.value, 0)) for state in NightSlice.State}
    yield _by("night_slices", "Slices of these nights, by state.", "state", pieces)
    # One begun by hand may be of a single site.
    ended = Night.objects.filter(trigger=Run.Trigger.NIGHT, state=Night.State.COMPLETE, closed_at__isnull=False)
    last = ended.order_by("-closed_at").first()
    if last and last.closed_at:
        closed = last.closed_at.timestamp()
        yield _gauge("last_complete_night_timestamp_seconds", "When the last night that missed no site ended.", closed)
        took = (last.closed_at - last.started_at).total_seconds()
        yield _gauge("last_complete_night_duration_seconds", "How long that night took.", took)


def _runs(now: datetime) -> Iterator[Metric]:
    lately = Run.objects.filter(started_at__gte=now - LATELY).order_by()
    counted = dict(lately.values_list("state").annotate(Count("pk")))
    states = {state.value: float(counted.get(state.value, 0)) for state in Run.State}
    yield _by("runs", "Checks of one site begun in the last 24 hours, by state.", "state", states)


def _sites(now: datetime) -> Iterator[Metric]:
    scope = Scope.everything()
    checked = last_checked(scope, now)
    yield _gauge("sites", "Sites.", len(scope.sites))
    late = len(late_sites(scope, checked, now))
    yield _gauge("sites_overdue", "Sites whose plan for today was last checked too long ago, or never.", late)
    if checked:
        oldest = min(checked.values()).timestamp()
        yield _gauge("oldest_check_timestamp_seconds", "The oldest facts by which a plan of today stands.", oldest)
    if settings.METRICS_BY_SITE:
        says = "When the facts were read by which the site's plan of today stands."
        each = {scope.sites[pk].code: at.timestamp() for pk, at in checked.items()}
        yield _by("site_checked_timestamp_seconds", says, "site", each)


def _changes(now: datetime) -> Iterator[Metric]:
    found = UnreadChange.objects.aggregate(count=Count("pk"), oldest=Min("noted_at"))
    yield _gauge("unread_changes", "Changes of facts that no check has read.", found["count"])
    says = "For how long the oldest of them has waited; 0: none waits."
    yield _gauge("oldest_unread_change_age_seconds", says, _age(found["oldest"], now))


def _mail(now: datetime) -> Iterator[Metric]:
    waits = Q(sent_at=None, given_up_at=None)
    found = OutgoingMail.objects.filter(sent_at=None).aggregate(
        waiting=Count("pk", waits), given_up=Count("pk", ~Q(given_up_at=None)), oldest=Min("made_at", filter=waits)
    )
    counts = {"waiting": float(found["waiting"]), "given_up": float(found["given_up"])}
    yield _by("mails", "Mails that have not gone: still tried, or given up.", "state", counts)
    says = "For how long the oldest waiting mail has waited; 0: none waits."
    yield _gauge("oldest_waiting_mail_age_seconds", says, _age(found["oldest"], now))


def _queues() -> Iterator[Metric]:
    lengths = queue_lengths()
    yield _gauge("broker_up", "Whether the broker answers; always 1 in one process.", lengths is not None)
    if lengths is not None:
        counts = {name: float(length) for name, length in lengths.items()}
        yield _by("queue_messages", "Messages that no worker has taken.", "queue", counts)
