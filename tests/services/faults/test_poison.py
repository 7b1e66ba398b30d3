"""One site whose food cannot be worked out, among healthy ones."""

from __future__ import annotations

import pytest

from tests.services.faults.crew import Crew
from tests.services.faults.watch import Watch
from tests.services.faults.whole import whole
from tests.services.faults.world import ALONE, SITES
from tests.services.servers import Service, wait_for

pytestmark = pytest.mark.services

SICK = f"site-{ALONE}"
A_CIRCLE = """
    UPDATE menus_recipeline SET sub_recipe_id = version.recipe_id
    FROM menus_recipeversion AS version
    WHERE version.id = menus_recipeline.version_id AND sub_recipe_id IS NOT NULL
"""
MENDED = """
    UPDATE menus_recipeline SET sub_recipe_id = broth.id FROM menus_recipe AS broth
    WHERE broth.name = 'Broth' AND sub_recipe_id IS NOT NULL
"""
LETTERS = """
    SELECT count(*) FROM compliance_deadletter AS letter JOIN menus_site AS site ON site.id = letter.site_id
    WHERE site.code = %s AND letter.settled_at IS NULL AND letter.error <> ''
"""


def test_a_poison_site_fails_alone(service: Service, staff: Crew, watch: Watch) -> None:
    """A recipe that holds itself, as no form lets one write: its site is told of, and all others are checked."""
    watch.do(A_CIRCLE)
    staff.worker()
    staff.beat()
    watch.all_complete(SITES - 1)
    assert watch.one(LETTERS, SICK) > 0
    assert watch.one("SELECT state FROM compliance_night") == "partial"
    whole(service)

    watch.do(MENDED)
    service.run("manage.py", "nightly", "--site", SICK)
    watch.all_complete()
    wait_for(lambda: watch.one(LETTERS, SICK), 0)  # the next sweep settles what is made good
    whole(service)
