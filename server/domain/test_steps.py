"""What stands on every test sheet: how the cable is tested alone, and with what care it first meets the supply."""

from typing import Final

COLD_STEPS: Final = (
    "The cable lies alone: unplugged at every end. Meter on continuity; touch the probes together: it sounds.",
    "Bend and pull the cable gently while you read: a bad crimp shows only then.",
)
"""Source: common practice."""

VOLT_STEPS: Final = (
    "Cord out, a minute gone. Plug the cable into the supply, no part on it; its part plugs lie apart on wood or card.",
    "Clip the black probe on where the sheet says; the meter on DC volts, 20 V.",
    "Cord in, mains switch on, no link: read what is marked standby.",
    "Cord out again. The supply is switched on by a proper link (insulated wire, a crimped contact at each end) from "
    "PS_ON# to COM: at the board plug of the main cable once that is good by itself (joined and open, as above). "
    "Then cord in.",
    "Read the rest; move only the red probe. Cord out, a minute gone, link out.",
)
"""Source: common practice; PS_ON# is pulled low to switch the supply on: desktop supply design guide, table 3-10."""

VOLT_CAUTIONS: Final = (
    "Local electrical rules and licensed practice come first. If a meter is new to you, let somebody practised do it.",
    "Never open the supply and never probe inside it: its capacitors hold charge long after it is switched off.",
    "The supply alone: no board, no card, no drive on it or on this cable until the run has passed.",
    "A probe tip that bridges two contacts shorts a live output: 12 V can burn and weld. Insulate the tips; one hand.",
)
"""Source: usual cautions of the trade; energy hazard of a 12 V output: design guide 3.0, table 2-1, note 1."""
