"""Every kind of quantity: base unit, bounds, examples, and the words people write.

| kind                   | base unit   | kind               | base unit          |
| ---------------------- | ----------- | ------------------ | ------------------ |
| VOLUME                 | ml          | AIR_CHANGES        | 1/h                |
| ROOM_VOLUME            | m3          | CONCENTRATION      | mg/L               |
| MASS                   | g           | SANITISER_STRENGTH | mg/L (= ppm)       |
| COUNT                  | piece       | VOLUME_FRACTION    | % v/v              |
| TEMPERATURE            | °C          | MASS_FRACTION      | % w/w              |
| TEMPERATURE_DIFFERENCE | K           | PERCENT            | %                  |
| GAUGE_PRESSURE         | Pa gauge    | FRACTION           | 1 (0 to 1)         |
| ABSOLUTE_PRESSURE      | Pa absolute | GAS_FRACTION       | ppm by volume      |
| PRESSURE_DIFFERENCE    | Pa          | FILLING_RATIO      | kg/L               |
| LENGTH                 | m           | DENSITY            | g/mL               |
| ALTITUDE               | m           | ALCOHOL            | % vol at 20 °C     |
| AREA                   | m2          | SUGAR              | °Brix              |
| TIME                   | s           | CO2_VOLUMES        | volumes of CO2     |
| SPEED                  | m/s         | PH                 | pH                 |
| FLOW                   | L/min       | WATER_ACTIVITY     | aw (0 to 1)        |
| LEAK_RATE              | g/h         | NUMBER             | plain number       |

Factors come from pint. The bounds are ours: wide enough for any bar and tight
enough to catch a slipped key; they are not limits of any code.

Order matters in one way: a word that several kinds know (psi, %) is named after
the first of them when it turns up where none of them belongs.
"""

from kegsafe.quantities.amounts import (
    COUNT,
    MASS,
    ROOM_VOLUME,
    VOLUME,
)
from kegsafe.quantities.kinds import Kind, KindRow
from kegsafe.quantities.plant import (
    AIR_CHANGES,
    ALTITUDE,
    AREA,
    FLOW,
    LEAK_RATE,
    LENGTH,
    SPEED,
    TIME,
)
from kegsafe.quantities.readings import (
    ABSOLUTE_PRESSURE,
    GAUGE_PRESSURE,
    PRESSURE_DIFFERENCE,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
)
from kegsafe.quantities.strengths import (
    ALCOHOL,
    CO2_VOLUMES,
    CONCENTRATION,
    DENSITY,
    FILLING_RATIO,
    FRACTION,
    GAS_FRACTION,
    MASS_FRACTION,
    NUMBER,
    PERCENT,
    PH,
    SANITISER_STRENGTH,
    SUGAR,
    VOLUME_FRACTION,
    WATER_ACTIVITY,
)

ROWS: dict[Kind, KindRow] = {
    row.kind: row
    for row in (
        VOLUME, ROOM_VOLUME, MASS, COUNT, TEMPERATURE, TEMPERATURE_DIFFERENCE,
        GAUGE_PRESSURE, ABSOLUTE_PRESSURE, PRESSURE_DIFFERENCE,
        LENGTH, ALTITUDE, AREA, TIME, SPEED, FLOW, LEAK_RATE, AIR_CHANGES,
        CONCENTRATION, SANITISER_STRENGTH, PERCENT, VOLUME_FRACTION, MASS_FRACTION, FRACTION,
        GAS_FRACTION, FILLING_RATIO, DENSITY, ALCOHOL, SUGAR, CO2_VOLUMES, PH, WATER_ACTIVITY,
        NUMBER,
    )
}  # fmt: skip
