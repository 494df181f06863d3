"""The cautions that more than one answer has, as short as a screen beside a tap wants them."""

NOT_TO_DRINK = "Stored rain is not drinking water: water the soil, not leaves eaten raw."
NO_MIST = "No mist or spray from stores above 20 °C: Legionella, a lung germ, grow there."
AIR_GAP = "Top up through an air gap, never a joined pipe; local water rules come first."
PLUMBER = "A licensed plumber knows the local rules for topping up from the mains."
