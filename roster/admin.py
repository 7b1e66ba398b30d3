"""Repair of accounts, posts and the roster, for superusers. Restrictions and allowances are facts: read-only."""

from __future__ import annotations

from typing import Any

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.socialaccount.models import SocialAccount, SocialApp, SocialToken
from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin as AccountAdmin
from django.contrib.auth.models import Group

from menus.admin import ReadOnlyAdmin, RepairAdmin
from roster.enrolling import refuse_overlap
from roster.models import Allowance, Child, Classroom, Enrolment, Post, Restriction, User

admin.site.unregister(Group)  # what people may see follows from their posts alone
for library_row in (EmailAddress, Authenticator, SocialApp, SocialAccount, SocialToken):
    admin.site.unregister(library_row)  # secrets, and a second way to set up single sign-on: not for repair


class PostsInline(admin.TabularInline):
    """What the person may see, and from when to when."""

    model = Post
    raw_id_fields = ("site", "classroom")
    extra = 0


@admin.register(User)
class UserAdmin(AccountAdmin):
    list_display = ("username", "first_name", "last_name", "email", "is_active", "is_superuser", "last_login")
    list_filter = ("is_active", "is_superuser")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("Account", {"fields": ("is_active", "is_superuser", "last_login", "date_joined")}),
    )
    readonly_fields = ("last_login", "date_joined")
    filter_horizontal = ()
    inlines = (PostsInline,)


@admin.register(Post)
class PostAdmin(admin.ModelAdmin):
    list_display = ("user", "role", "site", "classroom", "starts_on", "ends_on")
    list_filter = ("role",)
    list_select_related = ("user", "site", "classroom__site")
    search_fields = ("user__username", "user__first_name", "user__last_name")
    raw_id_fields = ("user", "site", "classroom")


@admin.register(Classroom)
class ClassroomAdmin(RepairAdmin):
    list_display = ("name", "site", "grade", "source", "source_id")
    list_filter = ("site",)
    list_select_related = ("site",)
    search_fields = ("name", "source_id")
    raw_id_fields = ("site",)


@admin.register(Child)
class ChildAdmin(RepairAdmin):
    list_display = ("family_name", "given_name", "birth_date", "source", "source_id")
    search_fields = ("family_name", "given_name", "source_id")


class EnrolmentForm(forms.ModelForm):
    """An enrolment that overlaps no other of the child, as the service demands it too."""

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors:
            refuse_overlap(Enrolment(pk=self.instance.pk, **data))
        return data


@admin.register(Enrolment)
class EnrolmentAdmin(RepairAdmin):
    form = EnrolmentForm
    list_display = ("child", "classroom", "starts_on", "ends_on")
    list_select_related = ("child", "classroom")
    search_fields = ("child__family_name", "child__given_name", "classroom__name")
    raw_id_fields = ("child", "classroom")


@admin.register(Restriction)
class RestrictionAdmin(ReadOnlyAdmin):
    list_display = ("child", "substance", "strictness", "basis", "starts_on", "ends_on", "recorded_at", "recorded_by")
    list_filter = ("strictness", "basis")
    list_select_related = ("child", "recorded_by")
    search_fields = ("child__family_name", "child__given_name", "substance")


@admin.register(Allowance)
class AllowanceAdmin(ReadOnlyAdmin):
    list_display = ("restriction", "kind", "about", "term", "label", "starts_on", "ends_on", "withdrawal")
    list_filter = ("kind",)
    list_select_related = ("restriction__child", "label__product", "withdrawal")
    search_fields = ("restriction__child__family_name", "restriction__child__given_name", "restriction__substance")
