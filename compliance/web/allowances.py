"""A child's allowances and where each stands, and the page on which licensed staff withdraw one."""

from __future__ import annotations

from datetime import date

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.children_lines import what
from compliance.web.gates import children_for
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from roster.access import is_licensed_for
from roster.life.allowance import Signed, allowances_of, withdraw_allowance
from roster.models import Allowance, Child


class WithdrawForm(SignedForm):
    """The reason, a signature."""

    reason = forms.CharField(
        label="Why it is withdrawn",
        help_text="And on what paper or talk that rests.",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why it is withdrawn, and on what paper or talk that rests."},
    )
    field_order = ["reason"]


@require_safe
def child_allowances(request: SignedInRequest, pk: int) -> HttpResponse:
    """List every allowance of the child, those that still relax something first. The number of queries is fixed."""
    child = get_object_or_404(children_for(request), pk=pk)
    found = allowances_of(Child.objects.filter(pk=child.pk), _today(child), timezone.now())
    context = {
        "child": child,
        "site": child.site,
        "standing": [(each, what(each.allowance.restriction)) for each in found if each.can_be_withdrawn],
        "done": [(each, what(each.allowance.restriction)) for each in found if not each.can_be_withdrawn],
        "may_withdraw": is_licensed_for(request.user, child),
    }
    return render(request, "allowances/allowances.html", context)


@require_http_methods(["GET", "POST"])
def allowance_withdraw(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take the withdrawal of one allowance, with its reason and signature."""
    care = Allowance.objects.filter(restriction__child__in=children_for(request))
    allowance = get_object_or_404(care.select_related("restriction__child"), pk=pk)
    child = allowance.child
    form = WithdrawForm(request)
    if request.method == "POST" and form.is_valid() and _withdraw(request, allowance, form):
        messages.success(
            request,
            "Signed and kept. The allowance counts for nothing from now; menus are checked again, and what it settled "
            "is asked anew.",
        )
        return redirect("child-allowances", pk=child.pk)
    context = {
        "child": child,
        "site": child.site,
        "signed": _signed(child, allowance),
        "what": what(allowance.restriction),
        "form": form,
    }
    return render(request, "allowances/withdraw.html", context)


def _withdraw(request: SignedInRequest, allowance: Allowance, form: WithdrawForm) -> bool:
    typed = form.cleaned_data
    try:
        withdraw_allowance(
            allowance=allowance, reason=typed["reason"], withdrawn_by=request.user, signature=typed["signature"]
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return False
    return True


def _signed(child: Child, allowance: Allowance) -> Signed:
    found = allowances_of(Child.objects.filter(pk=child.pk), _today(child), timezone.now())
    return next(each for each in found if each.allowance.pk == allowance.pk)


def _today(child: Child) -> date:
    site = child.site
    assert site is not None  # whoever is in care is enrolled
    return timezone.now().astimezone(site.zone).date()


urls = [
    path("children/<int:pk>/allowances/", child_allowances, name="child-allowances"),
    path("allowances/<int:pk>/withdraw/", allowance_withdraw, name="allowance-withdraw"),
]
