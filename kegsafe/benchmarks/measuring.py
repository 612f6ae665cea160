"""Two things timed in turn, in one process: only their ratio travels to another machine."""

import gc
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import median

NOISE = 0.15  # what two runs on one machine may differ by


@dataclass(frozen=True, slots=True)
class Comparison:
    """A thing measured against a yardstick: medians in seconds, their ratio, and its bound."""

    what: str
    yardstick: str
    seconds: float
    yardstick_seconds: float
    ratio: float
    bound: float

    @property
    def is_broken(self) -> bool:
        return self.ratio > self.bound

    def __str__(self) -> str:
        word = "BROKEN" if self.is_broken else "kept"
        return (
            f"{self.what}: {_written(self.seconds)}; {self.yardstick}: "
            f"{_written(self.yardstick_seconds)}; ratio {self.ratio:.2f}, "
            f"at most {self.bound:g}: {word}"
        )


def take_turns(
    works: Mapping[str, Callable[[], object]], *, rounds: int, times: int
) -> dict[str, list[float]]:
    """Return for each work the seconds of one run in each round, the works taking turns.

    A round runs each work `times` times and divides. Each is run once before,
    so that nothing is measured cold.
    """
    for work in works.values():
        work()
    seconds: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            seconds[name].append(_timed(work, times))
    return seconds


def compare(
    what: str, yardstick: str, seconds: Mapping[str, list[float]], *, bound: float
) -> Comparison:
    """Return two measured works as a comparison: the ratio is the median of the rounds' ratios."""
    ratios = [one / other for one, other in zip(seconds[what], seconds[yardstick], strict=True)]
    return Comparison(
        what, yardstick, median(seconds[what]), median(seconds[yardstick]), median(ratios), bound
    )


def _timed(work: Callable[[], object], times: int) -> float:
    gc.collect()
    began = time.perf_counter()
    for _ in range(times):
        work()
    return (time.perf_counter() - began) / times


def _written(seconds: float) -> str:
    return f"{seconds * 1000:.2f} ms" if seconds < 1 else f"{seconds:.2f} s"
