"""What stands on every metering worksheet: the cautions first, then the steps."""

from typing import Final

METERING_CAUTIONS: Final = (
    "Local electrical rules and licensed practice come first. If a meter is new to you, let somebody practised do it.",
    "Never open the supply: its capacitors hold charge long after it is switched off.",
    "Nothing else is connected: no board, no drive, no cable. Look at the mains cord and the case before you plug in.",
    "Touch sockets with your fingers only when the cord is out and a minute has passed.",
    "Set the meter to DC volts. On a current range it is a short circuit between its probes.",
    "Take probes insulated up to the tip. Never let a tip touch two contacts: a 12 V output can burn and weld.",
    "One hand on the red probe, the other away from the work; clip the black probe on before you plug in.",
)
"""Source: service manuals and usual cautions of the trade; energy hazard of a 12 V output: design guide 3.0, table 2-1,
note 1."""

METERING_STEPS: Final = (
    "Black probe: on bare metal of the supply's case. If that shows no continuity to the contacts recorded as COM, "
    "on one of those that are joined to each other.",
    "Cord out, supply switched off, a minute gone: write down for every contact whether it shows continuity to ground.",
    "Cord in, mains switch on, nothing bridged: measure every contact in standby. Only +5VSB and PS_ON# stand at 5 V.",
    "Cord out again. Put a proper jumper (insulated wire with a crimped contact at each end) between PS_ON# and COM. "
    "With a resistor of 330 ohm, 0.5 W in it, no harm is done should the layout be wrong: PS_ON# gives at most 1.6 mA.",
    "Cord in: the supply starts. Measure every contact. Move only the red probe.",
    "Cord out, wait a minute, take the jumper out.",
)
"""Source: common practice; the jumper's resistor from the design guide 336521-003, table 3-10 (0.53 V at 1.6 mA is low,
below 0.8 V)."""
