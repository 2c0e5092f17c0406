"""The mains side of the rehearsal: relays, contactor and independent limiter, with what can go wrong in them.

Times are whole microseconds since the start of the rehearsal; the mains is 50 Hz and starts upwards at 0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from host.shim.mainsphase import FULL, HALF, HALF_WAVE_US, NONE

if TYPE_CHECKING:
    from host.simulator.outside import Outside

CONTACTOR_US = 20_000  # pull-in and release, common practice for small contactors, no source
MONOSTABLE_US = 600_000
NEVER_US = 1 << 60


class Relay:
    """A zero-crossing solid-state relay and its element.

    stuck: None, "welded", "open" (never conducts), "leaks_half" (one thyristor shorted: half waves while
    off), "half" (one thyristor open: half waves while on). element_ok: the element is whole.
    """

    def __init__(self, zone: str, pin: int | None, sense_pin: int | None) -> None:
        self.zone = zone
        self.pin = pin
        self.sense_pin = sense_pin
        self.stuck: str | None = None
        self.element_ok = True
        self.commanded = 0
        self.gate = 0
        self.change_us = NEVER_US  # when the gate follows the command
        self.wave = NONE  # what flows now
        self.on_us = 0  # conducting time since the plant's last step, half waves count half
        self.commanded_us = 0  # since the last row
        self.conducted_us = 0  # since the last row
        self.total_us = 0  # conducting time in all
        self.asked_us = 0  # time commanded on in all
        self.switchings = 0

    def command(self, level: int, now_us: int) -> None:
        """The pin has a new level; the gate follows at the next zero crossing."""
        self.commanded = level
        self.switchings += level
        self.change_us = -(-now_us // HALF_WAVE_US) * HALF_WAVE_US

    def settle(self, is_live: bool, now_us: int) -> None:
        """Work out what flows; `is_live` = there is mains at the relay."""
        if now_us >= self.change_us:
            self.gate = self.commanded
            self.change_us = NEVER_US
        if not is_live or not self.element_ok or self.stuck == "open":
            self.wave = NONE
        elif self.stuck == "welded":
            self.wave = FULL
        elif self.gate:
            self.wave = HALF if self.stuck == "half" else FULL
        else:
            self.wave = HALF if self.stuck == "leaks_half" else NONE

    def flow(self, duration_us: int) -> None:
        """Keep account of a time in which nothing changes."""
        if self.commanded:
            self.commanded_us += duration_us
            self.asked_us += duration_us
        if self.wave:
            part_us = duration_us if self.wave == FULL else duration_us // 2
            self.on_us += part_us
            self.conducted_us += part_us
            self.total_us += part_us


class Contactor:
    """Main contacts, coil drive ("level", or "pulse" through a retriggerable monostable) and mirror contact.

    stuck: None, "welded" or "open" (the coil is broken). The mirror contact is positively driven: it cannot
    close while a main contact is welded (IEC 60947-4-1 annex F).
    """

    def __init__(self, pin: int | None, drive: str = "level") -> None:
        self.pin = pin
        self.drive = drive
        self.stuck: str | None = None
        self.is_closed = False
        self.change_us = NEVER_US
        self.pulse_until_us = 0
        self.closings = 0

    def asks(self, level: int, now_us: int) -> bool:
        """Whether the drive circuit powers the coil."""
        return now_us < self.pulse_until_us if self.drive == "pulse" else bool(level)

    def edge(self, now_us: int) -> None:
        """A rising edge triggers the monostable anew."""
        self.pulse_until_us = now_us + MONOSTABLE_US

    def settle(self, has_coil: bool, now_us: int) -> None:
        """Move towards the coil's will, `CONTACTOR_US` late."""
        want = has_coil and self.stuck != "open"
        if self.stuck == "welded":
            self.is_closed, self.change_us = True, NEVER_US
        elif want == self.is_closed:
            self.change_us = NEVER_US
        elif self.change_us == NEVER_US:
            self.change_us = now_us + CONTACTOR_US
        elif now_us >= self.change_us:
            self.is_closed, self.change_us = want, NEVER_US
            self.closings += want


class Limiter:
    """The independent high limit: own sensor, latched, reset by hand; breaks the contactor's coil."""

    def __init__(self, set_c: float = 520.0) -> None:
        self.set_c = set_c
        self.has_tripped = False
        self.works = True

    def feel(self, air_c: float) -> bool:
        """Judge the air, °C. True if it trips now."""
        if self.works and not self.has_tripped and air_c >= self.set_c:
            self.has_tripped = True
            return True
        return False


def settle(outside: Outside, drive: int) -> None:
    """Contactor and relays as supply, switches, limiter and the board's outputs have them; `drive`: contactor's pin."""
    now_us = outside.now_us
    contactor = outside.contactor
    is_ours = outside.position == "ours" and outside.has_mains
    chain = is_ours and outside.enable and not (outside.limiter and outside.limiter.has_tripped)
    # Without a contactor of ours the chain breaks one that only the hardware drives.
    asked = chain and (contactor.pin is None or contactor.asks(drive, now_us))
    contactor.settle(asked, now_us)
    for relay in outside.relays:
        relay.settle(is_ours and contactor.is_closed, now_us)
