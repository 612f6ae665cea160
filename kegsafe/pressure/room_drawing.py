"""The drawing of a room with gas: where the gas would lie, and the same in words."""

from dataclasses import dataclass

from kegsafe.rules.pressure.room import RoomFacts, RoomVerdict

WIDTH, HEIGHT = 320, 170
_FLOOR, _CEILING, _LEFT, _RIGHT = 150, 20, 20, 300
_MOST_DRAWN = 6


@dataclass(frozen=True, slots=True)
class Drawing:
    """Places in the drawing, and `words`: the text for whoever does not see it.

    `gas_top` and `gas_height` are None where no figure is known. What is drawn is not to
    scale: the gas lies low, and that is what the drawing says.
    """

    cylinders: tuple[int, ...]
    monitors: tuple[int, ...]
    gas_top: int | None
    gas_height: int | None
    words: str


def drawing_of(room: RoomFacts, verdict: RoomVerdict) -> Drawing:
    """Return the drawing of a room."""
    cylinders, monitors = len(room.charges_kg), len(room.monitors)
    height = _gas_height(verdict)
    return Drawing(
        cylinders=tuple(_LEFT + 14 + 26 * place for place in range(min(cylinders, _MOST_DRAWN))),
        monitors=tuple(_RIGHT - 34 - 34 * place for place in range(min(monitors, 3))),
        gas_top=None if height is None else _FLOOR - height,
        gas_height=height,
        words=_words(room, verdict),
    )


def _gas_height(verdict: RoomVerdict) -> int | None:
    if verdict.release is None:
        return None
    share = min(verdict.release.screening_ppm / 1_000_000, 1.0)
    return max(4, round(share * (_FLOOR - _CEILING)))


def _words(room: RoomFacts, verdict: RoomVerdict) -> str:
    volume = f"{room.volume_m3:g} m3" if room.volume_m3 else "volume not recorded"
    kept = f"{len(room.charges_kg)} cylinder(s) and {len(room.monitors)} CO2 monitor(s)"
    if verdict.release is None:
        return f"{room.name}, {volume}: {kept}. No screening figure is known."
    return (
        f"{room.name}, {volume}: {kept}. If the largest cylinder empties, its "
        f"{verdict.release.gas_m3:.1f} m3 of gas lie at the floor; mixed through the room that is "
        f"{verdict.release.screening_ppm / 10_000:.1f} % of the air."
    )
