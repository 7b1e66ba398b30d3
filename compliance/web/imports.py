"""Imports: pick what the file holds, take a template, try it out, save all of it or nothing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.import_doors import DOORS, Door
from compliance.web.signed_in import SignedInRequest
from menus.imports.plan import ImportPlan, ImportRefused
from menus.imports.template import csv_template, xlsx_template

SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TEMPLATES = {"csv": (csv_template, "text/csv; charset=utf-8"), "xlsx": (xlsx_template, SHEET)}
MOST_SHOWN = 200


@require_safe
def imports(request: SignedInRequest) -> HttpResponse:
    """List the kinds of file that the person may import."""
    doors = [door for door in DOORS.values() if door.opens_for(request.user)]
    if not doors:
        raise Http404("You hold no post that imports files.")
    return render(request, "imports/imports.html", {"doors": doors})


@require_http_methods(["GET", "POST"])
def import_file(request: SignedInRequest, kind: str) -> HttpResponse:
    """Try a file out, or save it. Every problem is listed, and with one problem nothing is saved."""
    door = _door(request, kind)
    form = door.form(request.POST or None, request.FILES or None, user=request.user)
    shown: dict[str, Any] = {"door": door, "form": form}
    if request.method == "POST" and form.is_valid():
        plan = door.plan(form)
        refused = ""
        if "save" in request.POST and not plan.problems:
            refused = _overtaken(plan, request) or _saved(plan, request)
            if not refused:
                messages.success(request, f"Saved: {plan.summary}.")
                return redirect(f"import-{kind}")
        shown |= {
            "plan": plan,
            "refused": refused,
            "tried_to_save": "save" in request.POST,
            "problems": plan.problems[:MOST_SHOWN],
            "notes": plan.notes[:MOST_SHOWN],
            "steps": plan.steps[:MOST_SHOWN],
        }
    return render(request, "imports/plan.html" if request.htmx else "imports/import.html", shown)


@require_safe
def import_template(request: SignedInRequest, kind: str, form: str) -> HttpResponse:
    """Hand out an empty file with the right header."""
    door = _door(request, kind)
    if door.kind is None or form not in TEMPLATES:
        raise Http404("There is no template of this kind.")
    make, content_type = TEMPLATES[form]
    name = f'attachment; filename="{door.name}.{form}"'
    return HttpResponse(make(door.kind), content_type=content_type, headers={"Content-Disposition": name})


def _door(request: SignedInRequest, kind: str) -> Door:
    door = DOORS.get(kind)
    if door is None or not door.opens_for(request.user):
        raise Http404("This import is not yours to make.")
    return door


def _overtaken(plan: ImportPlan, request: SignedInRequest) -> str:
    """Return why a plan is not saved that is no longer the one the person looked at; empty when it is, or none was."""
    if request.POST.get("seen", plan.mark) == plan.mark:
        return ""
    return (
        "Nothing was saved: this is no longer what you looked at. The records changed since, or it is another file. "
        "What saving gives now stands below; look at it, then save."
    )


def _saved(plan: ImportPlan, request: SignedInRequest) -> str:
    """Save the plan; return why not, when it was refused."""
    try:
        plan.save(request.user)
    except ImportRefused as error:
        return str(error)
    return ""


urls = [
    path("imports/", imports, name="imports"),
    *(path(f"imports/{kind}/", import_file, {"kind": kind}, name=f"import-{kind}") for kind in DOORS),
    path("imports/<slug:kind>/template.<slug:form>", import_template, name="import-template"),
]
