"""compliance: the judgement, and everything that meets both."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.core.checks import register
from django.db.models.signals import post_save

from menus.signals import facts_changed


class ComplianceConfig(AppConfig):
    name = "compliance"

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_in

        from compliance.checks.recorded import WATCHED
        from compliance.config.accounts_checks import check_accounts, check_factors
        from compliance.config.checks import check_files, check_settings
        from compliance.config.session_end import begin_session
        from menus.models import Site
        from roster.accounts.receivers import connect
        from roster.record.watch import watch

        register(check_settings)
        register(check_files)
        register(check_accounts)
        register(check_factors, deploy=True)
        watch(WATCHED)
        connect()
        user_logged_in.connect(begin_session, dispatch_uid="begin session")
        facts_changed.connect(_recheck, dispatch_uid="recheck")
        post_save.connect(_schedule, sender=Site, dispatch_uid="schedule")


# The receivers load what they call when they are first called: a command that records nothing needs none of it.


def _recheck(**said: Any) -> None:
    from compliance.checks.recheck import queue_recheck

    queue_recheck(**said)


def _schedule(instance: Any, raw: bool = False, **_: Any) -> None:
    from compliance.checks.schedule import schedule_site

    if not raw:  # a fixture brings its own rows
        schedule_site(site=instance)
