"""What every page needs, loaded before the first one is asked for."""

from __future__ import annotations

import gc

from django.urls import get_resolver

from menus.labels.lexicon import Lexicon
from menus.substances.catalogue import Catalogue


def warm_up() -> None:
    """Load the pages, the catalogue of substances and the lexicon, and keep them from the garbage collector.

    They stay as long as the process. The collector would go through all of them again and again, and every so often one
    page would wait for that three times as long as for its own work.
    """
    _ = get_resolver().url_patterns  # imports every page
    Catalogue.load()
    Lexicon.load()
    gc.collect()
    gc.freeze()
