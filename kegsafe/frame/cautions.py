"""The usual cautions, in one set of words for screen and paper. They defer to local practice."""

DEFERENCE = (
    "kegsafe shows what the record says, against the rule it names. The local code, the "
    "authority and a competent person decide."
)
CO2_AND_PRESSURE = (
    "A keg is under pressure: relieve it before you open it, and never above its rated pressure. "
    "CO2 collects low and cannot be smelled: if the room feels stuffy or an alarm sounds, leave "
    "and let no one in. Follow local rules and a competent person."
)
CLEANING_CHEMICALS = (
    "Relieve the pressure first. Never bring acid and chlorine together. No caustic into a keg "
    "full of CO2. Protect eyes and hands, and mark what is being cleaned. Follow the label and "
    "the safety data sheet."
)
ALLERGENS = (
    "The list is what the record declares. It is no promise of absence: glass, shaker, tongs and "
    "ice carry allergens too. Tell the guest what is not known."
)
