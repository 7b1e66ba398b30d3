"""The blank form for families as PDF, for guardians and for staff who hand it out."""

from __future__ import annotations

from django.db.models import Q
from django.http import Http404, HttpResponse
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.reports.guardianpaper import GuardianPaper, guardian_paper_pdf
from compliance.web.cautions import CAUTIONS
from compliance.web.guardian_form import GROUNDS, OFTEN, WAYS
from compliance.web.language import LANGUAGES
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.access import own_children, visible_sites
from roster.models import Enrolment, Program

PRINTED = ("reaction", "reported", "expired", "decides")


@require_safe
def guardian_paper(request: SignedInRequest, language: str) -> HttpResponse:
    """Hand out the form in that language, for `?site=` and `?program=`. It holds nothing about anybody."""
    program = request.GET.get("program", Program.NSLP)
    if language not in LANGUAGES or program not in Program.values:
        raise Http404("There is no such form.")
    site = _site(request)
    form = GuardianPaper(
        language=language,
        site=site,
        program=Program(program),
        day=timezone.now().astimezone(site.zone).date() if site else timezone.localdate(),
        foods=OFTEN,
        ways=WAYS,
        grounds=[str(words) for _, words in GROUNDS],
        cautions=[CAUTIONS[name] for name in PRINTED],
    )
    disposition = f'attachment; filename="{form.file_name}"'
    headers = {"Content-Disposition": disposition}
    return HttpResponse(guardian_paper_pdf(form), content_type="application/pdf", headers=headers)


def _site(request: SignedInRequest) -> Site | None:
    """The site asked for, else the first of the person's; 404 for one that is not theirs."""
    theirs = Enrolment.objects.filter(child__in=own_children(request.user)).values("classroom__site")
    sites = Site.objects.filter(Q(pk__in=visible_sites(request.user)) | Q(pk__in=theirs))
    asked = request.GET.get("site", "")
    if not asked:
        return sites.first()
    site = sites.filter(code=asked).first()
    if site is None:
        raise Http404("This site is not yours to see.")
    return site


urls = [path("forms/dietary-need.<slug:language>.pdf", guardian_paper, name="guardian-paper")]
