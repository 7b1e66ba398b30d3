"""Products approved for rooms: what stands for everybody at the site; licensed staff and administrators change it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from compliance.web.fields import offer
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from menus.models import Product, Site
from roster.access import may, visible_classrooms
from roster.life.approval import approve_product, end_approval
from roster.models import Classroom, RoomApproval
from roster.permits import Act, Thing

LONGEST = timedelta(days=365)
MATCHES = 12
DAY = {"type": "date"}


class ApprovalForm(forms.Form):
    """For which room, until when, and who says so. `label` is the version that the page showed."""

    room = forms.ModelChoiceField(Classroom.objects.none(), label="Room", required=False, empty_label="Every room")
    starts_on = forms.DateField(label="From", widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"))
    ends_on = forms.DateField(
        label="Until",
        help_text="At most a year. A newer label ends it before.",
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
    )
    signature = forms.CharField(label="Your name and post", max_length=120)
    label = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, data: Any, *, site: Site, today: date, label: int | None) -> None:
        initial = {"starts_on": today, "ends_on": today + timedelta(days=180), "label": label}
        super().__init__(data, label_suffix="", initial=initial)
        offer(self, "room", Classroom.objects.filter(site=site).order_by("name"))

    def clean(self) -> dict[str, Any]:
        """The days fit each other."""
        data: dict[str, Any] = self.cleaned_data
        first, last = data.get("starts_on"), data.get("ends_on")
        if first and last and not first <= last <= first + LONGEST:
            self.add_error("ends_on", "Give a day after the first one, and within a year of it.")
        return data


@require_safe
def approvals(request: SignedInRequest) -> HttpResponse:
    """List what stands at the site, and find a product to approve."""
    place = place_of(request)
    asked = request.GET.get("q", "").strip()
    known = Product.objects.used_at([place.site]).for_kitchen()
    rows = RoomApproval.objects.standing(place.today).filter(site=place.site)
    if not may(request.user, Thing.APPROVAL, Act.CHANGE, site=place.site):
        rooms = visible_classrooms(request.user).filter(site=place.site).values("pk")
        rows = rows.filter(classroom__in=rooms) | rows.filter(classroom=None)
    context = {
        "place": place,
        "site": place.site,
        "as_of": timezone.now(),
        "rows": [(each, _newer(each)) for each in rows.select_related("product", "label", "classroom", "approved_by")],
        "may_change": may(request.user, Thing.APPROVAL, Act.CHANGE, site=place.site),
        "asked": asked,
        "found": list(known.matching(asked)[:MATCHES]) if len(asked) > 1 else [],
    }
    return render(request, "approvals/approvals.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def approval_new(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show the product's label, and approve it for a room as that label stands."""
    place = place_of(request)
    known = Product.objects.used_at([place.site]).for_kitchen().with_label(timezone.now())
    product = get_object_or_404(known, pk=pk)
    label = product.current_labels[0] if product.current_labels else None
    form = ApprovalForm(
        request.POST if request.method == "POST" else None,
        site=place.site,
        today=place.today,
        label=label.pk if label else None,
    )
    if request.method == "POST" and form.is_valid() and _tried(request, place, product, form):
        messages.success(request, f"{product.name} is approved for the room, as its label stands.")
        return redirect("approvals")
    context = {"place": place, "site": place.site, "product": product, "label": label, "form": form}
    return render(request, "approvals/new.html", context)


def _tried(request: SignedInRequest, place: Place, product: Product, form: ApprovalForm) -> bool:
    data = form.cleaned_data
    seen = product.labels.filter(pk=data["label"]).first()
    try:
        approve_product(
            site=place.site,
            classrooms=[data["room"]],
            product=product,
            label=seen,
            starts_on=data["starts_on"],
            ends_on=data["ends_on"],
            approved_by=request.user,
            signature=data["signature"],
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return False
    return True


@require_POST
def approval_end(request: SignedInRequest, pk: int) -> HttpResponse:
    """End an approval from now."""
    place = place_of(request)
    approval = get_object_or_404(RoomApproval.objects.filter(site__in=place.sites), pk=pk)
    reason = request.POST.get("reason", "").strip()
    if not reason:
        messages.error(request, "Nothing was ended: say in a word why the approval no longer holds.")
        return redirect("approvals")
    try:
        end_approval(approval=approval, reason=reason, ended_by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, "Ended. Boxes with it are referred from now on.")
    return redirect("approvals")


def _newer(approval: RoomApproval) -> bool:
    """Whether a newer label took the place of the one that was looked at: then the approval counts for nothing."""
    return approval.product.labels.filter(number__gt=approval.label.number).exists()


urls = [
    path("approvals/", approvals, name="approvals"),
    path("approvals/product/<int:pk>/", approval_new, name="approval-new"),
    path("approvals/<int:pk>/end/", approval_end, name="approval-end"),
]
