"""Mail on its way out: kept with what it tells of, sent afterwards, so that no mail server can hold up a check."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import Q

from compliance.models.run import Run
from menus.models import Site


class OutgoingMailQuerySet(models.QuerySet["OutgoingMail"]):
    """Mails by what became of them."""

    def waiting(self) -> OutgoingMailQuerySet:
        """Those not sent yet and not given up, the oldest first."""
        return self.filter(sent_at=None, given_up_at=None).order_by("made_at", "pk")

    def due(self, now: datetime) -> OutgoingMailQuerySet:
        """Those whose time to be tried has come."""
        return self.waiting().filter(next_try_at__lte=now)

    def given_up(self) -> OutgoingMailQuerySet:
        """Those that never went, the newest first."""
        return self.exclude(given_up_at=None).order_by("-given_up_at", "-pk")


class OutgoingMail(models.Model):
    """One mail to one person. Its text is emptied once it has gone; that it went, and when, stays."""

    class Kind(models.TextChoices):
        DIGEST = "digest", "What a check found"
        ESCALATION = "escalation", "Questions that are still open"
        INCIDENT = "incident", "An incident was opened"
        ACCOUNT = "account", "A change to the own account"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    to = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    about = models.CharField(max_length=64, help_text="What it tells of: nobody is told the same twice.")
    site = models.ForeignKey(
        Site, null=True, on_delete=models.PROTECT, related_name="+", help_text="Empty: of several, or of none."
    )
    run = models.ForeignKey(
        Run, null=True, on_delete=models.SET_NULL, related_name="+", help_text="The check, where it tells of one alone."
    )
    subject = models.CharField(max_length=200)
    body = models.TextField(blank=True)
    made_at = models.DateTimeField()
    next_try_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    given_up_at = models.DateTimeField(null=True)
    error = models.TextField(blank=True, help_text="Why the last try failed.")

    objects = OutgoingMailQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["kind", "to", "about"], name="mail_told_once")]
        indexes = [
            models.Index(fields=["next_try_at"], condition=Q(sent_at=None, given_up_at=None), name="mail_due"),
        ]

    def __str__(self) -> str:
        return f"mail {self.pk}"
