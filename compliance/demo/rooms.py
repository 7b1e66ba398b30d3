"""What the demo's rooms keep out by the site's own rule, and what may come to them in its place."""

from __future__ import annotations

from datetime import date, timedelta

from compliance.demo.files import rows
from compliance.demo.people import Rooms
from menus.models import Product
from roster.life.approval import approve_product
from roster.models import Basis, Child, User
from roster.services import record_restriction


def load_rooms(rooms: Rooms, *, today: date, signed_by: User) -> None:
    """Write the rules, each on the first child of its room that no guardian here packs for; then the approvals."""
    for row in rows("room_rules.csv"):
        room = rooms[row["site"], row["classroom"]]
        children = Child.objects.filter(enrolments__classroom=room, guardianships=None).order_by("pk")
        record_restriction(
            child=children[0],
            substance=row["substance"],
            strictness=row["strictness"],
            basis=Basis.POLICY,
            note=row["note"],
            recorded_by=signed_by,
        )
    for row in rows("room_approvals.csv"):
        room = rooms[row["site"], row["classroom"]]
        product = Product.objects.get(code=row["product"])
        approve_product(
            site=room.site,
            classrooms=[room],
            product=product,
            label=product.labels.get(),
            starts_on=today,
            ends_on=today + timedelta(days=int(row["days"])),
            approved_by=signed_by,
            signature=row["signature"],
        )
