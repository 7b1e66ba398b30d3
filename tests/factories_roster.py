"""One factory a model of the roster. Defaults make a row that stands by itself; name only what the test is about."""

from __future__ import annotations

from datetime import timedelta

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from menus.labels.evidence import Kind
from roster.models import (
    Allowance,
    Basis,
    Child,
    Classroom,
    Credential,
    EmergencyPlan,
    Enrolment,
    Post,
    Program,
    Restriction,
    Review,
    Role,
    RoomApproval,
    Statement,
    Strictness,
    TextureLevel,
)
from tests.factories_food import (
    SiteFactory,
    UserFactory,
    labelled,
)


class ClassroomFactory(DjangoModelFactory[Classroom]):
    class Meta:
        model = Classroom

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Classroom {n}")


class PostFactory(DjangoModelFactory[Post]):
    """A teacher's post; give `role` and `site` for the others."""

    class Meta:
        model = Post

    user = factory.SubFactory(UserFactory)
    role = Role.TEACHER
    classroom = factory.Maybe(
        factory.LazyAttribute(lambda post: post.role == Role.TEACHER), factory.SubFactory(ClassroomFactory), None
    )
    site = None


class ChildFactory(DjangoModelFactory[Child]):
    """A child of six, in no classroom."""

    class Meta:
        model = Child

    given_name = factory.Sequence(lambda n: f"Child{n}")
    family_name = "Example"
    birth_date = factory.LazyFunction(lambda: timezone.localdate() - timedelta(days=6 * 365 + 100))


class EnrolmentFactory(DjangoModelFactory[Enrolment]):
    """A child in a classroom since thirty days."""

    class Meta:
        model = Enrolment

    child = factory.SubFactory(ChildFactory)
    classroom = factory.SubFactory(ClassroomFactory)
    starts_on = factory.LazyFunction(lambda: timezone.localdate() - timedelta(days=30))


class RestrictionFactory(DjangoModelFactory[Restriction]):
    """A signed peanut restriction that reaches to traces."""

    class Meta:
        model = Restriction

    child = factory.SubFactory(ChildFactory)
    substance = "peanut"
    strictness = Strictness.TRACE
    basis = Basis.STATEMENT


class EmergencyPlanFactory(DjangoModelFactory[EmergencyPlan]):
    """A plan of today in the red binder, good for a year."""

    class Meta:
        model = EmergencyPlan

    child = factory.SubFactory(ChildFactory)
    plan_place = "Red binder, front office"
    medication_place = "Cabinet by the sink"
    call = "Mother, then grandfather; numbers on the plan"
    dated = factory.LazyFunction(timezone.localdate)
    review_on = factory.LazyAttribute(lambda plan: plan.dated + timedelta(days=365))
    recorded_by = factory.SubFactory(UserFactory)


class StatementFactory(DjangoModelFactory[Statement]):
    """A whole statement of today by a prescriber, good for a year, under which nothing stands yet."""

    class Meta:
        model = Statement

    child = factory.SubFactory(ChildFactory)
    signatory = "P. Example"
    credential = Credential.PRESCRIBER
    licence_state = "Illinois"
    signed_on = factory.LazyFunction(timezone.localdate)
    program = Program.NSLP
    impairment = "An immune reaction to the food."
    accommodate = "Leave the food out of every meal."
    omit = "The food in every form."
    instead = "A meal of the same worth."
    review_on = factory.LazyAttribute(lambda statement: statement.signed_on + timedelta(days=365))
    received_by = factory.SubFactory(UserFactory)


class ReviewFactory(DjangoModelFactory[Review]):
    """A review that found nothing wanting."""

    class Meta:
        model = Review

    statement = factory.SubFactory(StatementFactory)
    reviewed_by = factory.SubFactory(UserFactory)
    signature = "A. Example, RD"


class AllowanceFactory(DjangoModelFactory[Allowance]):
    """Refined peanut oil for one child, for a year."""

    class Meta:
        model = Allowance

    restriction = factory.SubFactory(RestrictionFactory)
    kind = Kind.REFINED_OIL.value
    about = factory.SelfAttribute("restriction.substance")
    starts_on = factory.LazyFunction(timezone.localdate)
    ends_on = factory.LazyFunction(lambda: timezone.localdate() + timedelta(days=365))
    signed_by = factory.SubFactory(UserFactory)
    signature = "A. Example, RD"


class RoomApprovalFactory(DjangoModelFactory[RoomApproval]):
    """A seed butter approved for every room of its site, from today for a month."""

    class Meta:
        model = RoomApproval

    site = factory.SubFactory(SiteFactory)
    product = factory.LazyFunction(lambda: labelled("sunflower seeds, salt", name="Sunflower seed butter"))
    label = factory.LazyAttribute(lambda row: row.product.labels.get())
    starts_on = factory.LazyFunction(timezone.localdate)
    ends_on = factory.LazyAttribute(lambda row: row.starts_on + timedelta(days=30))
    approved_by = factory.SubFactory(UserFactory)
    signature = "June A., administrator"


class TextureLevelFactory(DjangoModelFactory[TextureLevel]):
    """Food of level 5 by a statement of today."""

    class Meta:
        model = TextureLevel

    child = factory.SubFactory(ChildFactory)
    food_level = 5
    signatory = "P. Example, speech-language pathologist"
    signed_on = factory.LazyFunction(timezone.localdate)
    review_on = factory.LazyAttribute(lambda row: row.signed_on + timedelta(days=365))
    signature = "H. RN"
    recorded_by = factory.SubFactory(UserFactory)
