"""The kinds of file that the imports page takes: who may bring them and what is asked beside them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms

from compliance.web.exceptions_form import Day
from compliance.web.fields import offer
from menus.imports.kind import Kind
from menus.imports.plan import ImportPlan
from menus.models import Site
from roster.access import children_with, may, posts, visible_sites
from roster.imports.plan import KINDS, plan_import
from roster.models import User
from roster.permits import Act, Permit, Thing

FOOD = Permit(Thing.FOOD_FILE, Act.IMPORT)
RESTRICTIONS = Permit(Thing.RESTRICTION_FILE, Act.IMPORT)
CALENDAR = Permit(Thing.SITE, Act.CHANGE)


class FileForm(forms.Form):
    """A file by itself."""

    file = forms.FileField(
        label="File",
        help_text="CSV in UTF-8, or XLSX.",
        allow_empty_file=True,  # the reader says better what is wrong with it
        widget=forms.FileInput(attrs={"accept": ".csv,.xlsx"}),
        error_messages={"required": "Choose the file. A browser forgets it when the page is loaded anew."},
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.user = user


class SuppliedForm(FileForm):
    """Suppliers' data, which come as JSON-LD too."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].help_text = "JSON-LD in the GS1 Web Vocabulary, CSV in UTF-8, or XLSX."
        self.fields["file"].widget.attrs["accept"] = ".jsonld,.json,.csv,.xlsx"


class CycleForm(FileForm):
    """A cycle menu: where it is served, what it is called and when it begins stand beside the file."""

    site = forms.ModelChoiceField(Site.objects.none(), label="Site", empty_label=None)
    menu = forms.CharField(
        label="Name of the menu",
        help_text="The name of a menu on record changes that menu.",
        max_length=120,
        error_messages={"required": "Give the menu a name, such as “Autumn”."},
    )
    starts_on = Day(label="The Monday on which week 1 is first served")
    ends_on = Day(label="Last day, if it has one", required=False)
    pauses = forms.BooleanField(
        label="It waits for a week without meals, and goes on after it",
        help_text="Not ticked, weeks go by the calendar, so that the printed menu holds and sites stay in step.",
        required=False,
    )

    field_order = ("site", "menu", "starts_on", "ends_on", "pauses", "file")

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, user=user, **kwargs)
        offer(self, "site", visible_sites(user, FOOD))


class RosterForm(FileForm):
    """A class list, and what to do where the file and the records differ."""

    create_sites = forms.BooleanField(label="Make a site for each school that has none here", required=False)
    scheduled = forms.BooleanField(label="Take classes of a timetable too, not only home rooms", required=False)
    leave_out = forms.BooleanField(
        label="Leave out rows that are not sound; then nobody is taken out of a class", required=False
    )
    confirm_endings = forms.BooleanField(
        label="It is right that more than 5 % of the children leave their class", required=False
    )

    field_order = ("file", "create_sites", "scheduled", "leave_out", "confirm_endings")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["file"].help_text = "OneRoster 1.1 or 1.2: the zip with its CSV files, all of it or changes only."
        self.fields["file"].widget.attrs["accept"] = ".zip"


@dataclass(frozen=True, slots=True)
class Door:
    """One kind of file."""

    name: str
    title: str
    words: str
    permit: Permit
    form: type[FileForm] = FileForm
    beside: Callable[[Any], dict[str, Any]] = lambda form: {}
    everywhere: bool = False  # the file may concern every site, so it takes a post at all of them

    @property
    def about_children(self) -> bool:
        """Whether its rows are about children, and no business of a kitchen."""
        return self.permit not in (FOOD, CALENDAR)

    @property
    def kind(self) -> Kind | None:
        """Its columns, when it has a template."""
        return KINDS.get(self.name)

    def opens_for(self, user: User) -> bool:
        """Tell whether the person may bring such a file."""
        theirs = visible_sites(user, self.permit)
        missing = Site.objects.exclude(pk__in=theirs.values("pk")) if self.everywhere else Site.objects.none()
        return may(user, *self.permit) and not missing.exists()

    def plan(self, form: FileForm) -> ImportPlan:
        """Return the dry run of the file in a valid form."""
        file = form.cleaned_data["file"]
        return plan_import(self.name, file, file.name, **self.beside(form))


def _cycle(form: CycleForm) -> dict[str, Any]:
    return {name: form.cleaned_data[name] for name in ("site", "menu", "starts_on", "ends_on", "pauses")}


def _roster(form: RosterForm) -> dict[str, Any]:
    asked = form.cleaned_data
    return {
        "create_sites": asked["create_sites"],
        "class_types": ("homeroom", "scheduled") if asked["scheduled"] else ("homeroom",),
        "leave_out": asked["leave_out"],
        "confirm_endings": asked["confirm_endings"],
    }


def _own_sites(form: FileForm) -> dict[str, Any]:
    """The sites that the person administers, and whether those are all of them."""
    theirs = visible_sites(form.user, CALENDAR)
    return {"sites": list(theirs), "everywhere": any(post.is_everywhere for post in posts(form.user, CALENDAR))}


def _among(form: FileForm) -> dict[str, Any]:
    """Children of the person's own sites, today or later."""
    return {"among": children_with(form.user, *RESTRICTIONS)}


DOORS = {
    door.name: door
    for door in (
        Door(
            "products",
            "Products and their labels",
            "One row a product. A label that differs from the one on record becomes a new version.",
            FOOD,
        ),
        Door(
            "supplied",
            "Suppliers' allergen codes",
            "One row an allergen, or JSON-LD. The codes are put beside the label on record, whose words stay as they "
            "are. They add to it and never stand for a package that nobody has read.",
            FOOD,
            SuppliedForm,
        ),
        Door(
            "nutrition",
            "Nutrition of products",
            "One row a product: the panel of its label, or the food of the USDA table that it is like, and what a "
            "piece of it weighs. Meals of the week count by it.",
            FOOD,
        ),
        Door(
            "recipes",
            "Recipes",
            "One row a line of a recipe. A recipe that differs from the one on record becomes a new version.",
            FOOD,
        ),
        Door(
            "cycle",
            "Cycle menu",
            "One row a dish: which week, weekday and meal it stands on.",
            FOOD,
            CycleForm,
            _cycle,
        ),
        Door(
            "closures",
            "Calendar",
            "One row for each stretch of days without meals, at one site or at all. A file adds entries and changes "
            "them; it takes none back.",
            CALENDAR,
            beside=_own_sites,
        ),
        Door(
            "restrictions",
            "Restrictions",
            "One row a child and what it may not have. A file adds protection and makes it stricter, never milder.",
            RESTRICTIONS,
            beside=_among,
        ),
        Door(
            "roster",
            "Class list",
            "Sites, classrooms, children and who is in which class, as a student information system exports them.",
            Permit(Thing.ROSTER_FILE, Act.IMPORT),
            RosterForm,
            _roster,
            everywhere=True,
        ),
    )
}
