"""Addresses of the API, feature by feature."""

from __future__ import annotations

from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from compliance.api import exceptions, nights, roster, runs, servings, treat_checks
from roster.permits import Act, Permit, Thing


class Schema(SpectacularAPIView):
    """The description of the API, for everybody who may use any of it."""

    permit = Permit(Thing.CLASS_DAY, Act.READ)


urlpatterns = [
    *treat_checks.urls,
    *servings.urls,
    *exceptions.urls,
    *roster.urls,
    *runs.urls,
    *nights.urls,
    path("schema/", Schema.as_view(), name="api-schema"),
]
