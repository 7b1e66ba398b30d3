"""A printed sheet as the answer to a request."""

from __future__ import annotations

from django.http import HttpResponse


def shown_pdf(made: bytes, name: str) -> HttpResponse:
    """Return the PDF to be shown where it was asked for; `name` is that of the file, without anybody's own."""
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(made, content_type="application/pdf", headers=headers)
