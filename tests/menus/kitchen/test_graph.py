"""Recipes that hold recipes."""

from __future__ import annotations

import pytest

from menus.kitchen.graph import RecipeCycle, check_acyclic


def test_shared_part_is_no_cycle() -> None:
    """Two recipes may hold the same third one."""
    check_acyclic({"lasagne": ["sauce", "bechamel"], "sauce": ["stock"], "bechamel": ["stock"]}, ["lasagne"])


def test_cycle_is_refused_with_its_path() -> None:
    """The error names the way round, from the first recipe back to itself."""
    with pytest.raises(RecipeCycle) as refused:
        check_acyclic({"soup": ["stock"], "stock": ["base"], "base": ["stock"]}, ["soup"])
    assert refused.value.path == ["stock", "base", "stock"]


def test_recipe_that_holds_itself() -> None:
    """The shortest cycle is one recipe long."""
    with pytest.raises(RecipeCycle, match="dough → dough"):
        check_acyclic({"dough": ["dough"]}, ["dough"])


def test_depth_beyond_the_stack() -> None:
    """Nesting deeper than Python's own stack is walked all the same."""
    check_acyclic({n: [n + 1] for n in range(20_000)}, [0])
