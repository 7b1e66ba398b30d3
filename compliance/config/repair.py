"""The admin site, for repair by superusers only. Everybody else works through the pages."""

from __future__ import annotations

from typing import Any

from django.contrib.admin import AdminSite
from django.contrib.admin.apps import AdminConfig
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect


class RepairSite(AdminSite):
    """Admits superusers; others are refused."""

    site_header = site_title = "Repair"
    index_title = "Rows, as stored"

    def has_permission(self, request: HttpRequest) -> bool:
        return request.user.is_active and request.user.is_superuser

    def login(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:
        # Strangers never come here: the middleware has sent them to the sign-in page of everybody else.
        if not self.has_permission(request):
            raise Http404("Repair is for superusers.")
        return redirect("admin:index")


class RepairConfig(AdminConfig):
    """Makes RepairSite the admin site."""

    default_site = "compliance.config.repair.RepairSite"
