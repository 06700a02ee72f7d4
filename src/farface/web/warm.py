"""Load the compiled physics beside the first page, so that it need not be waited for twice."""

import threading
from contextlib import suppress

from farface.kernel import FarfaceError
from farface.web.visit import Place


class Warmth:
    """Run the physics once in a thread of its own; ``ready`` is set when a page can count on it."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.ready = threading.Event()

    def start(self) -> None:
        """Begin; called once, when the server starts."""
        threading.Thread(target=self._run, daemon=True).start()

    def _run(self) -> None:
        from farface.app.explain import look_at_section
        from farface.app.settings import Typed

        try:
            with suppress(FarfaceError), self.place.bench() as work:
                look_at_section(work, Typed())
        finally:
            self.ready.set()
