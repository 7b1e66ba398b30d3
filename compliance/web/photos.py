"""Photos of labels, handed out to those who may see them and to nobody else: no address leads past this module."""

from __future__ import annotations

import logging

from django.db.models import Q, QuerySet
from django.http import FileResponse, Http404, HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import path
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe

from compliance.models import TreatCheck
from compliance.web.signed_in import SignedInRequest
from menus.models import LabelPhoto, PhotoDraft, Product
from menus.models.photo import Photo
from menus.sealed import KeyLost
from roster.access import visible_classrooms, visible_sites
from roster.models import User
from roster.permits import Act, Permit, Thing

logger = logging.getLogger(__name__)

KITCHEN = Q(label__product__origin=Product.Origin.KITCHEN)


def visible_photos(user: User) -> QuerySet[LabelPhoto]:
    """Return the photos that the person may see.

    A photo of what a kitchen buys goes as far as its label does. One taken in a classroom may show more than a package,
    so it stays at its site, though the words of its label may be found everywhere. A teacher sees the photos of what
    was checked for their class.
    """
    sites = list(visible_sites(user, Permit(Thing.PRODUCT, Act.READ)))
    checked = Q(label__in=TreatCheck.objects.visible_to(user).order_by().values("label"))
    here = Q(site__in=visible_classrooms(user).order_by().values("site"))
    seen = checked & (KITCHEN | here)
    if sites:
        used = Q(label__product__in=Product.objects.used_at(sites))
        seen |= used & (KITCHEN | Q(site__in=sites))
    return LabelPhoto.objects.filter(seen).select_related("site", "taken_by", "confirmed_by")


def photos_of_check(check: TreatCheck) -> QuerySet[LabelPhoto]:
    """Return the photos of what was checked, for somebody who may see the check. One query."""
    seen = KITCHEN | Q(site=check.classroom.site)
    return LabelPhoto.objects.filter(seen, label=check.label_id).select_related("site", "taken_by", "confirmed_by")


@require_safe
def photo(request: SignedInRequest, pk: int) -> HttpResponseBase:
    """Hand out a photo that is kept with a label."""
    return _file(request, get_object_or_404(visible_photos(request.user), pk=pk))


@require_safe
def photo_draft(request: SignedInRequest, pk: int) -> HttpResponseBase:
    """Hand out a photo that is not used yet: to who took it, while they have a post at its site."""
    own = PhotoDraft.objects.filter(person=request.user, site__in=visible_sites(request.user))
    return _file(request, get_object_or_404(own, pk=pk))


def _file(request: SignedInRequest, kept: Photo) -> HttpResponseBase:
    """Return the picture. A browser may keep it, and asks each time whether its person may still see it."""
    etag = quote_etag(kept.sha256)
    response: HttpResponseBase | None = get_conditional_response(request, etag=etag)
    if response is None:
        try:
            file = kept.image.open("rb")
        except (FileNotFoundError, KeyLost) as error:
            logger.error("The file %s of %s cannot be opened: %s", kept.image.name, kept, error)
            raise Http404("The file of this photo is missing or locked. Tell the administrator.") from error
        response = FileResponse(file, content_type="image/jpeg", filename=f"label-photo-{kept.pk}.jpg")
    response.headers["ETag"] = etag
    response.headers["Cache-Control"] = "private, no-cache"
    return response


urls = [
    path("photos/<int:pk>/", photo, name="photo"),
    path("photos/unused/<int:pk>/", photo_draft, name="photo-draft"),
]
