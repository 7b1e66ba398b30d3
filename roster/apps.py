"""roster: who may not have what."""

from __future__ import annotations

from django.apps import AppConfig


class RosterConfig(AppConfig):
    name = "roster"

    def ready(self) -> None:
        from menus.imports.plan import AROUND_SAVING
        from menus.models import Serving
        from menus.signals import rows_written
        from roster.record.imported import import_on_record, servings_on_record
        from roster.record.watch import watch
        from roster.record.watched import WATCHED

        watch(WATCHED)
        rows_written.connect(servings_on_record, sender=Serving, dispatch_uid="servings on record")
        if import_on_record not in AROUND_SAVING:
            AROUND_SAVING.append(import_on_record)
