"""Addresses of every page and of the API."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

from compliance.web import health, metrics, welcome

urlpatterns = [
    path("repair/", admin.site.urls),
    *health.urls,
    *metrics.urls,
    *welcome.urls,
    path("api/v1/", include("compliance.api.urls")),
    path("", include("compliance.web.urls")),
]

handler404 = "compliance.api.nothing.not_found"

handler429 = "compliance.web.lockout.too_many"
"""What allauth answers with when one address, or one name, tries too often."""
