"""What an oven could do at best: breads laid and taken by somebody who knows the plant itself and its next minutes.

From the moment when today's first bread goes in, both elements are driven fully up to the setpoint of the true air. At
each ten seconds a copy of the oven is asked: would a bread that is laid now have both heats, within +-d of what is
wanted, at one moment between 70 and 150 % of the plan's time? The first moment that says yes is taken. Over a grid of
d and of the wanted top the best pace for an evenness is what is left: the frontier. Earliest is not proven to be best
over a whole evening, and the setpoint is the plan's: a frontier that was found, not a bound that was proven.
"""

import copy

SETPOINT_C = 450.0
HANDLING_S = 16.0  # from a bread's end to the next: the cook's 6 s twice, and a breath; host/simulator/cook.py
DOOR_S, LOOK_S, LONGEST_S = 8.0, 10.0, 600.0
BREADS = 12
LEAST_S, MOST_S = 63, 135
OFF = (0.005, 0.01, 0.02, 0.03, 0.05)
TOPS = (1.0, 1.05, 1.1)


def drive(plant, dt_s=1.0):
    """One step: full up to the setpoint of the true air, then in proportion; nothing while the door is open."""
    out = 0.0 if plant.door_open else min(1.0, max(0.0, 0.4 + 0.06 * (SETPOINT_C - plant.true_c("dome"))))
    plant.step(dt_s, {"top": out, "deck": out})


def lay(plant):
    """Door, bread."""
    plant.event("door", seconds=DOOR_S)
    plant.event("load", bake_s=3000.0, water_g=25.0)


def tried(plant, base_kj, top_kj):
    """(worst of the two heats' deviations, time in s, the oven with its bread out) of a bread laid now; at its best."""
    here = copy.deepcopy(plant)
    lay(here)
    best = None
    for second in range(1, MOST_S + 1):
        drive(here)
        if second < LEAST_S:
            continue
        got = here.baked[-1]
        off = max(abs(got.base_kj_m2 / base_kj - 1.0), abs(got.top_kj_m2 / top_kj - 1.0))
        if best is None or off < best[0]:
            best = off, second
        elif got.base_kj_m2 > 1.1 * base_kj and got.top_kj_m2 > 1.1 * top_kj:
            break
    return best


def evening(plant, base_kj, top_kj, off):
    """(base spread, top spread, s from bread to bread) of breads 2..12; None where some bread never could."""
    here = copy.deepcopy(plant)
    here.baked.clear()
    for number in range(BREADS):
        waited_s = 0.0
        while True:
            found = tried(here, base_kj, top_kj)
            if found[0] <= off or number == 0:
                break
            for _ in range(int(LOOK_S)):
                drive(here)
            waited_s += LOOK_S
            if waited_s > LONGEST_S:
                return None
        lay(here)
        for _ in range(found[1]):
            drive(here)
        here.event("door", seconds=DOOR_S)
        here.event("unload")
        for _ in range(int(HANDLING_S)):
            drive(here)
    breads = here.baked[1:]
    base, top = [b.base_kj_m2 for b in breads], [b.top_kj_m2 for b in breads]
    pace_s = (breads[-1].laid_s - breads[0].laid_s) / (len(breads) - 1)
    return max(base) / min(base), max(top) / min(top), pace_s


def frontier(plant, base_kj, top_kj, offs=OFF, tops=TOPS):
    """[(evenness: worse of the two spreads, pace in s), ...] that no other of the grid beats, most even first."""
    found = [evening(plant, base_kj, top_kj * share, off) for off in offs for share in tops]
    points = sorted((max(each[:2]), each[2]) for each in found if each)
    front = []
    for spread, pace_s in points:
        if not front or pace_s < front[-1][1]:
            front.append((spread, pace_s))
    return front


def pace_at(front, spread):
    """The frontier's pace at this evenness, s: between its points by a line; None where it has no point so even."""
    before = None
    for here in front:
        if here[0] >= spread:
            if before is None:
                return here[1] if here[0] == spread else None
            part = (spread - before[0]) / (here[0] - before[0])
            return before[1] + part * (here[1] - before[1])
        before = here
    return before[1] if before else None
