"""How a command is told which venue it is about."""

from django.core.management.base import CommandError

from kegsafe.venues.models import Venue


def one_venue(name: str | None) -> Venue:
    """Return the venue of a name, or the only one there is.

    Raises CommandError, exit status 2, naming those on record, where that is not one.
    """
    venues = list(Venue.objects.filter(name=name) if name else Venue.objects.all()[:2])
    if len(venues) != 1:
        known = ", ".join(Venue.objects.values_list("name", flat=True)) or "none yet"
        raise CommandError(f"Name one venue with --venue. On record: {known}.", returncode=2)
    return venues[0]
