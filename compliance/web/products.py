"""Products: finding one by name or by the number under its bars, its label versions, and adding a new one."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.api.limits import SearchLimit
from compliance.checks.food import is_stale
from compliance.web.labels import preview
from compliance.web.labels_form import LabelForm
from compliance.web.limits import limited
from compliance.web.place import place_of
from compliance.web.products_form import ProductForm
from compliance.web.signed_in import SignedInRequest
from menus.gtin import parse_gtin
from menus.models import Product, Recipe, Supplier
from menus.services.labels import record_label
from menus.services.products import add_product
from roster.models import User

PER_PAGE = 40


@require_safe
@limited(SearchLimit)
def products(request: SignedInRequest) -> HttpResponse:
    """List the kitchen's products; a whole GTIN leads straight to its product, or to a new one."""
    place = place_of(request)
    asked = request.GET.get("q", "").strip()
    known = Product.objects.for_kitchen().used_at(place.sites)
    found = known.matching(asked) if asked else known
    gtin, slip = _gtin(asked)
    if gtin and not request.htmx:
        return _by_number(request, gtin, known.filter(gtin=gtin).first())
    page = Paginator(found.with_label(timezone.now()).select_related("supplier"), PER_PAGE).get_page(
        request.GET.get("page")
    )
    shown = {"place": place, "site": place.site, "page_of": page, "asked": asked, "gtin": gtin, "slip": slip}
    return render(request, "products/found.html" if request.htmx else "products/products.html", shown)


@require_safe
def product(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show a product with its label versions, the newest first, and the recipes it goes into."""
    place = place_of(request)
    shown = get_object_or_404(Product.objects.used_at(place.sites).select_related("supplier"), pk=pk)
    labels = list(shown.labels.select_related("seen_by").order_by("-number"))
    return render(
        request,
        "products/product.html",
        {
            "product": shown,
            "site": place.site,
            "labels": labels,
            "current": labels[0] if labels else None,
            "stale": bool(labels) and is_stale(labels[0], place.today),
            "recipes": Recipe.objects.filter(versions__lines__product=shown).distinct(),
        },
    )


@require_http_methods(["GET", "POST"])
def product_new(request: SignedInRequest) -> HttpResponse:
    """Add a product together with its label, in one go: a new case of buns has both at hand."""
    place = place_of(request)
    form = ProductForm(request.POST or None, initial={"gtin": request.GET.get("gtin", "")}, label_suffix="")
    label = LabelForm(request.POST or None, site=place.site)
    if "gtin" in request.GET:
        form.fields["name"].widget.attrs["autofocus"] = True  # the number is there, and the name comes next
    previewed = "preview" in request.POST
    if request.method == "POST" and not previewed and form.is_valid() and label.is_valid():
        saved = _save(form, label, request.user)
        if saved:
            messages.success(request, _said(saved))
            return redirect("product", pk=saved.pk)
    return render(
        request,
        "products/new.html",
        {
            "form": form,
            "label": label,
            "site": place.site,
            "suppliers": Supplier.objects.all(),
            **(preview(label, place.site, None) if request.method == "POST" else {}),
        },
    )


def _by_number(request: SignedInRequest, gtin: str, found: Product | None) -> HttpResponse:
    """Lead to the product with this number, or to a new one: whoever scans a case has no other wish."""
    if found:
        return redirect("product", pk=found.pk)
    messages.info(request, "No product here has this number yet. Record it together with its label.")
    return redirect(f"{reverse('product-new')}?gtin={gtin}")


def _save(form: ProductForm, label: LabelForm, user: User) -> Product | None:
    """Add the product and its label, or neither; errors stand in the forms."""
    try:
        with transaction.atomic():
            saved = _added(form)
            if saved and any(label.texts().values()):
                record_label(product=saved, seen_by=user, **label.cleaned_data)
    except ValidationError as error:
        label.add_error(None, error)
        return None
    return saved


def _added(form: ProductForm) -> Product | None:
    try:
        return add_product(**form.cleaned_data)
    except ValidationError as error:
        if hasattr(error, "error_dict"):
            form.add_error(None, _mended(error))
        else:  # a GTIN that is none
            form.add_error("gtin", error)
        return None


def _mended(error: ValidationError) -> dict[str, Any]:
    """Say how to mend what the model refuses because it is taken."""
    taken = {
        "gtin": "This number is on record already. Look for it under Products and record the new label there.",
        "code": "Another product has this item number. Give another, or leave it empty.",
    }
    return {
        name: [taken.get(name, each.message) if each.code == "unique" else each for each in errors]
        for name, errors in error.error_dict.items()
    }


def _said(saved: Product) -> str:
    if saved.labels.exists():
        return f"{saved} is on record with its label."
    return f"{saved} is on record without a label: every dish made with it is referred until somebody records one."


def _gtin(asked: str) -> tuple[str, str]:
    """Return the GTIN that was asked for, or what is wrong with digits that look like one."""
    digits = asked.replace(" ", "").replace("-", "")
    if not (digits.isascii() and digits.isdigit() and len(digits) in (8, 12, 13, 14)):
        return "", ""
    try:
        return parse_gtin(asked), ""
    except ValidationError as error:
        return "", " ".join(error.messages)


urls = [
    path("products/", products, name="products"),
    path("products/new/", product_new, name="product-new"),
    path("products/<int:pk>/", product, name="product"),
]
