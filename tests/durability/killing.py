"""Kill a recording bar with SIGKILL again and again, and look at what is on disk after each.

Started as a process of its own (`python -m tests.durability.killing --kills 300 --seed 1`),
with DATABASE_URL naming its file. Prints one JSON object: what was tried and every fault found.
"""

import json
import os
import random
import select
import shutil
import signal
import sys
import time
import traceback
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from django.db import connection

from kegsafe.ledger.models import Chain, Entry
from kegsafe.ledger.verification import verify_chain, verify_records
from tests.durability.bar_at_work import ACTS, make_ready, work

LONGEST_SHIFT_S = 0.04
KILLS_OF_ONE_BAR = 20  # then a fresh copy: the checks read everything, so a long history is slow


@dataclass(frozen=True, slots=True)
class Said:
    """What a bar said: each act it began, and the head of the chain after those it finished."""

    began: list[str]
    kept: list[tuple[int, str]]

    @classmethod
    def read(cls, pipe: int) -> "Said":
        with os.fdopen(pipe, encoding="utf-8") as lines:
            words = [line.rstrip("\n").partition(" ") for line in lines]
        kept = [rest.split() for word, _, rest in words if word == "kept"]
        return cls(
            [rest for word, _, rest in words if word == "began"],
            [(int(sequence), digest) for sequence, digest in kept],
        )

    @property
    def in_flight(self) -> str | None:
        """The act that had begun and was not acknowledged."""
        return self.began[-1] if len(self.began) > len(self.kept) else None


class Opened:
    """A process that records at the bar until it is told to stop or is killed."""

    def __init__(self, *, first: int = 0, acts: int | None = None) -> None:
        connection.close()
        self.pipe, say = os.pipe()
        self.process = os.fork()
        if self.process == 0:
            _record_and_exit(first, acts, say)
        os.close(say)

    def finish(self) -> Said:
        """Wait for all its acts."""
        said = Said.read(self.pipe)
        _pid, status = os.waitpid(self.process, 0)
        assert status == 0, "the undisturbed bar failed"
        return said

    def kill(self, rng: random.Random) -> Said:
        """Kill it at a random moment after it began."""
        select.select([self.pipe], [], [])
        time.sleep(rng.uniform(0, LONGEST_SHIFT_S))
        with suppress(ProcessLookupError):
            os.kill(self.process, signal.SIGKILL)
        said = Said.read(self.pipe)
        _pid, status = os.waitpid(self.process, 0)
        assert os.WIFSIGNALED(status), "the bar stopped by itself"
        return said


def _record_and_exit(first: int, acts: int | None, say: int) -> None:
    try:
        work(first, acts, say)
    except BaseException:
        traceback.print_exc()
        os._exit(1)
    os._exit(0)


def sizes_of_acts(before: int) -> dict[str, int]:
    """Return how many entries each act writes, learnt from a bar nobody disturbs."""
    said = Opened(acts=3 * ACTS).finish()
    heads = [before, *(sequence for sequence, _ in said.kept)]
    sizes = [after - earlier for earlier, after in pairwise(heads)]
    return dict(zip(said.began, sizes, strict=True))


def faults_after(said: Said, before: int, sizes: dict[str, int]) -> Iterator[str]:
    """Say what is wrong on disk, given what the killed bar had said."""
    chain = Chain.objects.get()
    kept, digest = said.kept[-1] if said.kept else (before, None)
    if digest and not Entry.objects.filter(sequence=kept, hash=digest).exists():
        yield f"acknowledged entry {kept} is lost"
    whole = {kept, kept + sizes[said.in_flight]} if said.in_flight else {kept}
    if chain.head_sequence not in whole:
        yield f"'{said.in_flight}' is half done: {chain.head_sequence} entries, not one of {whole}"
    if broken := verify_chain(chain).broken:
        yield f"the chain: entry {broken.sequence}: {broken.what}"
    yield from (f"the records: {broken.what}" for broken in verify_records())
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA quick_check")
        if (answer := cursor.fetchall()) != [("ok",)]:
            yield f"quick_check: {answer}"


def main(kills: int, seed: int) -> dict[str, object]:
    """Kill so many bars and count what was under way when they died."""
    rng = random.Random(seed)
    make_ready()
    sizes = sizes_of_acts(_head())
    connection.close()
    here = Path(connection.settings_dict["NAME"])
    fresh = shutil.copy(here, here.with_suffix(".fresh"))
    acknowledged, survived, faults = 0, 0, []
    in_flight: Counter[str] = Counter()
    for number in range(kills):
        if number % KILLS_OF_ONE_BAR == 0:
            _begin_again(here, fresh)
        before = _head()
        said = Opened(first=rng.randrange(ACTS)).kill(rng)
        faults += [f"kill {number}: {fault}" for fault in faults_after(said, before, sizes)]
        acknowledged += len(said.kept)
        in_flight[said.in_flight or "between two acts"] += 1
        survived += _head() > (said.kept[-1][0] if said.kept else before)
    return {
        "kills": kills,
        "acknowledged": acknowledged,
        "in_flight": in_flight,
        "on_disk_though_not_acknowledged": survived,
        "faults": faults,
    }


def _head() -> int:
    return Chain.objects.values_list("head_sequence", flat=True).get()


def _begin_again(here: Path, fresh: Path) -> None:
    connection.close()
    for name in ("-wal", "-shm"):
        here.with_name(here.name + name).unlink(missing_ok=True)
    shutil.copy(fresh, here)


if __name__ == "__main__":
    parser = ArgumentParser(description="Kill a recording bar and look at what is on disk.")
    parser.add_argument("--kills", type=int, required=True)
    parser.add_argument("--seed", type=int, required=True)
    json.dump(main(**vars(parser.parse_args())), sys.stdout)
