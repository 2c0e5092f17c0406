"""A plant that does at once what it is told, and a board with a panel on it."""

from host.panel.hand import Hand
from host.simulator.rehearsal import Rehearsal

BOARD = "boards/pico_panel.py"
MODES = ("page", "list", "confirm", "setpoint", "verdict", "note")  # of the menu, in its order


class Kettle:
    """A plant whose dome follows the heat within seconds: evenings pass quickly, figures mean nothing."""

    RISE_K_S, LOSS_PER_S, DOOR_LOSS_PER_S = 2.0, 0.004, 0.04

    def __init__(self, dome_c=60.0):
        self.dome_c = dome_c
        self.door_s = 0.0

    def step(self, dt_s, heat):
        """See the plant contract."""
        loss_per_s = self.DOOR_LOSS_PER_S if self.door_s > 0 else self.LOSS_PER_S
        self.door_s -= dt_s
        self.dome_c += (self.RISE_K_S * (heat["top"] + heat["deck"]) - loss_per_s * (self.dome_c - 20.0)) * dt_s

    def temperature_c(self, place):
        """Box and ambient stay cool."""
        return {"dome": self.dome_c, "stone": self.dome_c - 5.0}.get(place, 25.0)

    def event(self, name, **values):
        """An open door cools it; a bread does nothing here."""
        if name == "door":
            self.door_s = values["seconds"]


def evening(settings=None, board=BOARD, dome_c=60.0, **more):
    """(rehearsal past its grace window, hand at its panel)."""
    values = {"setpoint_c": 100, "soak_min": 1, "bake_s": 30, "breads": 2, **(settings or {})}
    rehearsal = Rehearsal(Kettle(dome_c), board, values, cook=None, **more)
    rehearsal.advance(5)
    return rehearsal, Hand(rehearsal)


def app_of(rehearsal):
    """The device's App (CPython only)."""
    return rehearsal.board.life.app


def menu_of(rehearsal):
    """What the panel is at."""
    return app_of(rehearsal).panel.menu


def heat(rehearsal):
    """Levels of the heat pins."""
    levels = rehearsal.board.port.levels
    return [levels.get(relay.pin, 0) for relay in rehearsal.outside.relays]


def words(bands):
    """The texts of four bands, one string."""
    return " ".join(text for _, text, _ in bands)


def glyphs(world):
    """{eight columns: letter} of the font."""
    columns = world.load("framefont").COLUMNS
    return {columns[8 * n : 8 * n + 8]: chr(32 + n) for n in range(95)}


def read(frame, font):
    """The letters that a frame shows, four lines; "?" where a cell shows no letter."""
    lines = []
    for top in range(0, 64, 16):
        cells = [_cell(frame[top : top + 16, left : left + 8]) for left in range(0, 128, 8)]
        lines.append("".join(font.get(cell) or font.get(bytes(255 - b for b in cell), "?") for cell in cells))
    return lines


def _cell(points):
    """Eight columns of a letter drawn twice as high."""
    if (points[::2] != points[1::2]).any():
        return b""
    return bytes(sum(int(points[2 * row, x]) << row for row in range(8)) for x in range(8))
