"""Places of the numbers in a leg of a bake plan; what each means and may be: bake_plan.py."""

OLD_FIELDS = 13  # of a leg without heats
(DOME, RAMP, SOAK, STONE, WAIT, SHARE, BREADS, BAKE, SAG, RECOVER, LIFT, LIFT_S, REST) = range(13)
BASE_KJ, STRETCH, BREAD_G = range(13, 16)
