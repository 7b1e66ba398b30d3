"""Addresses of every page and of the API."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

from compliance.web import health, welcome

urlpatterns = [
    path("repair/", admin.site.urls),
    *health.urls,
    *welcome.urls,
    path("api/v1/", include("compliance.api.urls")),
    path("", include("compliance.web.urls")),
]
