"""Forms of a place's cooling, of loggers and their files, of thermometers and of what cools."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from kegsafe.cold_chain.log_file import DateOrder, LogShape, Unit
from kegsafe.cold_chain.log_file.zones import zone_of
from kegsafe.cold_chain.models import (
    CoolingRecord,
    Logger,
    PlaceCooling,
    Thermometer,
    ThermometerCheck,
)
from kegsafe.cold_chain.temperature_field import UNITS, TemperatureField
from kegsafe.equipment.models import Place
from kegsafe.frame.layout import PageFormHelper, SideBySide
from kegsafe.frame.moment_fields import PastMomentField
from kegsafe.frame.quantity_fields import QuantityField
from kegsafe.quantities import Kind, UnitSystem
from kegsafe.rules.cold.temperature_log import to_warmer_hundredth

LARGEST_LOG_BYTES = 24 * 1024 * 1024
_SECONDS_A_MINUTE = 60


class CoolingForm(forms.Form):
    """How cold a place is meant to be and how it is read."""

    interval_min = forms.DecimalField(
        label="Minutes between readings of its logger",
        required=False,
        min_value=Decimal("0.02"),
        max_value=Decimal(1440),
        help_text="Leave it out for a place that is read by hand.",
    )
    thermometer = forms.ModelChoiceField(
        queryset=Thermometer.objects.none(), required=False, empty_label="None on record"
    )
    probe_in = forms.ChoiceField(label="The probe stands in", choices=PlaceCooling.ProbeIn)
    reason = forms.CharField(
        label="Why it changes", required=False, max_length=200, help_text="For the record."
    )

    def __init__(
        self, *args: Any, place: Place, known: PlaceCooling | None, units: UnitSystem, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self._known = known
        for name, label, hint in (
            ("target_degc", "Target for quality", "Kegs: about 2 to 3 °C. Common practice."),
            ("limit_degc", "Limit of this place", "Counts where it is colder than the code's."),
        ):
            self.fields[name] = TemperatureField(
                name=place.name,
                units=units,
                label=label,
                required=False,
                help_text=hint,
                **_initial_degrees(known and getattr(known, name)),
            )
        self.fields["thermometer"].queryset = Thermometer.objects.filter(
            venue=place.venue_id, is_active=True
        )
        self.fields["thermometer"].initial = known and known.thermometer_id
        self.fields["probe_in"].initial = known.probe_in if known else PlaceCooling.ProbeIn.AIR
        if known and known.reading_interval_s:
            self.fields[
                "interval_min"
            ].initial = f"{Decimal(known.reading_interval_s) / _SECONDS_A_MINUTE:.2f}"
        if known is None:
            del self.fields["reason"]
        self.order_fields(["target_degc", "limit_degc"])
        self.helper = PageFormHelper(self, act="Record how it is cooled")

    def values(self) -> dict[str, Any]:
        """Return what was typed, by field of PlaceCooling."""
        typed = self.cleaned_data
        minutes = typed["interval_min"]
        return {
            **{
                name: None if typed[name] is None else to_warmer_hundredth(typed[name].value)
                for name in ("target_degc", "limit_degc")
            },
            "reading_interval_s": None if minutes is None else round(minutes * _SECONDS_A_MINUTE),
            "thermometer": typed["thermometer"],
            "probe_in": typed["probe_in"],
        }


def _initial_degrees(degc: Decimal | None) -> dict[str, Any]:
    return {} if degc is None else {"initial": [f"{degc.normalize():f}", UNITS[0]]}


class ActionForm(forms.Form):
    """What was done about an excursion."""

    what = forms.CharField(
        label="What was done",
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Such as: moved K3 and K7 to the walk-in, called the engineer, held both kegs.",
    )
    taken_at = PastMomentField(label="When")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Record the corrective action")


class LoggerForm(forms.Form):
    """A logger of a place."""

    name = forms.CharField(max_length=60, help_text="What is written on it.")
    interval_min = forms.DecimalField(
        label="Minutes between readings",
        required=False,
        min_value=Decimal("0.02"),
        max_value=Decimal(1440),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Add the logger")

    def interval_s(self) -> int | None:
        """Return the interval in seconds."""
        minutes = self.cleaned_data["interval_min"]
        return None if minutes is None else round(minutes * _SECONDS_A_MINUTE)


class LogFileForm(forms.Form):
    """A logger's file to look at."""

    file = forms.FileField(label="The logger's file", help_text="CSV as the logger writes it.")
    logger = forms.ModelChoiceField(
        queryset=Logger.objects.none(), required=False, empty_label="Not on the list"
    )

    def __init__(self, *args: Any, place: Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["logger"].queryset = Logger.objects.filter(place=place)
        self.helper = PageFormHelper(self, act="Look at the file")

    def clean_file(self) -> Any:
        """Refuse a file too large to be looked at on a page."""
        file = self.cleaned_data["file"]
        if file.size > LARGEST_LOG_BYTES:
            most = LARGEST_LOG_BYTES // 1024 // 1024
            raise ValidationError(
                f"The file is larger than {most} MB. Import it with manage.py import_temperatures."
            )
        return file


class ShapeForm(forms.Form):
    """How a file is to be read: what was understood, to be corrected."""

    time_columns = forms.ChoiceField(label="Time of a reading")
    temperature_column = forms.ChoiceField(label="Temperature")
    unit = forms.ChoiceField(label="Unit")
    decimal = forms.ChoiceField(
        label="Decimals", choices=[("", "Choose"), (".", "4.5"), (",", "4,5")]
    )
    date_order = forms.ChoiceField(label="Order of a date")
    zone = forms.CharField(
        label="The logger's clock is set to",
        max_length=60,
        help_text="Europe/London, UTC, or +01:00 for a clock that keeps one time all year.",
    )
    accept_doubts = forms.BooleanField(
        label="I have looked: import it all the same", required=False
    )

    def __init__(self, *args: Any, shape: LogShape, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._shape = shape
        columns = [(str(k), _column_name(shape, k)) for k in range(shape.width)]
        pairs = [
            (f"{a},{b}", f"{_column_name(shape, a)} and {_column_name(shape, b)}")
            for a in range(min(shape.width, 12))
            for b in range(min(shape.width, 12))
            if a != b
        ]
        choices = {
            "time_columns": columns + pairs,
            "temperature_column": columns,
            "unit": [(Unit.CELSIUS.value, "°C"), (Unit.FAHRENHEIT.value, "°F")],
            "date_order": [
                (DateOrder.YEAR_FIRST.value, "year, month, day"),
                (DateOrder.DAY_FIRST.value, "day, month, year"),
                (DateOrder.MONTH_FIRST.value, "month, day, year"),
            ],
        }
        for name, offered in choices.items():
            self.fields[name].choices = [("", "Choose"), *offered]
        for name, value in _written(shape).items():
            self.fields[name].initial = value

    def clean_zone(self) -> str:
        """Refuse what is no time zone."""
        typed = self.cleaned_data["zone"].strip()
        if zone_of(typed) is None:
            raise ValidationError(f'"{typed}" is no time zone. Write Europe/London, UTC or +01:00.')
        return typed

    def chosen(self) -> LogShape:
        """Return the shape as it was corrected; UnreadableLog for what does not fit together."""
        typed = self.cleaned_data
        return self._shape.chosen(
            time_columns=tuple(int(each) for each in typed["time_columns"].split(",")),
            temperature_column=int(typed["temperature_column"]),
            unit=typed["unit"],
            decimal=typed["decimal"],
            date_order=typed["date_order"],
            zone=typed["zone"],
        )


def _written(shape: LogShape) -> dict[str, str | None]:
    """Return a shape as the fields of the form write it."""
    columns = shape.time_columns
    return {
        "time_columns": None if columns is None else ",".join(map(str, columns)),
        "temperature_column": None
        if shape.temperature_column is None
        else str(shape.temperature_column),
        "unit": shape.unit,
        "decimal": shape.decimal,
        "date_order": shape.date_order,
        "zone": shape.zone,
    }


def _column_name(shape: LogShape, index: int) -> str:
    name = shape.column_names[index].strip() if shape.column_names else ""
    return f"{index + 1}: {name[:40]}" if name else f"column {index + 1}"


class ThermometerForm(forms.Form):
    """A thermometer for the list."""

    name = forms.CharField(max_length=60, help_text="What is written on it, such as probe 2.")
    is_air = forms.BooleanField(label="It measures air, not food or liquid", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Add the thermometer")


class CheckForm(forms.Form):
    """One check of a thermometer."""

    method = forms.ChoiceField(label="Held in", choices=ThermometerCheck.Means)
    altitude = QuantityField(
        kind=Kind.ALTITUDE,
        minimum=Decimal(-500),
        maximum=Decimal(4500),
        required=False,
        help_text="Of the bar above the sea. For boiling water without a barometer.",
    )
    air_pressure = QuantityField(
        kind=Kind.ABSOLUTE_PRESSURE,
        minimum=Decimal(50_000),
        maximum=Decimal(110_000),
        required=False,
        help_text="In the room, not reduced to sea level. Better than the altitude.",
    )
    checked_at = PastMomentField(label="When")

    def __init__(
        self, *args: Any, thermometer: Thermometer, units: UnitSystem, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["read_degc"] = TemperatureField(
            name=thermometer.name, units=units, label="It read"
        )
        self.order_fields(["method", "read_degc"])
        self.helper = PageFormHelper(
            self,
            "method",
            "read_degc",
            SideBySide("altitude", "air_pressure"),
            "checked_at",
            act="Record the check",
        )


class BeginCoolingForm(forms.Form):
    """Something hot that begins to cool."""

    what = forms.CharField(
        label="What cools", max_length=120, help_text="Such as ginger syrup, pan 2."
    )
    procedure = forms.ChoiceField(label="How it was made", choices=CoolingRecord.MadeFrom)
    began_at = PastMomentField(label="When")

    def __init__(self, *args: Any, units: UnitSystem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["degc"] = TemperatureField(
            name="what cools", units=units, label="Temperature in its warmest part"
        )
        self.order_fields(["what", "procedure", "degc"])
        self.helper = PageFormHelper(self, act="Begin the record")


class CoolingReadingForm(forms.Form):
    """One temperature of what cools."""

    read_at = PastMomentField(label="When")

    def __init__(self, *args: Any, units: UnitSystem, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["degc"] = TemperatureField(
            name="what cools", units=units, label="Temperature in its warmest part"
        )
        self.order_fields(["degc"])
        self.helper = PageFormHelper(self, act="Record the temperature")
