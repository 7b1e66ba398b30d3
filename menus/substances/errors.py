"""What goes wrong when somebody names a substance."""

from __future__ import annotations


class UnknownSubstance(LookupError):
    """A code or name that the catalogue does not hold, with the nearest ones it does."""

    def __init__(self, text: str, nearest: tuple[str, ...]) -> None:
        self.text = text
        self.nearest = nearest
        hint = f" Did you mean {' or '.join(nearest)}?" if nearest else ""
        super().__init__(
            f"No substance is called {text!r} in the catalogue, so nothing could be matched against it.{hint} "
            "Use a code from the substance list."
        )
