"""The oven's equations, one flow a line, for a general solver: what oven.py steps quickly is checked against them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from .base import ZERO_C_K
from .door import exchange_w_k
from .parameters import STEFAN_W_M2K4

if TYPE_CHECKING:
    from host.oven.oven import Oven


def derivatives(oven: Oven, state_k: Sequence[float], heat: Mapping[str, float]) -> list[float]:
    """d(state_k)/dt in K/s for heat shares {"top", "deck"}, noise and bread left out, door as
    it stands now, probes where they belong.

    The same equations as the stepping, written one flow a line; a general solver can
    integrate them.
    """
    p = oven.parameters
    top, deck, air, pane, box, dome, tip = state_k[:7]
    layers = p.stone_layers + 1
    wall = state_k[7 : 8 + p.wall_layers]
    middle, rim = state_k[8 + p.wall_layers :][:layers], state_k[8 + p.wall_layers :][layers:]
    liner, casing, room = wall[0], wall[-1], oven.ambient_c + ZERO_C_K
    power = oven.mains_ratio**2
    parts = (oven.stone.share, 1.0 - oven.stone.share)
    sigma_e = STEFAN_W_M2K4 * p.element_emissivity
    sigma_s = STEFAN_W_M2K4 * p.stone_emissivity * p.stone_area_m2 * p.stone_in
    top_stone, deck_stone = p.top_sees_stone * p.stone_in, p.deck_sees_stone * p.stone_in

    top_liner = sigma_e * p.top_area_m2 * (1 - top_stone) * (top**4 - liner**4)
    deck_liner = sigma_e * p.deck_area_m2 * (1 - deck_stone) * (deck**4 - liner**4)
    into_face, into_under, to_air = [], [], []
    from_top = from_deck = from_liner = 0.0
    for part, column in zip(parts, (middle, rim), strict=True):
        face, under = column[0], column[-1]
        top_face = sigma_e * p.top_area_m2 * top_stone * part * (top**4 - face**4)
        deck_under = sigma_e * p.deck_area_m2 * deck_stone * part * (deck**4 - under**4)
        liner_face = sigma_s * part * (liner**4 - face**4)
        liner_under = sigma_s * p.stone_under_share * part * (liner**4 - under**4)
        face_air = p.air_stone_w_m2k * p.stone_area_m2 * p.stone_in * part * (face - air)
        into_face.append(top_face + liner_face - face_air)
        into_under.append(deck_under + liner_under)
        to_air.append(face_air)
        from_top, from_deck = from_top + top_face, from_deck + deck_under
        from_liner += liner_face + liner_under

    open_now = oven.door_open
    black = STEFAN_W_M2K4 * p.pane_area_m2
    liner_pane = 0.0 if open_now else black * (liner**4 - pane**4)
    pane_air = 0.0 if open_now else p.pane_air_w_k * (pane - air)
    pane_room = p.glass_w_k * (pane - room) + STEFAN_W_M2K4 * p.glass_area_m2 * (pane**4 - room**4)
    if open_now:
        pane_room += black * (pane**4 - room**4) + p.pane_open_w_k * (pane - room)
    liner_room = STEFAN_W_M2K4 * p.door_area_m2 * (liner**4 - room**4) if open_now else 0.0
    leak = exchange_w_k(p.door_area_m2, p.door_height_m, p.door_discharge, air, room) if open_now else 0.0
    air_room = (p.vent_w_k + leak) * (air - room)
    top_air, deck_air = p.top_air_w_k * (top - air), p.deck_air_w_k * (deck - air)
    liner_air = p.air_liner_w_k * (liner - air)
    airing = 1.0 if oven.fan_running else p.casing_still_share
    casing_room, casing_box = p.casing_room_w_k * airing * (casing - room), p.box_casing_w_k * (casing - box)
    box_room = (p.box_fan_w_k if oven.fan_running else p.box_still_w_k) * (box - room)

    return [
        (p.top_w * power * heat["top"] - top_liner - from_top - top_air) / p.top_j_k,
        (p.deck_w * power * heat["deck"] - deck_liner - from_deck - deck_air) / p.deck_j_k,
        (top_air + deck_air + liner_air + sum(to_air) + pane_air - air_room) / p.air_j_k,
        (liner_pane - pane_air - pane_room) / p.pane_j_k,
        (casing_box - box_room) / p.box_j_k,
        _tip(oven, dome, air, (liner, top, pane, middle[0], rim[0], room, casing)),
        (_at_probe(oven, middle, rim) - tip) / p.stone_probe_s,
        *oven.wall.slopes(
            wall,
            top_liner + deck_liner - from_liner - liner_air - liner_pane - liner_room,
            -casing_room - casing_box,
        ),
        *oven.stone.slopes(middle, rim, *into_face, *into_under),
    ]


def _tip(oven, tip, air, around):
    """dT/dt of the dome probe's tip by its balance."""
    p, (liner, top, pane, face, edge, room, casing) = oven.parameters, around
    share = oven.stone.share
    stone = p.dome_probe_sees_stone * p.stone_in
    pane = room if oven.door_open else pane
    glow = p.dome_probe_sees_element * top**4 + p.dome_probe_sees_pane * pane**4
    glow += stone * (share * face**4 + (1 - share) * edge**4)
    glow += (1 - p.dome_probe_sees_element - p.dome_probe_sees_pane - stone) * liner**4
    sheath = oven.sheath
    flow = sheath.open if oven.door_open else sheath.shut
    into, falls = sheath.balance(tip, air, glow, flow, sheath.emissivity)
    into += sheath.stem_w_m2k(falls, oven.dome_probe_immersion_mm / 1000.0) * (casing - tip)
    return into / sheath.j_m2k


def _at_probe(oven, middle, rim):
    """What lies where the stone probe's tip is, linear between the nodes around it."""
    p = oven.parameters
    nodes = [a + oven.stone.rim_share * (b - a) for a, b in zip(middle, rim, strict=True)]
    depth = min(p.stone_probe_depth_mm / 1000.0 / p.stone_m, 1.0) * p.stone_layers
    node = min(int(depth), p.stone_layers - 1)
    return nodes[node] + (depth - node) * (nodes[node + 1] - nodes[node])
