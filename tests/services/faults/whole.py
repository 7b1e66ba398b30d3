"""What must be so after every fault."""

from __future__ import annotations

import json

from tests.services.servers import Service

INSPECT = "from tests.services.faults.inspection import main; main()"


def whole(service: Service) -> None:
    """Fail with a sentence for each thing that was lost, doubled, skipped or broken (see `inspection`)."""
    said = json.loads(service.script(INSPECT).splitlines()[-1])
    assert not said, "\n".join(said)
