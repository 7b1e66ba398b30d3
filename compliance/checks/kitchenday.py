"""One kitchen's day as its page shows it: what was done and is planned, what carried over, and whom that concerns."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

from django.db.models import Max
from django.utils import timezone

from compliance.checks.announced import DishNews, announced, by_dish
from compliance.checks.dayline import Entry, State, batch_key
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.facts import Facts
from compliance.checks.load import load
from compliance.checks.prepare import Work, work
from compliance.checks.texture import withheld_from
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.kitchen.alerts import Alert, Matter, alerts
from menus.kitchen.events import How
from menus.kitchen.trace import Link
from menus.labels.evidence import ANY, Level
from menus.models import Action, KitchenEvent, Serving, Site, Surface
from menus.models.event import standing
from menus.substances.catalogue import Catalogue
from roster.models import Child, Classroom, User


@dataclass
class Carry:
    """What came from one dish to another over one piece of equipment, and whom it concerns."""

    number: int
    surface: Surface
    source: str  # the dish that left it, or the equipment from which it came straight
    target: Serving
    left_at: datetime
    taken_at: datetime
    how: How
    substances: set[str] = field(default_factory=set)  # codes
    concerning: set[str] = field(default_factory=set)  # those that some child on record may not have
    rows: list[ExceptionRow] = field(default_factory=list)  # of children whom the user may see
    unseen: list[ExceptionRow] = field(default_factory=list)  # of the others, who are counted and not named

    @property
    def outcome(self) -> Outcome | None:
        """The gravest outcome that it has a part in; None when it concerns no child on record that day."""
        return max((row.outcome for row in [*self.rows, *self.unseen]), default=None)

    @property
    def named(self) -> list[str]:
        """What came over, as people say it: first what concerns somebody."""
        return [*self.told, *sorted(map(_named, self.substances - self.concerning))]

    @property
    def told(self) -> list[str]:
        """What of it concerns somebody."""
        return sorted(map(_named, self.concerning))

    @property
    def beside(self) -> list[str]:
        """What else of it came over, which concerns nobody."""
        return self.named[len(self.told) :] if self.told else []

    @property
    def children(self) -> list[tuple[Child, Classroom]]:
        """The children whom it concerns and whom the user may see, each once."""
        return list({row.child.pk: (row.child, row.classroom) for row in self.rows}.values())

    @property
    def elsewhere(self) -> list[tuple[Site, int]]:
        """How many children of which other sites it concerns."""
        children: dict[Site, set[int]] = {}
        for row in self.unseen:
            children.setdefault(row.site, set()).add(row.child.pk)
        return [(site, len(met)) for site, met in children.items()]


@dataclass(frozen=True, slots=True)
class Row:
    """One piece of equipment and its day."""

    surface: Surface
    entries: list[Entry]

    @property
    def open_cleaning(self) -> Entry | None:
        """The first planned cleaning that nobody has recorded."""
        return next((each for each in self.entries if each.action is Action.CLEAN and each.event is None), None)


@dataclass(frozen=True, slots=True)
class DayNews:
    """What became an exception on the day, the check that says so, and whether that has read the newest record."""

    dishes: list[DishNews]
    run: Run | None
    is_read: bool


@dataclass(frozen=True, slots=True)
class KitchenDay:
    """What the page shows."""

    site: Site
    day: date
    now: datetime
    rows: list[Row]
    dishes: list[Serving]
    carries: list[Carry]
    wanting: list[Entry]  # cleanings and covers of the plan that were due and that nobody recorded
    records: list[KitchenEvent]  # all of the day, the newest first, with those that were taken back
    standing: frozenset[int]  # ids of the records that count
    alerts: list[Alert]
    news: DayNews
    withheld: dict[int, set[int]]  # by dish, the children from whom it is withheld, as far as the user may see them


def kitchen_day(user: User, site: Site, day: date) -> KitchenDay:
    """Return the day of the site's kitchen as it stands now, with the children whom the user may see."""
    now = timezone.now()
    facts = load(site, day, day, now)
    entries = [entry for entry in facts.lines[site.pk] if entry.day == day]
    kitchen = next(each for each in facts.kitchens if each.site == site)
    records = [event for event in facts.events if event.site_id == site.pk and kitchen.day_of(event.happened_at) == day]
    seen = find_exceptions(user, ExceptionFilter(day, day))
    made = work(facts, kitchen.day_of(now))
    return KitchenDay(
        site=site,
        day=day,
        now=now,
        rows=_rows(site, entries),
        dishes=sorted((each for each in kitchen.servings if each.date == day), key=lambda each: (each.meal, each.pk)),
        carries=_concerning(_carries(facts, made, day), facts, seen, day),
        wanting=sorted(
            (entry for entry in entries if entry.state in (State.DUE, State.NOT_DONE)), key=lambda entry: entry.counts
        ),
        records=sorted(records, key=lambda event: (event.recorded_at, event.pk), reverse=True),
        standing=frozenset(event.pk for event in standing(facts.events)),
        alerts=_alerts(made, site, facts, day),
        news=day_news(user, site, day),
        withheld=withheld_from(seen),
    )


def day_news(user: User, site: Site, day: date) -> DayNews:
    """Return what is new on the day at the site, as far as the user may see the children."""
    run = Run.objects.covering(day).newest_for(site)
    rows = find_exceptions(user, ExceptionFilter(day, day, site=site))
    newest = KitchenEvent.objects.filter(site=site).aggregate(Max("recorded_at"))["recorded_at__max"]
    return DayNews(
        by_dish(announced(rows), _with_room), run, newest is None or (run is not None and run.as_of >= newest)
    )


def _rows(site: Site, entries: Iterable[Entry]) -> list[Row]:
    """Every piece of equipment of the kitchen: the ones in use first, in the order in which the day comes to them."""
    used: dict[Surface, list[Entry]] = {}
    for entry in entries:
        for surface in entry.surfaces:
            used.setdefault(surface, []).append(entry)
    idle = [surface for surface in Surface.objects.filter(site=site) if surface not in used]
    return [Row(surface, met) for surface, met in used.items()] + [Row(surface, []) for surface in idle]


def _with_room(row: ExceptionRow) -> str:
    return f"{row.child}, {row.classroom}"


def _alerts(made: Work, site: Site, facts: Facts, day: date) -> list[Alert]:
    """What somebody should look at in this kitchen on that day. Late entries say so themselves."""
    here = {surface.pk for surface in facts.surfaces.values() if surface.site_id == site.pk}
    found = alerts(made.events, made.surfaces, made.dishes, made.names)
    return [each for each in found if each.surface in here and each.at.date() == day and each.matter is not Matter.LATE]


def _carries(facts: Facts, made: Work, day: date) -> list[Carry]:
    trace = made.trace()
    found: dict[tuple[object, ...], Carry] = {}
    for dish in facts.dishes.values():
        if dish.date != day:
            continue
        itself = {piece.substance for piece in made.dishes[dish.pk] if piece.level is Level.PRESENT}
        for piece, how in trace.arrived(dish.pk):
            if piece.substance in itself:
                continue  # the dish is made with it: what comes on top changes nothing
            link = trace.chain(dish.pk, piece, how)[-1]
            key = (dish.pk, link.surface, link.dish, link.at, link.taken, how)
            carry = found.setdefault(key, _carry(facts, len(found) + 1, dish, link))
            carry.substances.add(piece.substance)
    return sorted(found.values(), key=lambda carry: (carry.taken_at, carry.number))


def _carry(facts: Facts, number: int, dish: Serving, link: Link) -> Carry:
    source = facts.dishes[link.dish].recipe.name if link.dish is not None else "other equipment"
    left, taken = link.at.astimezone(UTC), link.taken.astimezone(UTC)
    return Carry(number, facts.surfaces[link.surface], source, dish, left, taken, link.how)


def _named(substance: str) -> str:
    return "something unread" if substance == ANY else Catalogue.load().get(substance).name


def _concerning(carries: list[Carry], facts: Facts, seen: Iterable[ExceptionRow], day: date) -> list[Carry]:
    """Return those of this kitchen or of its dishes, each with the exceptions that it has a part in.

    What happens on the equipment of another kitchen is shown as far as it concerns the children here.
    """
    carries = [each for each in carries if each.surface.site_id == facts.site.pk or each.target in facts.servings]
    visible = {(row.serving.pk, row.restriction.pk) for row in seen}
    stands_for = _stands_for(facts)
    for site in {each.site_id: each.site for each in [*facts.servings, *facts.others] if each.date == day}.values():
        for row in find_exceptions(None, ExceptionFilter(day, day, site=site)):
            for carry in carries:
                here = facts.site.pk in (carry.surface.site_id, site.pk)
                met = _met_by(carry, row) if stands_for.get(row.serving.pk) == carry.target.pk else set()
                if met and here:
                    carry.concerning |= met
                    known = (row.serving.pk, row.restriction.pk) in visible
                    (carry.rows if known else carry.unseen).append(row)
    return carries


def _stands_for(facts: Facts) -> dict[int, int]:
    """Return for each serving cooked here the one that stands for its batch."""
    batches = {key: each.pk for kitchen in facts.kitchens for key, each in kitchen.batches.items()}
    return {each.pk: batches.get(batch_key(each), each.pk) for each in [*facts.servings, *facts.others]}


def _met_by(carry: Carry, row: ExceptionRow) -> set[str]:
    """Return what of that which carried over is a reason of the exception."""
    place = str(carry.surface.pk)
    return {reason.substance for reason in row.reasons if reason.ref_of("surface") == place} & carry.substances
