"""The time a search may take, told as work goes on; on Stop the best so far is taken."""

import time
from collections.abc import Callable

from tethera.web.work.doing import Progress, Stopped


class Watch:
    """Looks at the clock for a search, says how far it is, and hears a press on Stop.

    `so_far` puts the best found so far into words, to stand after what is being done.
    """

    def __init__(self, progress: Progress, limit_seconds: float, so_far: Callable[[float], str]) -> None:
        self._progress, self._limit, self._so_far = progress, limit_seconds, so_far
        self._began = time.monotonic()
        self.stopped = False

    def seconds(self) -> float:
        """Time left [s]; none once somebody pressed Stop."""
        return 0.0 if self.stopped else self._limit - (time.monotonic() - self._began)

    def tell(self, stage: str, best: float | None, bound: float | None) -> None:
        """Say what is being done, and hear a press on Stop."""
        done = round(1000 * (time.monotonic() - self._began) / self._limit)
        try:
            self._progress(min(max(done, 1), 999), 1000, stage + ("" if best is None else self._so_far(best)))
        except Stopped:
            self.stopped = True
