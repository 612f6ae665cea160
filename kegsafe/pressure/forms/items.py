"""Forms for items, keg plates and rooms: each kind asks for what its plate can say."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from kegsafe.equipment.models import Keg, Metal, Service
from kegsafe.frame.layout import PageFormHelper, Part, SideBySide
from kegsafe.frame.quantity_fields import QuantityField, as_typed
from kegsafe.ledger.forms import AmendForm, ReasonForm
from kegsafe.pressure.forms.fields import MonthField, as_yes_no, day_field, yes_no_field
from kegsafe.pressure.models import GasRoom, Item, KegPlate
from kegsafe.pressure.queries import regime_key
from kegsafe.pressure.services import GasNow
from kegsafe.quantities import Kind, in_unit
from kegsafe.rules.pressure.cylinders import cylinder_types
from kegsafe.venues.models import Venue

PLATE_SENTENCE = (
    "Copied from the plate, with the unit; gauge, as plates say it. What cannot be read stays "
    "blank, and blank is not allowed under pressure."
)

# What the form calls it: the record's field, and the kind of quantity that is typed.
QUANTITIES = {
    "rated_pressure": ("rated_gauge_pa", Kind.GAUGE_PRESSURE),
    "inlet_pressure": ("inlet_rated_gauge_pa", Kind.GAUGE_PRESSURE),
    "test_pressure": ("test_gauge_pa", Kind.GAUGE_PRESSURE),
    "relief_pressure": ("relief_gauge_pa", Kind.GAUGE_PRESSURE),
    "water_capacity": ("volume_ml", Kind.VOLUME),
    "tare": ("tare_g", Kind.MASS),
    "charge": ("charge_g", Kind.MASS),
}
ALARMS = {"first_alarm": "first_alarm_ppm", "main_alarm": "main_alarm_ppm"}

_AGE = ("marked_on", "replace_by")
PLATES = {
    "cylinder": (
        *("cylinder_rule", "stamped_on", "has_star", "requalify_by", "owner"),
        *("rated_pressure", "test_pressure", "water_capacity", "tare", "charge"),
    ),
    "regulator": ("rated_pressure", "inlet_pressure", "relief_pressure", *_AGE),
    "relief_valve": ("relief_pressure", "rated_pressure", *_AGE),
    "hose": ("rated_pressure", *_AGE),
    "manifold": ("rated_pressure", "test_pressure", *_AGE),
    "check_valve": ("rated_pressure", *_AGE),
    "monitor": ("first_alarm", "main_alarm", *_AGE),
}
_TOUCHES_DRINK = {"relief_valve", "hose", "check_valve"}


def _quantity(label: str, kind: Kind, examples: str) -> QuantityField:
    return QuantityField(
        kind=kind, label=label, required=False, help_text=f"For example {examples}."
    )


class ItemFields(forms.Form):
    """What is known of an item; the fields of other kinds are taken away."""

    name = forms.CharField(max_length=40, help_text="What is written on it, such as C3.")
    serial = forms.CharField(label="Serial number", max_length=60, required=False)
    maker = forms.CharField(max_length=80, required=False)
    room = forms.ModelChoiceField(GasRoom.objects.none(), required=False)
    keg = forms.ModelChoiceField(
        Keg.objects.none(), label="Fitted to keg", required=False, empty_label="Not on a keg"
    )
    metal = forms.ChoiceField(
        label="Metals touching the drink", choices=Metal.choices, initial=Metal.NOT_KNOWN
    )
    seals = forms.CharField(label="Seals", max_length=80, required=False)

    rated_pressure = _quantity("Rated pressure", Kind.GAUGE_PRESSURE, "7 bar or 100 psi")
    inlet_pressure = _quantity("Rated inlet pressure", Kind.GAUGE_PRESSURE, "200 bar or 3000 psi")
    test_pressure = _quantity("Test pressure", Kind.GAUGE_PRESSURE, "250 bar or 3600 psi")
    relief_pressure = _quantity("Relief opens at", Kind.GAUGE_PRESSURE, "4 bar or 60 psi")
    water_capacity = _quantity("Water capacity", Kind.VOLUME, "13.4 L")
    tare = _quantity("Tare", Kind.MASS, "9.1 kg or 20 lb")
    charge = _quantity("Full charge of CO2", Kind.MASS, "10 kg or 20 lb")
    first_alarm = _quantity("First alarm", Kind.GAS_FRACTION, "5000 ppm or 0.5 %")
    main_alarm = _quantity("Main alarm", Kind.GAS_FRACTION, "30000 ppm or 3 %")

    cylinder_rule = forms.ChoiceField(label="Specification on the shoulder", required=False)
    stamped_on = MonthField(label="Last test stamp", required=False)
    has_star = forms.BooleanField(label="A star is stamped behind the date", required=False)
    requalify_by = day_field(label="Day given by its owner or permit", required=False)
    owner = forms.CharField(label="Owner of the cylinder", max_length=80, required=False)
    marked_on = MonthField(label="Maker's date mark", required=False)
    replace_by = day_field(label="Replace by, as the maker says", required=False)

    def shape(self, kind: str, venue: Venue) -> tuple[Part, Part]:
        """Keep the fields of one kind and offer what the venue has; return the form's parts."""
        plate = PLATES[kind]
        what = ["name", "serial", "maker", "room"]
        if kind == "relief_valve":
            what.append("keg")
        if kind in _TOUCHES_DRINK:
            what += ["metal", "seals"]
        for name in set(ItemFields.base_fields) - {*what, *plate}:
            del self.fields[name]
        self.fields["room"].queryset = GasRoom.objects.filter(venue=venue)
        if "keg" in self.fields:
            kegs = Keg.objects.filter(venue=venue).exclude(service=Service.SCRAPPED)
            self.fields["keg"].queryset = kegs
        if "cylinder_rule" in self.fields:
            self.fields["cylinder_rule"].choices = [
                ("", "Cannot be read: treated as out of date"),
                *((row.rule, row.cylinder_type) for row in cylinder_types(regime_key(venue))),
            ]
        return Part("What it is", *what), Part(
            "The maker's plate and stamps", *plate, sentence=PLATE_SENTENCE
        )

    def record_values(self) -> dict[str, Any]:
        """Return the values by the record's names, in its base units."""
        found = {}
        for name, value in self.cleaned_data.items():
            if name in QUANTITIES:
                found[QUANTITIES[name][0]] = value.value if value else None
            elif name in ALARMS:
                found[ALARMS[name]] = int(in_unit(value, "ppm")) if value else None
            elif name in ItemFields.base_fields:
                found[name] = value
        return found


class ItemForm(ItemFields):
    """An item to add."""

    def __init__(self, *args: Any, kind: str, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        label = Item.Kind(kind).label
        self.helper = PageFormHelper(
            self,
            *self.shape(kind, venue),
            act=f"Add the {label if kind == 'monitor' else label.lower()}",
        )


class _Said(forms.ChoiceField):
    """An answer that goes with a change and is none itself."""

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Never: an answer alone amends nothing."""
        return False


class ItemAmendForm(AmendForm, ItemFields):
    """An item to amend. `set_over` names the regulators whose pressure stands on it now."""

    gas_now = _Said(
        label="The gas on it now",
        choices=GasNow.choices,
        widget=forms.RadioSelect,
        required=False,
        help_text="Only needed where a figure is below the pressure that is set.",
    )

    def __init__(
        self, *args: Any, record: Item, set_over: Sequence[str] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, record=record, **kwargs)
        parts = [*self.shape(record.kind, record.venue)]
        if set_over:
            warning = (
                f"Under gas now: {', '.join(set_over)}. A rating or relief setting below that, or "
                "left blank, is recorded, and stops the pour of the kegs behind it. Are you there? "
                "Shut the cylinder and relieve the pressure first."
            )
            parts.append(Part("The gas on it", "gas_now", sentence=warning))
        else:
            del self.fields["gas_now"]
        change = Part("The change", "reason", "seen")
        self.helper = PageFormHelper(self, *parts, change, act="Amend the record")

    def shown(self, record: Item) -> dict[str, Any]:
        """Return the item's values as somebody would type them."""
        units = record.venue.units
        shown = {
            name: as_typed(getattr(record, field), kind, units)
            for name, (field, kind) in QUANTITIES.items()
        }
        for name, field in ALARMS.items():
            ppm = getattr(record, field)
            shown[name] = None if ppm is None else f"{ppm} ppm"
        plain = set(ItemFields.base_fields) - shown.keys()
        return {**shown, **{name: getattr(record, name) for name in plain}}


class ItemServiceForm(ReasonForm):
    """Whether an item may be used, and why."""

    service = forms.ChoiceField(
        label="From now on", choices=Service.choices, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, initial={"service": item.service}, **kwargs)
        self.order_fields(["service", "reason"])
        self.helper = PageFormHelper(self, act="Set the service state")


class PlateForm(ReasonForm):
    """What else a keg's plate and papers say."""

    maker = forms.CharField(max_length=80, required=False)
    made_year = forms.IntegerField(label="Year", min_value=1950, max_value=2100, required=False)
    test_pressure = _quantity("Test pressure", Kind.GAUGE_PRESSURE, "13 bar or 190 psi")
    mark = forms.ChoiceField(label="Mark on the plate", choices=KegPlate.Mark.choices)
    is_for_drinks_distribution = yes_no_field(
        "Declared as designed for transporting and distributing drinks",
        help_text="What the maker's declaration says. Nobody seen one: not known.",
    )
    declaration = forms.CharField(
        label="Declaration: number and date", max_length=120, required=False
    )

    def __init__(self, *args: Any, plate: KegPlate | None, venue: Venue, **kwargs: Any) -> None:
        super().__init__(*args, initial=self._shown(plate, venue), **kwargs)
        self.order_fields([name for name in self.fields if name != "reason"])
        self.helper = PageFormHelper(self, act="Record the plate")

    def record_values(self) -> dict[str, Any]:
        """Return the values by the record's names."""
        typed = {**self.cleaned_data}
        del typed["reason"]
        pressure = typed.pop("test_pressure")
        return {**typed, "test_gauge_pa": pressure.value if pressure else None}

    @staticmethod
    def _shown(plate: KegPlate | None, venue: Venue) -> dict[str, Any]:
        if plate is None:
            return {"reason": "Read off the plate"}
        return {
            "maker": plate.maker,
            "made_year": plate.made_year,
            "test_pressure": as_typed(plate.test_gauge_pa, Kind.GAUGE_PRESSURE, venue.units),
            "mark": plate.mark,
            "is_for_drinks_distribution": as_yes_no(plate.is_for_drinks_distribution),
            "declaration": plate.declaration,
        }


class RoomFields(forms.Form):
    """What is known of a room with gas."""

    name = forms.CharField(max_length=80, help_text="Such as Cellar or Back bar.")
    volume = QuantityField(
        kind=Kind.ROOM_VOLUME,
        required=False,
        help_text="Length times width times height, for example 40 m3 or 1400 ft3. Measure it.",
    )
    air_changes = QuantityField(
        kind=Kind.AIR_CHANGES,
        label="Air changes",
        required=False,
        help_text="Fresh air in room volumes an hour, for example 2 /h. Not known: leave it out.",
    )
    is_below_ground = yes_no_field("Below ground")
    ventilation = forms.CharField(
        max_length=200, required=False, help_text="Openings and fans, as they are."
    )

    PARTS = (
        Part("The room", "name", SideBySide("volume", "air_changes")),
        Part("Air and ground", "is_below_ground", "ventilation"),
    )

    def record_values(self) -> dict[str, Any]:
        """Return the values by the record's names."""
        typed = self.cleaned_data
        return {
            "name": typed["name"],
            "volume_m3": typed["volume"].value if typed["volume"] else None,
            "air_changes_per_h": typed["air_changes"].value if typed["air_changes"] else None,
            "is_below_ground": typed["is_below_ground"],
            "ventilation": typed["ventilation"],
        }


class RoomForm(RoomFields):
    """A room to add."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, *self.PARTS, act="Add the room")


class RoomAmendForm(AmendForm, RoomFields):
    """A room to amend."""

    def __init__(self, *args: Any, record: GasRoom, **kwargs: Any) -> None:
        super().__init__(*args, record=record, **kwargs)
        change = Part("The change", "reason", "seen")
        self.helper = PageFormHelper(self, *self.PARTS, change, act="Amend the room")

    def shown(self, record: GasRoom) -> dict[str, Any]:
        """Return the room's values as somebody would type them."""
        units = record.venue.units
        return {
            "name": record.name,
            "volume": as_typed(record.volume_m3, Kind.ROOM_VOLUME, units),
            "air_changes": as_typed(record.air_changes_per_h, Kind.AIR_CHANGES, units),
            "is_below_ground": as_yes_no(record.is_below_ground),
            "ventilation": record.ventilation,
        }


def kinds_to_add() -> Iterable[tuple[str, str]]:
    """Return the kinds somebody may add here; kegs have their own room."""
    return Item.Kind.choices
