"""Products and their labels out of a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils import timezone

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft, doubles
from menus.imports.gtins import read_gtin
from menus.imports.kind import Column, Kind
from menus.imports.sheet import Row
from menus.labels.label import LONGEST_LABEL
from menus.labels.supplied.faults import faults
from menus.labels.supplied.rows import written_alike
from menus.models import Label, Product, Supplier
from menus.models.product import Regulator
from menus.models.site import Jurisdiction
from menus.services.labels import TEXTS, record_label
from menus.services.products import free_gtin
from menus.signals import facts_changed

COLUMNS = (
    Column("code", "Your own item number. The same code is the same product.", "B-1020", True),
    Column("gtin", "The digits under the bars, as text so that zeros in front stay. Empty: it has none."),
    Column("name", "What the kitchen calls it.", "Hamburger buns, 8 pack", True),
    Column("supplier", "Who sells it to you."),
    Column("jurisdiction", f"Whose law made the label: {', '.join(Jurisdiction.values)}. Empty: the site's."),
    Column("regulator", "US only: fda, or fsis for meat, poultry and egg products; none for home-made."),
    Column("ready_to_eat", "yes if it can be handed out as it comes, as a snack or treat; else no or empty.", "no"),
    Column("ingredients", "The ingredient list, word for word.", "wheat flour, water, yeast, salt"),
    Column("contains", "The “contains” line, word for word, if there is one.", "Contains: wheat"),
    Column("precautionary", "“May contain …” and the like, word for word.", "May contain sesame."),
    Column("claims", "Claims on the front of the package. They are kept and clear nothing."),
    Column(
        "supplied",
        "The supplier's allergen codes (GS1), with a level, separated by semicolons.",
        "UW CONTAINS; AS MAY_CONTAIN",
        omissible=True,
    ),
    Column("seen_on", "The day somebody read the package, YYYY-MM-DD. Needed with a label.", "2026-03-08"),
)
YES_OR_NO = {"yes": "", "no": ""}


@dataclass(frozen=True, slots=True)
class _Wanted:
    """One sound row."""

    code: str
    fields: dict[str, str]  # of the product; an empty cell is not among them
    supplier: str
    texts: dict[str, str]
    seen_on: date | None


def draft_products(rows: Sequence[Row], *, today: date | None = None) -> Draft:
    """Draft new and changed products and label versions. An empty cell leaves what is recorded as it is.

    Two queries and one for suppliers, however many rows.
    """
    draft = Draft()
    products = Product.objects.for_kitchen().select_related("supplier").with_label(timezone.now())
    known = {product.code: product for product in products}
    wanted = [(row.number, _read(row, draft, today or timezone.localdate())) for row in rows]
    sound = [(number, want) for number, want in wanted if want]
    _refuse_doubles(draft, rows)
    _refuse_taken_gtins(draft, sound, known)
    suppliers = {supplier.name.casefold(): supplier.name for supplier in Supplier.objects.all()}
    for number, want in sound:
        product = known.get(want.code)
        supplier = suppliers.setdefault(want.supplier.casefold(), want.supplier)
        _draft_product(draft, want, product, supplier)
        _draft_label(draft, number, want, product)
    return draft


PRODUCTS = Kind("products", "Products and labels", COLUMNS, draft_products)


def _read(row: Row, draft: Draft, today: date) -> _Wanted | None:
    cells = Cells(row, draft)
    fields = {
        "name": cells.text("name", longest=160, required=True),
        "gtin": read_gtin(cells),
        "jurisdiction": cells.choice("jurisdiction", dict(Jurisdiction.choices)),
        "regulator": cells.choice("regulator", dict(Regulator.choices)),
        "ready_to_eat": cells.choice("ready_to_eat", YES_OR_NO),
    }
    want = _Wanted(
        code=cells.text("code", longest=40, required=True),
        fields={field: value for field, value in fields.items() if value},
        supplier=cells.text("supplier", longest=120),
        texts=_label_texts(cells),
        seen_on=cells.day("seen_on"),
    )
    _check_seen_on(cells, want, today)
    return want if cells.sound else None


def _label_texts(cells: Cells) -> dict[str, str]:
    texts = {part: cells.raw(part) for part in TEXTS}
    texts["supplied"] = _supplied(cells)
    length = sum(map(len, texts.values()))
    if length > LONGEST_LABEL:
        cells.refuse(
            "ingredients",
            f"The label text has {length:,} characters, and a label may have {LONGEST_LABEL:,}.",
            "Leave out what is not on the package, or split the product into its parts.",
        )
    if texts["supplied"] and not any(texts[part] for part in TEXTS if part != "supplied"):
        cells.refuse(
            "supplied",
            "The row has a supplier's codes and no words of the package.",
            "Copy the label into the row. Codes alone are a file of their own, “Suppliers' allergen codes”.",
        )
    return texts if any(texts.values()) else {}


def _supplied(cells: Cells) -> str:
    """The codes as they are stored; a slip of the pen among them is refused, a code that is new to us is noted."""
    for fault in faults(cells.raw("supplied")):
        tell = cells.refuse if fault.is_grave else cells.note
        tell("supplied", fault.what, fault.mend)
    return written_alike(cells.raw("supplied"))


def _check_seen_on(cells: Cells, want: _Wanted, today: date) -> None:
    if want.texts and not cells.raw("seen_on"):
        cells.refuse("seen_on", "The label has no date.", "Give the day somebody read the package, such as 2026-03-08.")
    elif want.seen_on and not want.texts:
        cells.refuse(
            "seen_on",
            "There is a date and no label text.",
            "Copy the label into the row, or empty the date if nobody has read the package yet.",
        )
    elif want.seen_on and want.seen_on > today:
        cells.refuse("seen_on", f"{want.seen_on} lies ahead.", "Give the day on which somebody read the package.")


def _refuse_doubles(draft: Draft, rows: Sequence[Row]) -> None:
    for field, key in (("code", str), ("gtin", _digits)):
        cells = {row.number: row.cells[field] for row in rows if row.cells[field]}
        for number, other in doubles((number, key(cell)) for number, cell in cells.items()).items():
            what = f"“{cells[number][:40]}” stands in row {other} too."
            draft.refuse(number, field, what, "Keep one row for each product.")


def _digits(typed: str) -> str:
    return typed.replace(" ", "").replace("-", "").zfill(14)


def _refuse_taken_gtins(draft: Draft, sound: list[tuple[int, _Wanted]], known: dict[str, Product]) -> None:
    holders = {product.gtin or "": product.code for product in known.values() if product.gtin}
    for number, want in sound:
        holder = holders.get(want.fields.get("gtin", ""))
        if holder not in (None, want.code):
            draft.refuse(
                number,
                "gtin",
                f"{want.fields['gtin']} is recorded for the product “{holder}”.",
                "Use that code if it is the same product; otherwise read the digits under the bars again.",
            )


def _draft_product(draft: Draft, want: _Wanted, product: Product | None, supplier: str) -> None:
    wanted = {**want.fields, **({"supplier": supplier} if supplier else {})}
    if product is None:
        detail = ", ".join(f"{field} “{value}”" for field, value in wanted.items())
        draft.step(
            Action.CREATE, "product", want.code, detail, lambda user: _write_product(Product(code=want.code), wanted)
        )
        return
    stands = {field: _stands(product, field) for field in wanted}
    changes = {field: value for field, value in wanted.items() if stands[field] != value}
    if changes:
        detail = ", ".join(f"{field} “{stands[field]}” → “{value}”" for field, value in changes.items())
        draft.step(Action.CHANGE, "product", want.code, detail, lambda user: _write_product(product, changes))
    else:
        draft.keep("product")


def _stands(product: Product, field: str) -> str:
    if field == "supplier":
        return product.supplier.name if product.supplier else ""
    if field == "ready_to_eat":
        return "yes" if product.ready_to_eat else "no"
    return getattr(product, field) or ""


def _write_product(product: Product, values: dict[str, str]) -> None:
    for field, value in values.items():
        if field == "supplier":
            product.supplier = Supplier.objects.get_or_create(name=value)[0]
        else:
            setattr(product, field, value == "yes" if field == "ready_to_eat" else value)
    free_gtin(values.get("gtin", ""))
    product.clean_fields()  # what must be unique was looked at in the draft, and the database has the last word
    changed = product.pk is not None
    product.save()
    if changed:  # another law may read the same label otherwise
        facts_changed.send(sender=Product, instance=product)


def _draft_label(draft: Draft, number: int, want: _Wanted, product: Product | None) -> None:
    if not want.texts or want.seen_on is None:
        return
    newest = product.current_labels[0] if product and product.current_labels else None
    # The codes are on no package: a row that gives none leaves those on record.
    texts = {**want.texts, "supplied": want.texts["supplied"] or (newest.supplied if newest else "")}
    if newest and _says(newest) == texts and want.seen_on <= newest.seen_on:
        draft.keep("label")
        return
    if newest and newest.is_read and want.seen_on < newest.seen_on:
        draft.refuse(
            number,
            "seen_on",
            f"The recorded label was read on {newest.seen_on}, after this one, and says something else.",
            "An older label never takes the place of a newer one: mend the date, or leave the row out.",
        )
        return
    detail = f"read {want.seen_on}: " + " / ".join(texts.values())
    seen_on = want.seen_on
    draft.step(
        Action.CHANGE if newest else Action.CREATE,
        "label",
        want.code,
        detail,
        lambda user: _write_label(want.code, seen_on, texts, user),
    )


def _says(label: Label) -> dict[str, str]:
    return {part: getattr(label, part).strip() for part in TEXTS}


def _write_label(code: str, seen_on: date, texts: dict[str, str], user: Any) -> None:
    record_label(product=Product.objects.get(code=code), seen_on=seen_on, seen_by=user, after=None, **texts)
