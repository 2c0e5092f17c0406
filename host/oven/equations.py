"""The oven's equations, one flow a line, for a general solver: what oven.py steps quickly is checked against them."""

from .base import ZERO_C_K
from .parameters import STEFAN_W_M2K4


def derivatives(oven, state_k, heat):
    """d(state_k)/dt in K/s for heat shares {"top", "deck"}, noise and bread left out, door as
    it stands now.

    The same equations as the stepping above, written one flow a line; a general solver can
    integrate them.
    """
    p = oven.parameters
    top, deck, air, box, dome, tip = state_k[:6]
    wall, stone = state_k[6 : 7 + p.wall_layers], state_k[7 + p.wall_layers :]
    liner, casing, face, under, room = (
        wall[0],
        wall[-1],
        stone[0],
        stone[-1],
        oven.ambient_c + ZERO_C_K,
    )
    sigma_e = STEFAN_W_M2K4 * p.element_emissivity
    sigma_s = STEFAN_W_M2K4 * p.stone_emissivity * p.stone_area_m2
    power = oven.mains_ratio**2

    top_liner = sigma_e * p.top_area_m2 * (1 - p.top_sees_stone) * (top**4 - liner**4)
    top_face = sigma_e * p.top_area_m2 * p.top_sees_stone * (top**4 - face**4)
    deck_liner = sigma_e * p.deck_area_m2 * (1 - p.deck_sees_stone) * (deck**4 - liner**4)
    deck_under = sigma_e * p.deck_area_m2 * p.deck_sees_stone * (deck**4 - under**4)
    liner_face = sigma_s * (liner**4 - face**4)
    liner_under = sigma_s * p.stone_under_share * (liner**4 - under**4)
    radiating_m2 = p.glass_area_m2 + (p.door_area_m2 if oven.door_open else 0.0)
    liner_room = p.glass_w_k * (liner - room) + STEFAN_W_M2K4 * radiating_m2 * (liner**4 - room**4)
    top_air, deck_air = p.top_air_w_k * (top - air), p.deck_air_w_k * (deck - air)
    liner_air, face_air = (
        p.air_liner_w_k * (liner - air),
        p.air_stone_w_m2k * p.stone_area_m2 * (face - air),
    )
    air_room = (p.vent_w_k + (p.door_w_k if oven.door_open else 0.0)) * (air - room)
    airing = 1.0 if oven.fan_running else p.casing_still_share
    casing_room, casing_box = (
        p.casing_room_w_k * airing * (casing - room),
        p.box_casing_w_k * (casing - box),
    )
    box_room = (p.box_fan_w_k if oven.fan_running else p.box_still_w_k) * (box - room)

    return [
        (p.top_w * power * heat["top"] - top_liner - top_face - top_air) / p.top_j_k,
        (p.deck_w * power * heat["deck"] - deck_liner - deck_under - deck_air) / p.deck_j_k,
        (top_air + deck_air + liner_air + face_air - air_room) / p.air_j_k,
        (casing_box - box_room) / p.box_j_k,
        (air - dome) / p.dome_probe_s,
        (face - tip) / p.stone_probe_s,
        *oven.wall.slopes(
            wall,
            top_liner + deck_liner - liner_face - liner_under - liner_air - liner_room,
            -casing_room - casing_box,
        ),
        *oven.stone.slopes(stone, top_face + liner_face - face_air, deck_under + liner_under),
    ]
