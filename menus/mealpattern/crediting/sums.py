"""The lines of a recipe added up by component, held to what the serving can hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.crediting.components import VEGETABLES, Component
from menus.mealpattern.crediting.foods import Food
from menus.mealpattern.crediting.lines import Line
from menus.mealpattern.crediting.serving import Serving
from menus.mealpattern.crediting.wording import shown


@dataclass(frozen=True, slots=True)
class Sums:
    """What one serving credits before rounding.

    What credits by the volume served is never more than the serving holds; tomato paste, dried fruit and what goes by
    weight stand apart from that. A cooked grain is never more than its own portion ("over 1/2 cup brown rice").
    """

    lines: Sequence[Line]
    serving: Serving

    def of(self, *components: Component) -> Fraction:
        """Return what these components come to together."""
        apart = self._total(components, apart=True)
        by_volume = self._total(components, apart=False)
        if components == (Component.GRAINS,):
            return apart + by_volume - sum((excess for _, _, excess in self._grains()), Fraction())
        room = self._room(components)
        return apart + (by_volume if room is None else min(by_volume, room))

    def legume_as_alternate(self) -> Fraction:
        """Return the cups of beans, peas and lentils that may count as meat alternate.

        Pasta of legume flour may only beside another meat or meat alternate (FNS memo SP 26-2019).
        """
        counting = self._total((Component.LEGUME,), apart=False) - self._standing_alone()
        room = self._room((Component.LEGUME,))
        return counting if room is None else min(counting, room)

    def limits(self) -> list[str]:
        """Return a sentence for each limit that the serving sets."""
        alone = self._standing_alone()
        said = f"{shown(alone)} cup of legume pasta is no meat alternate here: it is one only beside another."
        return [*self._said_of_grains(), *self._said_of_volume(), *([said] if alone else [])]

    def _standing_alone(self) -> Fraction:
        if self.of(Component.MEAT) or self.of(Component.ALTERNATE):
            return Fraction()
        return sum((line.per_serving for line in self.lines if line.food and line.food.beside_another), Fraction())

    def _total(self, components: Sequence[Component], *, apart: bool) -> Fraction:
        fitting = (each for each in self.lines if each.apart == apart and each.component in components)
        return sum((line.per_serving for line in fitting), Fraction())

    def _room(self, components: Sequence[Component]) -> Fraction | None:
        return self.serving.room_for(components[0]) if components[0].unit == "cup" else None

    def _grains(self) -> list[tuple[Food, Fraction, Fraction]]:
        """Each grain of which less is served than was cooked: the cups served and the ounce equivalents too many."""
        found = []
        for food in dict.fromkeys(line.food for line in self.lines if line.food):
            limit = self.serving.limit(food)
            made = sum((line.per_serving for line in self.lines if line.food == food), Fraction())
            if limit and made > limit[1]:
                found.append((food, limit[0], made - limit[1]))
        return found

    def _said_of_grains(self) -> list[str]:
        return [
            f"Of the {food.id}, {shown(cups)} cup is served; the {shown(excess)} oz eq above that are not counted."
            for food, cups, excess in self._grains()
        ]

    def _said_of_volume(self) -> list[str]:
        said = []
        singles = [(each,) for each in (*VEGETABLES, Component.LEGUME, Component.FRUIT, Component.MILK)]
        for components in (*singles, VEGETABLES):
            room, found = self._room(components), self._total(components, apart=False)
            if room is not None and found > room:
                what = components[0].said if len(components) == 1 else "all vegetables"
                said.append(f"{what.capitalize()}: {shown(found)} cup, but the serving holds {shown(room)} cup.")
        return said
