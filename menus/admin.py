"""Repair of what the kitchen keeps, for superusers. Facts are read-only: a correction is a new version."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from menus.models import (
    CycleEntry,
    CycleMenu,
    Delivery,
    KitchenEvent,
    Label,
    LabelPhoto,
    PlanStep,
    Product,
    ProductNutrition,
    Recipe,
    RecipeLine,
    RecipeVersion,
    Serving,
    Site,
    SitePattern,
    Supplier,
    Surface,
    Word,
    WordReview,
    WordWithdrawal,
)
from menus.signals import facts_changed


class ReadOnlyAdmin(admin.ModelAdmin):
    """Shows rows that nobody edits."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


class RepairAdmin(admin.ModelAdmin):
    """Lets a row be mended, not deleted; menus that depend on it are checked again, as after any change."""

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: Model, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        facts_changed.send(sender=type(obj), instance=obj)


class LinesInline(admin.TabularInline):
    """The lines of a recipe version, which never change."""

    model = RecipeLine
    fk_name = "version"
    fields = ("position", "product", "sub_recipe", "quantity", "unit", "note")
    can_delete = False
    max_num = 0

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


@admin.register(Site)
class SiteAdmin(RepairAdmin):
    list_display = ("name", "code", "time_zone", "jurisdiction", "nightly_hour")
    search_fields = ("name", "code")


@admin.register(Supplier)
class SupplierAdmin(RepairAdmin):
    list_display = ("name",)
    search_fields = ("name",)


@admin.register(Product)
class ProductAdmin(RepairAdmin):
    list_display = ("name", "code", "gtin", "supplier", "jurisdiction", "regulator", "origin", "site", "ready_to_eat")
    list_filter = ("origin", "regulator", "jurisdiction")
    list_select_related = ("supplier", "site")
    search_fields = ("name", "code", "gtin")
    raw_id_fields = ("supplier", "site")


@admin.register(Label)
class LabelAdmin(ReadOnlyAdmin):
    list_display = ("product", "number", "seen_on", "seen_by", "recorded_at")
    list_select_related = ("product", "seen_by")
    search_fields = ("product__name", "product__code", "product__gtin")
    date_hierarchy = "recorded_at"


@admin.register(LabelPhoto)
class LabelPhotoAdmin(ReadOnlyAdmin):
    list_display = ("label", "taken_at", "taken_by", "read_by", "confirmed_by")
    list_select_related = ("label__product", "taken_by", "confirmed_by")
    search_fields = ("label__product__name", "sha256")
    exclude = ("image",)  # no address leads to the file


@admin.register(Recipe)
class RecipeAdmin(RepairAdmin):
    list_display = ("name", "code", "site")
    list_select_related = ("site",)
    search_fields = ("name", "code")
    raw_id_fields = ("site",)


@admin.register(RecipeVersion)
class RecipeVersionAdmin(ReadOnlyAdmin):
    list_display = ("recipe", "number", "servings", "recorded_at")
    list_select_related = ("recipe",)
    search_fields = ("recipe__name", "recipe__code")
    inlines = (LinesInline,)


@admin.register(CycleMenu)
class CycleMenuAdmin(RepairAdmin):
    list_display = ("name", "site", "weeks", "starts_on", "ends_on")
    list_select_related = ("site",)
    search_fields = ("name", "site__name")
    raw_id_fields = ("site",)


@admin.register(CycleEntry)
class CycleEntryAdmin(RepairAdmin):
    list_display = ("cycle", "week", "weekday", "meal", "recipe", "choice")
    list_filter = ("meal", "week", "weekday")
    list_select_related = ("cycle", "recipe")
    search_fields = ("cycle__name", "recipe__name")
    raw_id_fields = ("cycle", "recipe")


@admin.register(ProductNutrition)
class ProductNutritionAdmin(ReadOnlyAdmin):
    list_display = ("product", "source", "ndb_no", "basis_g", "energy_kcal", "sodium_mg", "recorded_at")
    list_filter = ("source",)
    list_select_related = ("product",)
    search_fields = ("product__name", "product__code", "ndb_no")


@admin.register(SitePattern)
class SitePatternAdmin(ReadOnlyAdmin):
    list_display = ("site", "meal", "program", "group", "starts_on", "ends_on", "recorded_by")
    list_filter = ("program", "meal")
    list_select_related = ("site", "recorded_by")


@admin.register(Serving)
class ServingAdmin(RepairAdmin):
    list_display = ("date", "site", "meal", "recipe", "choice", "withdrawn_at")
    list_filter = ("meal", "site")
    list_select_related = ("site", "recipe")
    search_fields = ("recipe__name",)
    raw_id_fields = ("site", "recipe", "in_place_of")
    date_hierarchy = "date"


@admin.register(Surface)
class SurfaceAdmin(RepairAdmin):
    list_display = ("name", "site", "kind", "material", "capacity", "dedicated_for")
    list_filter = ("kind", "material")
    list_select_related = ("site",)
    search_fields = ("name", "site__name")
    raw_id_fields = ("site",)


@admin.register(PlanStep)
class PlanStepAdmin(RepairAdmin):
    list_display = ("at", "site", "meal", "action", "surface", "recipe", "method", "withdrawn_at")
    list_filter = ("meal", "action", "site")
    list_select_related = ("site", "surface", "recipe")
    search_fields = ("surface__name", "recipe__name")
    raw_id_fields = ("site", "surface", "recipe")


@admin.register(Word)
class WordAdmin(ReadOnlyAdmin):
    list_display = ("phrase", "sense", "substances", "label", "proposed_by", "recorded_at")
    list_select_related = ("label__product", "proposed_by")
    search_fields = ("phrase", "label__product__name")
    date_hierarchy = "recorded_at"


@admin.register(WordReview)
class WordReviewAdmin(ReadOnlyAdmin):
    list_display = ("word", "accepted", "sense", "substances", "signature", "recorded_at")
    list_filter = ("accepted",)
    list_select_related = ("word",)
    search_fields = ("word__phrase", "signature")
    date_hierarchy = "recorded_at"


@admin.register(WordWithdrawal)
class WordWithdrawalAdmin(ReadOnlyAdmin):
    list_display = ("review", "signature", "recorded_at")
    list_select_related = ("review__word",)
    search_fields = ("review__word__phrase", "signature")
    date_hierarchy = "recorded_at"


@admin.register(Delivery)
class DeliveryAdmin(RepairAdmin):
    list_display = ("kitchen", "site", "meal", "recipe", "withdrawn_at")
    list_filter = ("meal", "kitchen", "site")
    list_select_related = ("kitchen", "site", "recipe")
    raw_id_fields = ("recipe",)


@admin.register(KitchenEvent)
class KitchenEventAdmin(ReadOnlyAdmin):
    list_display = ("happened_at", "site", "kind", "surface", "serving", "method", "recorded_by", "recorded_at")
    list_filter = ("kind", "site")
    list_select_related = ("site", "surface", "serving__recipe", "recorded_by")
    date_hierarchy = "happened_at"
