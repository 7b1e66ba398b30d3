"""The door for WSGI servers."""

from __future__ import annotations

import os

from django.core.wsgi import get_wsgi_application

from compliance.config.warm import warm_up

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "compliance.config.settings")

application = get_wsgi_application()
warm_up()
