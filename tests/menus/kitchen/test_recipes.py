"""Folding evidence upward through recipes."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from menus.kitchen.recipes import RecipeFacts, fold
from menus.labels.evidence import ANY, Evidence, Kind, Step

MILK = Evidence("milk", Kind.NAMED, path=(Step("product", "1", "Butter"),))
WHEAT = Evidence("wheat", Kind.NAMED, path=(Step("product", "2", "Flour"),))


def test_evidence_rises_through_every_level_with_its_chain() -> None:
    """The chain reads from the dish down to the product."""
    recipes = {
        1: RecipeFacts(11, "Pie", (), (2,)),
        2: RecipeFacts(12, "Crust", (2,), (3,)),
        3: RecipeFacts(13, "Butter paste", (1,), ()),
    }
    folded = fold(recipes, {1: (MILK,), 2: (WHEAT,)})
    milk = next(piece for piece in folded[1] if piece.substance == "milk")
    assert [step.name for step in milk.path] == ["Pie", "Crust", "Butter paste", "Butter"]


def test_unknown_product_and_recipe_are_unread() -> None:
    """What nobody recorded may hold anything."""
    folded = fold({1: RecipeFacts(11, "Pie", (9,), (8,))}, {})
    assert [(piece.substance, piece.kind) for piece in folded[1]] == [(ANY, Kind.UNIDENTIFIED)] * 2


def test_nothing_else_is_invented() -> None:
    """A dish of one known product has that product's evidence and no more."""
    folded = fold({1: RecipeFacts(11, "Toast", (2,), ())}, {1: (MILK,), 2: (WHEAT,)})
    assert [piece.substance for piece in folded[1]] == ["wheat"]


@st.composite
def worlds(draw: st.DrawFn) -> tuple[dict[int, RecipeFacts], dict[int, tuple[Evidence, ...]]]:
    """Random recipes that hold something, and only later ones, over products with one substance each."""
    products = {n: (Evidence(f"s{n}", Kind.NAMED, path=(Step("product", str(n), f"p{n}"),)),) for n in range(6)}
    count = draw(st.integers(1, 6))
    recipes = {
        n: RecipeFacts(
            100 + n,
            f"r{n}",
            tuple(draw(st.lists(st.integers(0, 5), min_size=1, max_size=3))),
            tuple(draw(st.lists(st.integers(n + 1, count - 1), max_size=2))) if n + 1 < count else (),
        )
        for n in range(count)
    }
    return recipes, products


@given(worlds(), st.integers(0, 5))
def test_adding_an_ingredient_never_removes_evidence(
    world: tuple[dict[int, RecipeFacts], dict[int, tuple[Evidence, ...]]], extra: int
) -> None:
    """Design section 2, item 3: more in the pot is never milder, in the recipe or above it."""
    recipes, products = world
    before = fold(recipes, products)
    changed = dict(recipes)
    last = max(recipes)
    facts = recipes[last]
    changed[last] = RecipeFacts(facts.version, facts.name, (*facts.products, extra), facts.recipes)
    after = fold(changed, products)
    assert all(set(before[recipe]) <= set(after[recipe]) for recipe in recipes)


@given(worlds())
def test_fold_equals_a_plain_walk(world: tuple[dict[int, RecipeFacts], dict[int, tuple[Evidence, ...]]]) -> None:
    """The fold holds exactly the substances that a walk down the tree meets."""
    recipes, products = world

    def walk(recipe: int) -> set[str]:
        facts = recipes[recipe]
        found = {piece.substance for product in facts.products for piece in products[product]}
        return found.union(*(walk(part) for part in facts.recipes))

    folded = fold(recipes, products)
    assert {recipe: {piece.substance for piece in pieces} for recipe, pieces in folded.items()} == {
        recipe: walk(recipe) for recipe in recipes
    }


def test_a_recipe_without_a_line_is_unread() -> None:
    """Nothing written down is not nothing in the pot."""
    folded = fold({1: RecipeFacts(11, "Pie", (), (2,)), 2: RecipeFacts(12, "Filling", (), ())}, {})
    assert [(piece.substance, piece.kind) for piece in folded[1]] == [(ANY, Kind.UNIDENTIFIED)]
    assert [step.name for step in folded[1][0].path] == ["Pie", "Filling"]
