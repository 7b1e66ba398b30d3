"""Labels: which ones somebody must read, recording a new version, and what the reader understood of it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from compliance.checks.food import label_text, reading
from compliance.checks.labelwork import label_work as work_for
from compliance.checks.words import newest_proposals
from compliance.web.labels_form import LabelForm
from compliance.web.numbers import row_number
from compliance.web.photos import visible_photos
from compliance.web.photos_form import PhotoForm, waiting_words, with_photos
from compliance.web.place import place_of, sites_for
from compliance.web.reading import changes, read_label
from compliance.web.signed_in import SignedInRequest
from compliance.web.stale import Stale, opened_on, side
from menus.labels.label import LONGEST_LABEL
from menus.labels.lexicon import Lexicon
from menus.labels.reader import Reading, read
from menus.lexicon import lexicon_at
from menus.models import Label, Product, Site
from menus.services.labels import TEXTS, StaleLabel, record_label
from menus.services.photos import bind_photos

PARTS = ("What the package says", "“Contains” line", "“May contain”", "Claims", "Supplier's codes")
"""What people call the parts of TEXTS."""


@require_safe
def label_work(request: SignedInRequest) -> HttpResponse:
    """List the products of recipes whose labels are missing, stale or not understood, the most pressing first."""
    place = place_of(request)
    work = work_for(place.site)
    return render(request, "labels/work.html", {"place": place, "site": place.site, "work": work})


@require_safe
def label(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one label version and what the reader understood of it."""
    sites = sites_for(request)
    shown = get_object_or_404(
        Label.objects.filter(product__in=Product.objects.used_at(sites)).select_related("product", "seen_by"), pk=pk
    )
    before = Label.objects.filter(product=shown.product, number__lt=shown.number).order_by("-number").first()
    lexicon = lexicon_at(timezone.now())
    now = reading(shown, lexicon=lexicon, site=sites[0])
    return render(
        request,
        "labels/label.html",
        {
            "label": shown,
            "product": shown.product,
            "read": read_label(now, {part: getattr(shown, part) for part in TEXTS}, newest_proposals(now.unread)),
            "stored": shown,
            "photos": visible_photos(request.user).filter(label=shown),
            "before": before,
            **_against(_reading_of(before, shown.product, sites[0], lexicon) if before else None, now),
            "newest": not Label.objects.filter(product=shown.product, number__gt=shown.number).exists(),
        },
    )


@require_http_methods(["GET", "POST"])
def label_new(request: SignedInRequest, pk: int) -> HttpResponse:
    """Record what the package says now as the product's next label version, after a look at what was understood."""
    place = place_of(request)
    product = _product(request, pk, place.sites)
    current = product.current_labels[0] if product.current_labels else None
    photos = PhotoForm(request, site=place.site, product=product)
    form = _form(request, place.site, photos, current)
    newest, stale = current.number if current else 0, None
    sent = request.method == "POST" and "preview" not in request.POST and not photos.asks_for_photos
    # Both are asked, so that the page says all that is wanted at once.
    if sent and all([form.is_valid(), photos.is_confirmed("".join(form.texts().values()))]):
        try:
            saved = _save(request, form, photos, product)
        except StaleLabel as error:
            stale, current, newest = _two_versions(error, form), error.newer, error.newer.number
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(
                request, f"Saved as label {saved.number} of {product}. Menus that use it are checked again."
            )
            return redirect("label", pk=saved.pk)
    return render(
        request,
        "labels/new.html",
        {
            "form": form,
            "photos": photos,
            "product": product,
            "site": place.site,
            "current": current,
            "stale": stale,
            "opened": newest if stale or (asked := opened_on(request)) is None else asked,
            **(preview(form, place.site, product) if request.method == "POST" else {}),
        },
    )


def _form(request: SignedInRequest, site: Site, photos: PhotoForm, current: Label | None) -> LabelForm:
    """The form as sent or begun, with the words of the photos; the cursor is in it unless a photo waits to be seen."""
    if photos.asks_for_photos:
        return LabelForm(with_photos(request.POST, "ingredients", photos), site=site)
    begun = _initial(request, current)
    if "copy" not in request.GET:
        begun |= waiting_words(photos, "ingredients")
    form = LabelForm(request.POST or None, site=site, initial=begun)
    form.fields["ingredients"].widget.attrs["autofocus"] = not photos.kept
    return form


def _two_versions(error: StaleLabel, form: LabelForm) -> Stale:
    newer, names = error.newer, dict(zip(TEXTS, PARTS, strict=True))
    return Stale(
        f"{error.messages[0]} What you typed is still below; save it again if it is what the package says.",
        side(f"Label {newer.number}, on record now", ((names[part], getattr(newer, part)) for part in TEXTS)),
        side("What you typed", ((names[part], words) for part, words in form.texts().items())),
    )


@transaction.atomic
def _save(request: SignedInRequest, form: LabelForm, photos: PhotoForm, product: Product) -> Label:
    saved = record_label(product=product, seen_by=request.user, after=opened_on(request), **form.cleaned_data)
    bind_photos(label=saved, photos=photos.kept, confirmed_by=request.user)
    return saved


@require_POST
def label_same(request: SignedInRequest, pk: int) -> HttpResponse:
    """Record that somebody read the package today and that it says the same as the version on record."""
    place = place_of(request)
    product = _product(request, pk, place.sites)
    seen = request.POST.get("label", "")
    if seen not in map(str, product.labels.values_list("pk", flat=True)):
        raise Http404("This product has no such label.")
    shown = product.labels.get(pk=seen)
    texts = {part: getattr(shown, part) for part in TEXTS}
    try:
        saved = record_label(product=product, seen_on=place.today, seen_by=request.user, after=shown.number, **texts)
    except StaleLabel:
        messages.error(
            request,
            "Nothing was saved: a newer label was recorded meanwhile. Both stand below: compare the package with them.",
        )
        return redirect("product", pk=product.pk)
    messages.success(request, f"Saved as label {saved.number} of {product}: read today, and word for word the same.")
    return redirect("product", pk=product.pk)


@require_POST
def label_preview(request: SignedInRequest) -> HttpResponse:
    """Say what the reader understands of the label as typed so far. Saves nothing."""
    place = place_of(request)
    form = LabelForm(request.POST, site=place.site)
    product = row_number(request.POST.get("product", ""))
    known = _product(request, product, place.sites) if product else None
    return render(request, "labels/reading.html", preview(form, place.site, known))


def preview(form: LabelForm, site: Site, product: Product | None) -> dict[str, Any]:
    """Return what labels/reading.html shows of a form that need not be valid."""
    texts = form.texts()
    if not any(text.strip() for text in texts.values()):
        return {}
    length = sum(map(len, texts.values()))
    if length > LONGEST_LABEL:
        return {"too_long": length, "longest": LONGEST_LABEL}
    typed = Label(product=product or _unsaved(form), seen_on=form.today, **texts)
    lexicon = lexicon_at(timezone.now())
    now = read(label_text(typed, site=site), lexicon)
    current = product.current_labels[0] if product and product.current_labels else None
    return {
        "read": read_label(now, texts),
        "before": current,
        **_against(_reading_of(current, product, site, lexicon) if current and product else None, now),
    }


def _unsaved(form: LabelForm) -> Product:
    """The product being entered beside the label, for its law alone."""
    return Product(jurisdiction=form.data.get("jurisdiction", ""), regulator=form.data.get("regulator", ""))


def _product(request: SignedInRequest, pk: int, sites: tuple[Site, ...]) -> Product:
    return get_object_or_404(Product.objects.used_at(sites).with_label(timezone.now()), pk=pk)


def _initial(request: SignedInRequest, current: Label | None) -> dict[str, str]:
    """No words, so that nobody saves last year's unread; with `?copy=1` the words on record, to correct a slip.

    The supplier's codes are on no package, so those on record stand there either way.
    """
    if current is None:
        return {}
    return {part: getattr(current, part) for part in (TEXTS if "copy" in request.GET else ("supplied",))}


def _against(before: Reading | None, now: Reading) -> dict[str, Any]:
    """What differs from the label before, and whether this one says less of anything."""
    found = changes(before, now) if before else []
    return {"changes": found, "milder": any(change.milder for change in found)}


def _reading_of(stored: Label, product: Product, site: Site, lexicon: Lexicon) -> Reading:
    stored.product = product
    return reading(stored, lexicon=lexicon, site=site)


urls = [
    path("labels/", label_work, name="label-work"),
    path("labels/<int:pk>/", label, name="label"),
    path("labels/read/", label_preview, name="label-preview"),
    path("products/<int:pk>/label/", label_new, name="label-new"),
    path("products/<int:pk>/label/same/", label_same, name="label-same"),
]
