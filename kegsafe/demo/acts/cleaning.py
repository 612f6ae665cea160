"""What people of the scenario do with brush and detergent."""

from collections.abc import Callable, Mapping
from datetime import datetime

from kegsafe.cleaning import services as cleaning
from kegsafe.demo.desk import Desk
from kegsafe.ledger.services import Recorder


def clean(
    desk: Desk,
    at: datetime,
    by: Recorder,
    *,
    method: str,
    verification: str,
    kegs: tuple[str, ...] = (),
    lines: tuple[str, ...] = (),
    is_allergen_clean: bool = False,
) -> None:
    """Record the same clean of several kegs and lines."""
    cleaning.record_cleans(
        venue=desk.venue,
        items=[
            *(desk.get("keg", name) for name in kegs),
            *(desk.get("line", name) for name in lines),
        ],
        cleaned_at=at,
        method=method,
        sanitised=True,
        is_allergen_clean=is_allergen_clean,
        verification=verification,
        by=by,
    )


CLEANING: Mapping[str, Callable[..., None]] = {
    "clean": clean,
}
