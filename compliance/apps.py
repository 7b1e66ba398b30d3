"""compliance: the judgement, and everything that meets both."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.core.checks import register

from menus.signals import facts_changed


class ComplianceConfig(AppConfig):
    name = "compliance"

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_in

        from compliance.checks.recorded import WATCHED
        from compliance.config.accounts_checks import check_accounts, check_factors
        from compliance.config.checks import check_files, check_settings
        from compliance.config.session_end import begin_session
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


# The receiver loads what it calls when it is first called: a command that records nothing needs none of it.


def _recheck(**said: Any) -> None:
    from compliance.checks.recheck import queue_recheck

    queue_recheck(**said)
