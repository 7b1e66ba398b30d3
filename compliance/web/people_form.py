"""Forms about people: inviting somebody, giving a post, a substitute for today. Each offers what is within reach."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from compliance.web.fields import offer
from menus.models import Site
from roster.accounts.reach import Reach
from roster.models import IN_ONE_CLASS, Child, Classroom, Role, User

POST = ("site", "classroom", "child", "reads_medical", "starts_on", "ends_on")


class ClassroomField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A classroom, named with its site."""

    def label_from_instance(self, room: Classroom) -> str:
        return f"{room.name}, {room.site.name}"


def _day(label: str, hint: str = "") -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, help_text=hint, required=False, widget=widget)


class PostForm(forms.Form):
    """A role, where it is held, from when to when. Nothing else of a post can be given here."""

    role = forms.ChoiceField(
        label="Role",
        choices=[("", "Choose"), *Role.choices],
        error_messages={"required": "Choose the role: it says what the person may do."},
    )
    site = forms.ModelChoiceField(
        Site.objects.none(),
        label="Site",
        required=False,
        help_text="For kitchen, licensed staff, administrator and auditor.",
    )
    classroom = ClassroomField(
        Classroom.objects.none(), label="Classroom", required=False, help_text="For a teacher or a substitute."
    )
    child = forms.ModelChoiceField(Child.objects.none(), label="Child", required=False, help_text="For a guardian.")
    reads_medical = forms.BooleanField(
        label="May read the medical text",
        required=False,
        help_text="Restrictions with their reasons, and statements. For an administrator whose work needs it.",
    )
    starts_on = _day("First day, if not at once")
    ends_on = _day("Last day, if there is one", "A substitute's post is for one day: give the same day twice.")

    def __init__(self, data: Any, *, reach: Reach, **kwargs: Any) -> None:
        super().__init__(data, label_suffix="", **kwargs)
        sites = offer(self, "site", reach.sites)
        sites.empty_label = "All sites" if reach.everywhere else "Choose"
        if reach.everywhere:
            sites.help_text = f"{sites.help_text} Choose one, unless the post is for every site."
        offer(self, "classroom", reach.classrooms).empty_label = "None"
        offer(self, "child", reach.children).empty_label = "None"
        if not reach.everywhere:
            del self.fields["reads_medical"]

    def clean(self) -> dict[str, Any]:
        """Refuse a place that the role has no use for, rather than leave it out unseen."""
        given = super().clean() or {}
        role = given.get("role")
        if role in IN_ONE_CLASS and not given.get("classroom"):
            self.add_error("classroom", "Choose the class: a teacher or a substitute is there for one.")
        if role == Role.GUARDIAN and not given.get("child"):
            self.add_error("child", "Choose the child whose guardian it is.")
        for name, fits in (
            ("site", role not in (*IN_ONE_CLASS, Role.GUARDIAN)),
            ("classroom", role in IN_ONE_CLASS),
            ("child", role == Role.GUARDIAN),
            ("reads_medical", role == Role.ADMINISTRATOR),
        ):
            if role and given.get(name) and not fits:
                self.add_error(name, f"The role {Role(role).label.lower()} has none of these. Leave it empty.")
        return given

    def post(self) -> dict[str, Any]:
        """What the post is, once the form is valid."""
        return {name: self.cleaned_data[name] for name in POST if name in self.cleaned_data}

    def take(self, error: ValidationError) -> None:
        """Show what stands against it beside the field that it is about, where there is one."""
        for field, messages in getattr(error, "message_dict", {NON_FIELD_ERRORS: error.messages}).items():
            self.add_error(field if field in self.fields else None, messages)


class InviteForm(PostForm):
    """A person, and the first post."""

    username = forms.CharField(
        label="Name to sign in with",
        max_length=150,
        help_text="Letters, digits and @ . + - _ only. It cannot be changed later.",
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
        error_messages={"required": "Choose a name to sign in with, such as given name and initial."},
    )
    first_name = forms.CharField(
        label="Given name", max_length=150, error_messages={"required": "Give it: the record names who did what."}
    )
    last_name = forms.CharField(
        label="Family name", max_length=150, error_messages={"required": "Give it: the record names who did what."}
    )
    email = forms.EmailField(
        label="E-mail address",
        help_text="The one-time link goes there, and nowhere else.",
        error_messages={"required": "Give an address: without the link nobody can set a password."},
    )

    field_order = ("first_name", "last_name", "username", "email")

    def person(self) -> dict[str, str]:
        """Who it is, once the form is valid."""
        return {name: self.cleaned_data[name] for name in ("username", "first_name", "last_name", "email")}


class SubstituteForm(forms.Form):
    """Who stands in for which class today."""

    person = forms.ModelChoiceField(
        User.objects.none(), label="Person", empty_label="Choose", error_messages={"required": "Choose who stands in."}
    )
    classroom = ClassroomField(
        Classroom.objects.none(),
        label="Class",
        empty_label="Choose",
        error_messages={"required": "Choose the class."},
    )

    def __init__(self, data: Any, *, reach: Reach) -> None:
        super().__init__(data, label_suffix="")
        offer(self, "person", reach.people.filter(is_active=True).exclude(pk=reach.user.pk).order_by("last_name", "pk"))
        offer(self, "classroom", reach.classrooms)
