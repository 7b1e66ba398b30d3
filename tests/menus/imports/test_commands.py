"""The import commands of the kitchen."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command

from menus.imports.cycle import CYCLE
from menus.imports.products import PRODUCTS
from menus.imports.recipes import RECIPES
from menus.models import CycleMenu, Product, RecipeVersion
from tests.factories import ProductFactory, RecipeFactory, SiteFactory
from tests.menus.imports.files import csv_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(tmp_path):
    def call(name: str, file: io.BytesIO, *options: str) -> str:
        path = tmp_path / "upload.csv"
        path.write_bytes(file.read())
        out = io.StringIO()
        call_command(name, str(path), *options, stdout=out, stderr=out)
        return out.getvalue()

    return call


def test_products_are_saved_and_a_dry_run_saves_nothing(run):
    file = csv_file(PRODUCTS, {"code": "B-1", "name": "Buns"})
    assert run("import_products", file, "--dry-run") == (
        "Dry run, nothing was saved. Saving would give: product: 1 new.\n"
    )
    assert not Product.objects.exists()
    file.seek(0)
    assert run("import_products", file) == "Saved: product: 1 new.\n"
    assert Product.objects.exists()


def test_problems_are_printed_and_end_the_command(run, capsys):
    with pytest.raises(CommandError, match=r"Nothing was saved: 1 problem\. Mend it"):
        run("import_products", csv_file(PRODUCTS, {"code": "B-1"}))


def test_recipes_are_saved(run):
    ProductFactory(code="BEANS")
    cells = {"recipe": "chili", "name": "Chili", "servings": "50", "product": "BEANS", "quantity": "2", "unit": "kg"}
    run("import_recipes", csv_file(RECIPES, cells))
    assert RecipeVersion.objects.get().servings == 50


def test_a_cycle_is_saved_at_its_site(run):
    SiteFactory(code="elm")
    RecipeFactory(code="chili")
    file = csv_file(CYCLE, {"week": "1", "weekday": "monday", "meal": "lunch", "recipe": "chili"})
    run("import_cycle", file, "--site", "elm", "--name", "Autumn", "--starts-on", "2026-10-12")
    assert str(CycleMenu.objects.get().site.code) == "elm"


def test_an_unknown_site_is_told_with_those_that_there_are(run):
    SiteFactory(code="elm")
    with pytest.raises(CommandError, match=r"No site has the code “oak”\. Sites are: elm\."):
        run("import_cycle", csv_file(CYCLE), "--site", "oak", "--name", "Autumn", "--starts-on", "2026-10-12")


def test_a_file_that_is_not_there_is_told():
    with pytest.raises(CommandError, match=r"nowhere\.csv cannot be read: No such file or directory"):
        call_command("import_products", "nowhere.csv")
