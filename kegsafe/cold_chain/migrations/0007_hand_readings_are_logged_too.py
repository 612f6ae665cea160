"""Copy what was read by hand into the column that is integrated; back: it is emptied."""

from itertools import groupby
from math import ceil

from django.db import migrations
from django.db.models import Q

BY_HAND = 0


def copy(apps, schema_editor):
    reading = apps.get_model("cold_chain", "Reading")
    rows = reading.objects.order_by("place_id", "read_at").values_list(
        "place_id", "read_at", "temperature_degc"
    )
    for place, of_place in groupby(rows.iterator(), key=lambda row: row[0]):
        kept = {}
        for _, read_at, degc in of_place:
            at_s, centi = int(read_at.timestamp()), ceil(degc * 100)
            kept[at_s] = max(centi, kept.get(at_s, centi))
        _write(apps, place, sorted(kept.items()))


def _write(apps, place, kept):
    logged = apps.get_model("cold_chain", "LoggedReading")
    logged.objects.bulk_create(
        [logged(place_id=place, at_s=at, centi_degc=c, source=BY_HAND) for at, c in kept],
        batch_size=2000,
    )
    hours = apps.get_model("cold_chain", "HourOfReadings")
    hours.objects.bulk_create(
        [
            _hour(hours, place, hour, list(rows))
            for hour, rows in groupby(kept, key=lambda row: row[0] // 3600)
        ],
        batch_size=500,
    )


def _hour(model, place, hour, rows):
    times, degrees = [row[0] for row in rows], [row[1] for row in rows]
    steps = [after - before for before, after in zip(times, times[1:], strict=False)]
    return model(
        place_id=place,
        hour=hour,
        readings=len(rows),
        coldest=min(degrees),
        warmest=max(degrees),
        first_s=times[0],
        first_centi_degc=degrees[0],
        last_s=times[-1],
        last_centi_degc=degrees[-1],
        longest_step_s=max(steps, default=0),
    )


def empty(apps, schema_editor):
    everything = Q(at_s__gte=-(2**62))
    apps.get_model("cold_chain", "LoggedReading").objects.filter(everything).delete()
    apps.get_model("cold_chain", "HourOfReadings").objects.filter(hour__gte=-(2**31)).delete()


class Migration(migrations.Migration):
    dependencies = [("cold_chain", "0006_cooling_records")]
    operations = [migrations.RunPython(copy, empty)]
