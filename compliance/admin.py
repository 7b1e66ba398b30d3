"""Runs, verdicts, referrals and treat checks, for superusers to look into. All are records: none is edited here."""

from __future__ import annotations

from django.contrib import admin

from compliance.models import (
    Announcement,
    CheckedDay,
    DishVerdicts,
    FoodRead,
    Panel,
    PreparedDish,
    Referral,
    RestrictionTypeRow,
    Run,
    ServedDish,
    TableEvent,
    TreatCheck,
)
from menus.admin import ReadOnlyAdmin


@admin.register(Run)
class RunAdmin(ReadOnlyAdmin):
    list_display = ("id", "site", "trigger", "state", "as_of", "first_day", "last_day", "finished_at", "same_as_id")
    list_filter = ("state", "trigger", "site")
    list_select_related = ("site",)
    search_fields = ("site__name", "result_hash", "error")
    date_hierarchy = "as_of"


@admin.register(RestrictionTypeRow)
class RestrictionTypeAdmin(ReadOnlyAdmin):
    list_display = ("substance", "strictness", "allowed")
    list_filter = ("strictness",)
    search_fields = ("substance", "key")


@admin.register(PreparedDish)
class PreparedDishAdmin(ReadOnlyAdmin):
    list_display = ("recipe", "version", "made_at", "key")
    list_select_related = ("recipe", "version__recipe")
    search_fields = ("recipe__name", "key")


@admin.register(ServedDish)
class ServedDishAdmin(ReadOnlyAdmin):
    list_display = ("serving", "dish")
    list_select_related = ("serving__recipe", "serving__site", "dish__recipe")
    search_fields = ("serving__recipe__name",)


@admin.register(CheckedDay)
class CheckedDayAdmin(ReadOnlyAdmin):
    list_display = ("day", "site", "run_id")
    list_filter = ("site",)
    list_select_related = ("site",)
    date_hierarchy = "day"


@admin.register(Panel)
class PanelAdmin(ReadOnlyAdmin):
    list_display = ("id", "edition", "key")
    search_fields = ("edition", "key")


@admin.register(DishVerdicts)
class DishVerdictsAdmin(ReadOnlyAdmin):
    list_display = ("dish", "panel_id")
    list_select_related = ("dish__recipe",)
    search_fields = ("dish__recipe__name", "dish__key")


@admin.register(FoodRead)
class FoodReadAdmin(ReadOnlyAdmin):
    list_display = ("id", "key")
    search_fields = ("key",)


@admin.register(Referral)
class ReferralAdmin(ReadOnlyAdmin):
    list_display = ("food", "child", "substance", "site", "needed_by", "opened_at", "answer", "answered_by")
    list_filter = ("answer", "site")
    list_select_related = ("child", "site", "answered_by")
    search_fields = ("food", "child__family_name", "child__given_name", "substance")


@admin.register(TreatCheck)
class TreatCheckAdmin(ReadOnlyAdmin):
    list_display = ("food", "classroom", "served_at", "source", "checked_by", "recorded_at")
    list_filter = ("source",)
    list_select_related = ("classroom", "checked_by")
    search_fields = ("food", "classroom__name")
    date_hierarchy = "recorded_at"


@admin.register(Announcement)
class AnnouncementAdmin(ReadOnlyAdmin):
    list_display = ("recorded_at", "serving", "child", "substance", "outcome", "run_id")
    list_select_related = ("serving__recipe", "serving__site", "child")
    date_hierarchy = "recorded_at"


@admin.register(TableEvent)
class TableEventAdmin(ReadOnlyAdmin):
    list_display = ("happened_at", "classroom", "kind", "check_made", "place", "method", "recorded_by")
    list_filter = ("kind",)
    list_select_related = ("classroom", "check_made", "recorded_by")
    date_hierarchy = "happened_at"
