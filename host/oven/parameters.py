"""Parameters of the simulated ovens, each with its unit, three named ovens and a seeded sampler.

Nothing here was measured on a real oven. Masses, areas and insulation are what such appliances commonly have (common
practice, no source); stone, air and glass follow the handbooks named beside them. The named ovens and the sampler
were then moved until the tests that household ovens are sold by came out in their published ranges (published.py;
`python -m tests.bench.published` prints the table): the liner's heat capacity by the preheat, conductivity of the
wall, vent and glass by the power that holds 200 degrees; the brick's energy followed by itself. The discharge of the
open door and the air past the probe there were moved by the sink of a reading (two independent simulations).
"""

from __future__ import annotations

import random
from dataclasses import dataclass

STEFAN_W_M2K4 = 5.670374419e-8  # CODATA 2018
LINER_K, ROOM_K = 723.15, 293.15  # at which the holding power of a random oven is drawn


@dataclass
class Surroundings:
    """Room, probes, electronics box, mains: what every plant needs."""

    ambient_c: float = 20.0
    # dome probe: see probe.py. A diameter of 0: a tip that only follows the air, dome_probe_s late
    dome_probe_mm: float = 3.0  # diameter of the sheath (0.5: about a bare bead)
    dome_probe_s: float = 7.5
    dome_probe_emissivity: float = 0.85  # oxidised sheath
    dome_probe_immersion_mm: float = 100.0
    dome_probe_shut_m_s: float = 0.3  # air past it: common practice for free convection in a cavity, no source
    dome_probe_open_m_s: float = 0.6  # through the open door
    dome_probe_room_m_s: float = 0.1  # hanging in the room
    dome_probe_sees_element: float = 0.01  # a strip of sheet stands between
    dome_probe_sees_stone: float = 0.25
    dome_probe_sees_pane: float = 0.06
    # stone probe: a tip in a blind hole
    stone_probe_s: float = 8.0  # time constant of a tip pressed on the stone
    stone_probe_depth_mm: float = 7.5  # below the face
    stone_probe_from_middle_mm: float = 0.0  # of where the bread lies
    stone_probe_contact: float = 1.0  # share of the stone in what it touches; the rest is the air
    turbulence_k: float = 0.4  # standard deviation of the air at the dome probe
    turbulence_s: float = 8.0  # its time constant
    mains_wander: float = 0.006  # relative standard deviation of the voltage
    mains_wander_s: float = 120.0
    box_j_k: float = 1200.0  # heat capacity of the electronics box
    box_casing_w_k: float = 1.6  # from the casing into the box
    box_fan_w_k: float = 8.0  # box to room, cooling fan running
    box_still_w_k: float = 0.1  # box to room, fan stopped


@dataclass
class OvenParameters(Surroundings):
    """A domestic oven with top and deck elements, a steel liner, insulation and a baking stone."""

    name: str = "standard"
    top_w: float = 1500.0  # element power at nominal voltage
    deck_w: float = 1400.0
    top_j_k: float = 160.0  # heat capacity: about 0.3 kg of steel and magnesia
    deck_j_k: float = 160.0
    top_area_m2: float = 0.060  # radiating surface
    deck_area_m2: float = 0.060
    element_emissivity: float = 0.85  # oxidised alloy
    top_air_w_k: float = 0.70  # convection from element to air
    deck_air_w_k: float = 0.38
    # share of an element's radiation that meets the stone (face, underside); the rest, the liner
    top_sees_stone: float = 0.18
    deck_sees_stone: float = 0.36
    air_j_k: float = 60.0  # 60 litres of hot air and thin fittings
    air_liner_w_k: float = 9.0  # natural convection, about 8 W/m2K
    air_stone_w_m2k: float = 8.0
    vent_w_k: float = 0.30  # leak through flue and seals to the room
    liner_j_k: float = 6300.0  # 12.6 kg of enamelled steel with frame, guides and grid, 500 J/kgK
    wall_area_m2: float = 1.25
    wall_m: float = 0.040  # glass wool
    wall_w_mk: float = 0.044  # at 100 degrees Celsius
    wall_slope_per_k: float = 0.0030  # growth of the conductivity, radiation in the pores
    wall_kg_m3: float = 60.0
    wall_j_kgk: float = 840.0
    wall_layers: int = 5
    casing_j_k: float = 3000.0  # outer sheets, 6 kg
    casing_room_w_k: float = 14.0  # about 1.4 m2 at 10 W/m2K
    casing_still_share: float = 0.7  # of that while the cooling fan stands
    # inner pane of the door: 0.13 m2 of glass 4 mm thick, 2500 kg/m3, 840 J/kgK
    pane_j_k: float = 1090.0
    pane_area_m2: float = 0.11  # black area that exchanges as much with the liner
    pane_air_w_k: float = 0.9
    glass_w_k: float = 0.50  # from it through the other panes to the room, conduction and convection
    glass_area_m2: float = 0.016  # black area that radiates as much to the room
    pane_open_w_k: float = 1.2  # its inner side to the room while the door stands open
    stone_in: float = 1.0  # 0: taken out
    # stone: high-duty fireclay at 400 degrees Celsius in the VDI Heat Atlas
    stone_m: float = 0.030
    stone_area_m2: float = 0.100
    stone_w_mk: float = 1.20
    stone_kg_m3: float = 2320.0
    stone_j_kgk: float = 958.0
    stone_layers: int = 10  # its face is then within 2 K of the exact solution after 20 s
    stone_emissivity: float = 0.70  # effective, towards a fairly bright steel liner
    stone_under_share: float = 0.6  # of the underside that sees the liner past the element
    door_area_m2: float = 0.15  # opening, 0.45 m by 0.33 m: passes air, and radiates as a black area
    door_height_m: float = 0.33
    door_discharge: float = 1.0  # nothing stands in the way, and the door pumps while it moves
    bread_kg: float = 0.38  # 0.25 kg of dough and what lies on it
    bread_j_kgk: float = 2800.0  # dough of about 60 % water; from memory
    bread_w_mk: float = 0.40
    bread_kg_m3: float = 700.0
    bread_area_m2: float = 0.085  # 33 cm across
    # through flour, steam and the drying crust; set so that the stone drops as it should
    bread_contact_w_m2k: float = 45.0


NAMED = {
    "standard": OvenParameters(),
    "light": OvenParameters(
        name="light",
        top_w=1300.0,
        deck_w=1100.0,
        top_j_k=130.0,
        deck_j_k=130.0,
        liner_j_k=5100.0,
        wall_m=0.035,
        casing_j_k=2200.0,
        wall_area_m2=1.15,
        glass_w_k=0.42,
        pane_j_k=950.0,
        stone_m=0.020,
    ),
    "heavy": OvenParameters(
        name="heavy",
        top_w=1800.0,
        deck_w=1600.0,
        top_j_k=175.0,
        deck_j_k=175.0,
        top_area_m2=0.070,
        deck_area_m2=0.070,
        liner_j_k=7900.0,
        wall_area_m2=1.45,
        glass_w_k=0.55,
        pane_j_k=1250.0,
        casing_j_k=4500.0,
        stone_m=0.040,
        stone_area_m2=0.115,
        bread_area_m2=0.098,
    ),
}


def drawn_probes(draw: random.Random) -> dict[str, float]:
    """Fields of a random pair of probes: three sheaths, where the tips are and what they see."""
    between = draw.uniform
    return {
        "dome_probe_mm": draw.choice((1.5, 3.0, 4.5)),
        "dome_probe_emissivity": between(0.7, 0.92),
        "dome_probe_immersion_mm": between(60.0, 200.0),
        "dome_probe_shut_m_s": between(0.15, 0.5),
        "dome_probe_open_m_s": between(0.4, 0.9),
        "dome_probe_sees_element": between(0.0, 0.02),
        "dome_probe_sees_stone": between(0.15, 0.35),
        "dome_probe_sees_pane": between(0.03, 0.1),
        "stone_probe_s": between(5.0, 15.0),
        "stone_probe_depth_mm": between(5.0, 10.0),
    }


def drawn(seed: int) -> OvenParameters:
    """OvenParameters of a random domestic oven of 2.4..3.5 kW; the same seed gives the same oven.

    Losses are drawn as the power that holds 450 degrees over a room of 20; that fixes insulation, glass and leaks. The
    liner is drawn by the element power, so that the preheat takes what published preheats take, and the cavity grows
    with that power: a small oven with a large one's elements and liner would take more than the worst energy class.
    """
    draw = random.Random(f"oven {seed}")
    between = draw.uniform
    power_w = between(2400.0, 3500.0)
    top = between(0.42, 0.62)
    # of cavity and stone against the standard oven's 60 litres: 53 to 75 litres
    size = min(power_w / between(2750.0, 2450.0), 1.25)
    slow = between(0.8, 1.4)  # of the elements' heat capacity
    hold_w = min(between(870.0, 1160.0) * size, 1300.0)
    vent, glass, glow = between(0.06, 0.10), between(0.08, 0.18), between(0.06, 0.16)
    casing_w_k = between(11.0, 18.0) * size
    wall_m, wall_m2, slope = between(0.025, 0.055), 1.25 * size, between(0.0015, 0.0035)
    wall_w = hold_w * (1.0 - vent - glass - glow)
    casing_k = ROOM_K + wall_w / casing_w_k
    mean_w_mk = wall_w / (LINER_K - casing_k) * wall_m / wall_m2
    return OvenParameters(
        name=f"random {seed}",
        top_w=power_w * top,
        deck_w=power_w * (1.0 - top),
        **_drawn_elements(between, slow),
        air_j_k=60.0 * size * between(0.7, 1.6),
        air_liner_w_k=9.0 * size * between(0.75, 1.3),
        vent_w_k=hold_w * vent / (LINER_K - ROOM_K),
        liner_j_k=power_w * between(2.45, 2.6),
        wall_area_m2=wall_m2,
        wall_m=wall_m,
        wall_slope_per_k=slope,
        wall_kg_m3=between(40.0, 75.0),
        wall_w_mk=mean_w_mk / (1.0 + slope * ((LINER_K + casing_k) / 2 - 373.15)),
        casing_j_k=3000.0 * size * between(0.7, 1.4),
        casing_room_w_k=casing_w_k,
        **_drawn_pane(between, size, hold_w * glass, hold_w * glow),
        **_drawn_stone(draw, 0.100 * size, size),
    )


def _drawn_elements(between, slow):
    """The two elements: heat capacity, area, what they reach."""
    return dict(
        top_j_k=160.0 * slow,
        deck_j_k=160.0 * slow * between(0.8, 1.2),
        top_area_m2=0.060 * between(0.8, 1.25),
        deck_area_m2=0.060 * between(0.8, 1.25),
        top_air_w_k=between(0.5, 1.2),
        deck_air_w_k=between(0.25, 0.7),
        top_sees_stone=between(0.13, 0.24),
        deck_sees_stone=between(0.25, 0.45),
    )


def _drawn_pane(between, size, glass_w, glow_w):
    """The pane that loses glass_w by conduction and glow_w by radiation from a liner at 450 degrees."""
    pane_m2, pane_air_w_k = 0.11 * size, 0.9 * size
    pane_k = _pane_k(glass_w + glow_w, pane_m2, pane_air_w_k, LINER_K)
    return dict(
        pane_j_k=1090.0 * size * between(0.8, 1.3),
        pane_area_m2=pane_m2,
        pane_air_w_k=pane_air_w_k,
        glass_w_k=glass_w / (pane_k - ROOM_K),
        glass_area_m2=glow_w / (STEFAN_W_M2K4 * (pane_k**4 - ROOM_K**4)),
    )


def _drawn_stone(draw, stone_m2, size):
    """Stone, bread, door, probes and the air's unrest."""
    between = draw.uniform
    return dict(
        stone_m=between(0.020, 0.040),
        stone_area_m2=stone_m2,
        bread_area_m2=stone_m2 * between(0.7, 0.88),
        stone_emissivity=between(0.62, 0.82),
        stone_w_mk=between(1.0, 1.6),
        stone_kg_m3=between(2000.0, 2400.0),
        stone_j_kgk=between(920.0, 1020.0),
        door_area_m2=0.15 * size,
        door_discharge=between(0.8, 1.1),
        bread_kg=between(0.28, 0.42),
        bread_contact_w_m2k=between(39.0, 52.0),
        **drawn_probes(draw),
        turbulence_k=between(0.1, 0.8),
        turbulence_s=between(4.0, 20.0),
    )


def _pane_k(lost_w, pane_m2, pane_air_w_k, liner_k):
    """Temperature of a pane that takes lost_w from a liner (and air) at liner_k."""
    low_k, high_k = 300.0, liner_k
    for _ in range(40):
        pane_k = 0.5 * (low_k + high_k)
        taken_w = STEFAN_W_M2K4 * pane_m2 * (liner_k**4 - pane_k**4) + pane_air_w_k * (liner_k - pane_k)
        low_k, high_k = (pane_k, high_k) if taken_w > lost_w else (low_k, pane_k)
    return pane_k
