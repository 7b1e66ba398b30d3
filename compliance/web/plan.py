"""Where a child's emergency plan is kept: licensed staff say it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from compliance.web.gates import children_for
from compliance.web.plan_form import PlanForm
from compliance.web.signed_in import SignedInRequest
from roster.life.plan import plan_of, record_plan
from roster.models import EmergencyPlan


@require_http_methods(["GET", "POST"])
def child_plan(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take where the plan and what belongs to it are kept; a version that somebody saved meanwhile is shown."""
    child = get_object_or_404(children_for(request), pk=pk)
    site, newest = child.site, plan_of(child)
    assert site is not None  # whoever is in care is enrolled
    data = request.POST if request.method == "POST" else None
    form = PlanForm(data, today=timezone.now().astimezone(site.zone).date(), newest=newest)
    newer = None
    if request.method == "POST" and form.is_valid():
        seen = EmergencyPlan.objects.filter(child=child, pk=form.cleaned_data["under"] or 0).first()
        newer = form.keep(lambda: record_plan(child=child, recorded_by=request.user, replaces=seen, **form.said()))
        if not form.errors:
            messages.success(request, "Kept. Whoever is with the child finds it from now on.")
            return redirect("child-emergency", pk=child.pk)
    context = {"child": child, "site": site, "form": form, "newest": newest, "newer": newer}
    return render(request, "plan/plan.html", context)


urls = [path("children/<int:pk>/emergency/plan/", child_plan, name="child-plan")]
