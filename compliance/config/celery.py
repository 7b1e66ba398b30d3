"""The Celery application: tasks of all our packages, scheduled from the database."""

from __future__ import annotations

import os

from celery import Celery

from compliance.config import tasklog  # noqa: F401  (listens to the tasks)

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "compliance.config.settings")

app = Celery("compliance")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
