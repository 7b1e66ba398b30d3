"""Settings, addresses and the Celery application.

The application is loaded here, not in `compliance/__init__.py`, so that the pure packages stay importable alone.
"""

from compliance.config.celery import app as celery_app

__all__ = ["celery_app"]
