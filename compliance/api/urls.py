"""Addresses of the API, feature by feature."""

from __future__ import annotations

from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from compliance.api import exceptions, roster, runs, servings, treat_checks

urlpatterns = [
    *treat_checks.urls,
    *servings.urls,
    *exceptions.urls,
    *roster.urls,
    *runs.urls,
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
]
