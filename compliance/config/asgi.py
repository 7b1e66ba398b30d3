"""The door for ASGI servers."""

from __future__ import annotations

import os

from django.core.asgi import get_asgi_application

from compliance.config.warm import warm_up

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "compliance.config.settings")

application = get_asgi_application()
warm_up()
