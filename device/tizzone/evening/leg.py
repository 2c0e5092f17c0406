"""Places of the numbers in a leg of a bake plan; what each means and may be: bake_plan.py."""

(DOME, RAMP, SOAK, STONE, WAIT, SHARE, BREADS, BAKE, SAG, RECOVER, LIFT, LIFT_S, REST) = range(13)
