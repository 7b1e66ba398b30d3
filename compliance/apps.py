"""compliance: the judgement, and everything that meets both."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.core.checks import register
from django.db.models.signals import post_delete, post_save

from menus.signals import facts_changed


class ComplianceConfig(AppConfig):
    name = "compliance"

    def ready(self) -> None:
        from compliance.config.checks import check_files, check_settings
        from menus.models import Site

        register(check_settings)
        register(check_files)
        facts_changed.connect(_recheck, dispatch_uid="recheck")
        post_save.connect(_schedule, sender=Site, dispatch_uid="schedule")
        post_delete.connect(_unschedule, sender=Site, dispatch_uid="unschedule")


# The receivers load what they call when they are first called: a command that records nothing needs none of it.


def _recheck(**said: Any) -> None:
    from compliance.checks.recheck import queue_recheck

    queue_recheck(**said)


def _schedule(instance: Any, raw: bool = False, **_: Any) -> None:
    from compliance.checks.schedule import schedule_site

    if not raw:  # a fixture brings its own rows
        schedule_site(site=instance)


def _unschedule(instance: Any, **_: Any) -> None:
    from compliance.checks.schedule import unschedule_site

    unschedule_site(site=instance)
