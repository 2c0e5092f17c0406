"""The link's word `plan`: show, take or forget a bake plan. Loaded for one answer, see commands.py."""

from tizzone.evening import bake_plan as B
from tizzone.evening import sequence as S
from tizzone.evening.plan_in_force import too_hot


def plan(app, words):
    """plan [show N | begin NAME END_C LEGS | leg N V... | end | none]: the plan in force, or send one in lines."""
    in_force = app.evening.plan
    if not words:
        seq = app.sequence
        legs = len(seq.legs) or 1
        return "ok plan={} leg={}/{} breads={}/{} end_c={}".format(
            in_force.name, seq.leg + 1, legs, seq.leg_done, seq.breads, seq.cool_mc // 1000
        )
    act = words[0]
    if act == "show" and len(words) == 2 and words[1].isdigit():
        number = int(words[1])
        if in_force.value is None or not 1 <= number <= len(in_force.value["legs"]):
            return "no such leg"
        leg = in_force.value["legs"][number - 1]
        return "ok " + " ".join([B.FIELDS[i][0] + "=" + str(leg[i]) for i in range(len(leg))])
    if app.sequence.state != S.IDLE or app.supervisor.permit.granted:
        return "no plans change only while idle"
    if act == "none" and len(words) == 1:
        in_force.use(app, None)
        app.evening.forget_interrupted()
        return _kept(app, {}, "ok plan=settings")
    try:
        values = [int(word) for word in words[(2 if act == "begin" else 1) :]]
    except ValueError:
        return "no whole numbers are needed"
    if act == "begin" and len(values) == 2:
        return _begin_plan(in_force, words[1], *values)
    if act == "leg" and in_force.incoming is not None and len(values) > 1:
        return _add_leg(in_force.incoming, values[0], values[1:])
    if act == "end" and not values:
        return _take_plan(app, in_force)
    return "no say: plan begin NAME END_C LEGS"


# any leg that is one, to check the rest of a plan by
B_LEG = tuple([60 if row[0] == "dome_c" else row[1] for row in B.FIELDS])


def _begin_plan(in_force, name, end_c, legs):
    fault = B.plan_fault({"name": name, "end_c": end_c, "legs": [B_LEG]})
    if fault or not 1 <= legs <= B.MAX_LEGS:
        return "no " + (fault or "a plan has 1 to {} legs".format(B.MAX_LEGS))
    in_force.incoming = {"name": name, "end_c": end_c, "legs": [], "count": legs}
    return "ok"


def _add_leg(incoming, number, leg):
    if number != len(incoming["legs"]) + 1 or number > incoming["count"]:
        return "no leg {} is awaited".format(len(incoming["legs"]) + 1)
    fault = B.leg_fault(leg)
    if fault:
        return "no leg {}: {}".format(number, fault)
    incoming["legs"].append(leg)
    return "ok"


def _take_plan(app, in_force):
    made, in_force.incoming = in_force.incoming, None
    if made is None or len(made["legs"]) != made.pop("count"):
        return "no legs are missing: begin again"
    fault = B.plan_fault(made) or too_hot(app, made)
    if fault:
        return "no " + fault
    other = made["name"] != in_force.name
    in_force.use(app, made)
    if other:
        app.evening.forget_interrupted()
    return _kept(app, made, "ok plan=" + made["name"])


def _kept(app, value, words):
    if app.memory.keep("plan", value):
        return words
    return words + " but the board could not store it: a power cut forgets it"


HANDLERS = {"plan": plan}
