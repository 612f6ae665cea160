"""Loggers: adding one, its token, and the readings it sends over the network."""

from collections.abc import Mapping

from django.db import transaction
from django.utils import timezone

from kegsafe.cold_chain.models import LoggedReading, Logger
from kegsafe.cold_chain.services.log_store import Put, put_readings, take_place, write_hours
from kegsafe.equipment.models import Place
from kegsafe.frame.tokens import new_token, token_hash
from kegsafe.ledger.services import Recorder, create, record, take_turn

_SHOWN_OF_TOKEN = 6


@transaction.atomic
def add_logger(*, place: Place, name: str, interval_s: int | None, by: Recorder) -> Logger:
    """Put a logger on the list of a place."""
    logger = Logger(place=place, name=name.strip(), interval_s=interval_s)
    create(logger, by=by, action="added")
    return logger


@transaction.atomic
def give_token(*, logger: Logger, by: Recorder) -> str:
    """Return a new token, which is shown once; the one before it ends.

    A token is 256 random bits, so a plain hash of it cannot be guessed back.
    """
    token = new_token()
    _change(logger, by, "token given", sha256=token_hash(token), prefix=token[:_SHOWN_OF_TOKEN])
    return token


@transaction.atomic
def revoke_token(*, logger: Logger, by: Recorder) -> None:
    """End a token at once."""
    _change(logger, by, "token revoked", sha256="", prefix="")


def _change(logger: Logger, by: Recorder, action: str, *, sha256: str, prefix: str) -> None:
    take_turn(by)
    current = Logger.objects.select_for_update().get(pk=logger.pk)
    current.token_sha256, current.token_prefix = sha256, prefix
    current.revoked_at = None if sha256 else timezone.now()
    current.full_clean()
    current.save()
    record(current, by=by, action=action)
    logger.refresh_from_db()


@transaction.atomic
def put_sent(*, logger: Logger, readings: Mapping[int, int]) -> Put:
    """Store what a logger sent: second of the epoch to hundredths of a degC, -6000 to 6000."""
    put = Put()
    take_place(logger.place)
    put_readings(logger.place_id, readings, LoggedReading.Source.NETWORK.value, put)
    write_hours(logger.place_id, put)
    Logger.objects.filter(pk=logger.pk).update(last_seen_at=timezone.now())
    return put
