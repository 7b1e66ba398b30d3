"""Sentences and names of the pure packages that a lunchbox page shows: marked here, so that they are translated."""

from __future__ import annotations

from django.utils.translation import gettext_noop

SHAPES = (
    gettext_noop(
        "Cut lengthwise into quarters or smaller, no piece wider than 1/2 inch (13 mm); for infants without the "
        "skin and no wider than 1/4 inch (6 mm)."
    ),
    gettext_noop("Quarter lengthwise."),
    gettext_noop("Take out the stone and quarter."),
    gettext_noop("Halve or quarter; mash for infants."),
    gettext_noop("Serve thin slices or dice of at most 1/2 inch (13 mm)."),
    gettext_noop("Cut in slices, not chunks, and take out the seeds."),
    gettext_noop(
        "Cut lengthwise into quarters, then into pieces of at most 1/2 inch (13 mm). Some state programmes bar "
        "them under 4 years in any form: ask."
    ),
    gettext_noop("Take off the skin and cut in thin strips, not in rounds."),
    gettext_noop("Quarter or crumble."),
    gettext_noop("Not whole and not in pieces: only finely ground inside a food."),
    gettext_noop("Not whole and not in pieces: only finely chopped or ground."),
    gettext_noop("Not whole: ground, or as a thin spread."),
    gettext_noop("Do not serve."),
    gettext_noop("Do not serve; offer soft fresh fruit."),
    gettext_noop("Do not serve, and do not use in play."),
    gettext_noop("Do not give from the packet, nor as a thing to play with; set gelatin in small spoonfuls."),
    gettext_noop("Cook until a fork goes in with ease, then cut; or grate."),
    gettext_noop("Cook until slightly soft and cut small, or grate; take off the strings."),
    gettext_noop("Cook soft, grate, or cut in very thin slices; for the youngest without skin and seeds."),
    gettext_noop("Very ripe and soft, or cooked, in thin slices."),
    gettext_noop("Steam until soft, or cut in thin strips or grate."),
    gettext_noop("Cook soft and mash lightly."),
    gettext_noop("For infants and young toddlers cream-style or mashed."),
    gettext_noop("Cook until soft, in pieces of at most 1/2 inch (13 mm)."),
    gettext_noop("Cook into food or chop finely; not as a snack under 12 months."),
    gettext_noop("Creamy only, spread thinly on bread or a cracker, or thinned with applesauce."),
    gettext_noop("Grate, or cut in thin slices or short thin strips."),
    gettext_noop("Pull into thin strings and cut them short."),
    gettext_noop("Grind, shred or cut in pieces of at most 1/2 inch (13 mm), and keep moist."),
    gettext_noop("Take out every bone before cooking or serving, and flake."),
    gettext_noop("Take the meat off the bone."),
    gettext_noop("Do not serve; offer soft tortilla or another soft food."),
    gettext_noop("Do not serve; offer soft bread."),
    gettext_noop("Break in small thin pieces, or leave out."),
    gettext_noop("Use the plain kind."),
    gettext_noop("Do not serve; a soft bar in small pieces instead."),
    gettext_noop("For infants only soft kinds that melt in the mouth."),
    gettext_noop("For infants as cereal, or mashed."),
    gettext_noop("Mash lightly or cut."),
    gettext_noop("No ice."),
    gettext_noop("Dice in pieces of at most 1/2 inch (13 mm), the grapes and cherries in it too."),
    gettext_noop("Very ripe, in thin slices or mashed."),
    gettext_noop("Take out stones and pips."),
    gettext_noop("Look in the recipe for what is in it and how it is cut."),
    gettext_noop("Take it off the stick and serve it on a plate."),
    gettext_noop("Leave out."),
    gettext_noop("Toast lightly and cut in thin strips."),
    gettext_noop("Chop or mash with something moist."),
    gettext_noop("Halve; customary even at six."),
    gettext_noop("Ask whether it is in there as such; if so, or if nobody knows:"),
    gettext_noop("The form is not clear: ask, and until it is known take it for whole."),
)
"""What menus.mealpattern.choking says to do, and what it asks first."""

BALANCE = (
    gettext_noop("food groups"),
    gettext_noop("colors"),
    gettext_noop("milk"),
    gettext_noop("fruit"),
    gettext_noop("vegetables"),
    gettext_noop("grains"),
    gettext_noop("meat or a meat alternate"),
    gettext_noop("milk or its alternative"),
    gettext_noop("orange"),
    gettext_noop("green"),
    gettext_noop("red"),
    gettext_noop("orange or red (one of them is there; the plan does not say which)"),
    gettext_noop("Nothing is planned."),
)
"""Topics and names of menus.mealpattern.balance."""

PORTIONS = (
    gettext_noop("1/2 cup"),
    gettext_noop("1/4 cup"),
    gettext_noop("1 large"),
    gettext_noop("1 oz"),
    gettext_noop("2.2 oz"),
    gettext_noop("1 cup"),
    gettext_noop("1 slice"),
)
"""Of the household foods."""

AMINO_ACIDS = (
    gettext_noop("histidine"),
    gettext_noop("isoleucine"),
    gettext_noop("leucine"),
    gettext_noop("lysine"),
    gettext_noop("methionine + cysteine"),
    gettext_noop("phenylalanine + tyrosine"),
    gettext_noop("threonine"),
    gettext_noop("tryptophan"),
    gettext_noop("valine"),
)
"""As menus.mealpattern.aminos names them."""
