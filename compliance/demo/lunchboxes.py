"""The demo's lunchboxes: what two guardians plan to pack in the coming week, with foods that meet something."""

from __future__ import annotations

from datetime import date, time, timedelta

from compliance.demo.files import rows
from menus.mealpattern.household import household_foods
from menus.models import Product
from roster.life.lunchbox import Packed, save_box
from roster.models import Role, User


def load_lunchboxes(*, today: date) -> None:
    """Write a box for each guardian and day of the file; day 1 is the Monday to come."""
    monday = today + timedelta(days=7 - today.weekday())
    boxes: dict[tuple[str, int], list[Packed]] = {}
    for row in rows("lunchboxes.csv"):
        boxes.setdefault((row["guardian"], int(row["day"])), []).append(_packed(row, today))
    for (username, number), items in boxes.items():
        guardian = User.objects.get(username=username)
        post = guardian.posts.get(role=Role.GUARDIAN)
        assert post.child is not None  # a guardian's post names one
        save_box(
            child=post.child,
            day=monday + timedelta(days=number - 1),
            items=items,
            by=guardian,
            replaces=None,
            packed_at=time(7, 15),
            eaten_at=time(11, 45),
            kept_at_temperature=number != 2,
        )


def _packed(row: dict[str, str], today: date) -> Packed:
    food = household_foods().get(row["household"])
    if food:
        return Packed(food.name, household=food.code, form=row["form"], keeps=food.keeps)
    if row["product"]:
        return Packed(row["name"], product=Product.objects.get(code=row["product"]), keeps=row["keeps"])
    return Packed(row["name"], words=row["words"], seen_on=today, keeps=row["keeps"])
