"""What is answered where no address is: a problem below the API, a page elsewhere."""

from __future__ import annotations

import json
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.views.defaults import page_not_found

from compliance.api.problems import MEDIA_TYPE, MEND

API = "/api/"


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer 404 in the form that whoever asks can read: programs read problems (RFC 9457), people read pages."""
    if not request.path.startswith(API):
        return page_not_found(request, exception)
    detail = f"There is no such address. {MEND['not_found']}"
    problem = {
        "type": "about:blank",
        "title": HTTPStatus.NOT_FOUND.phrase,
        "status": 404,
        "detail": detail,
        "errors": [{"field": "", "code": "not_found", "detail": detail}],
    }
    return HttpResponse(json.dumps(problem), status=404, content_type=MEDIA_TYPE)
