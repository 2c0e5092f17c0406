"""What the panel says when it matters: main page, trip, pull-the-plug, presence. pages.py has the others.

Every screen is four (kind, text, inverted) bands of canvas.py; nothing here acts. Words tell the states apart.
"""

from tizzone.control import stone as T
from tizzone.control.forecast import FAR_S
from tizzone.evening import sequence as S
from tizzone.panel.canvas import BAR, BIG, TALL, UNDER, WIDE
from tizzone.safety import limits as L
from tizzone.safety.permissives import permissives

LETTERS = 16
HEAD = 15  # of the top line: its last place shows that the board lives
ALTERNATE_S = 2
PAGE_S = 4  # of a text that needs more than one
ENDINGS = (L.CONDITION_NAMES[L.ATTENDANCE], L.CONDITION_NAMES[L.SESSION_LONG])
ENDED = {S.STOPPING: "STOPPED cooling", S.STOPPED: "STOPPED cooled", S.IDLE: "IDLE"}


def asks_presence(app):
    """Is a person to say that they are there?"""
    return app.supervisor.present[L.ATTEND_SOON]


def degrees(app):
    """The dome in whole degrees, or dashes."""
    return str(max(0, app.dome.pv_mc // 1000)) if app.dome.usable else "---"


def pull_the_plug(app, second):
    """Neither relay nor contactor can be relied on."""
    turn = second & 1
    welded = app.supervisor.states[L.CONTACTOR_WELDED]
    return (
        (WIDE, "PULL THE", turn),
        (WIDE, "PLUG NOW", turn),
        (TALL, "contactor welded" if welded else "still heating", 0),
        (TALL, "dome " + degrees(app) + " C", 0),
    )


def tripped(app, second):
    """The first trip: its sentence, then what to do."""
    sentence, act = app.told.of(app.supervisor.first_out)
    lines = wrapped(sentence)
    lines += [""] * (-len(lines) % 3) + wrapped(act)
    pages = (len(lines) + 2) // 3
    first = second // PAGE_S % pages * 3
    lines = (lines + ["", ""])[first : first + 3]
    head = "TRIP" if first == 0 else "TO DO"
    return (head_line(head, degrees(app) + "C", 1),) + tuple([(TALL, line, 0) for line in lines])


def presence(app):
    """The attendance clock is about to end the heat."""
    attend = app.supervisor.attendance
    left_s = max(0, attend.attend_ms - attend.alone_ms) // 1000
    return (
        (TALL, "ARE YOU THERE?", 1),
        (TALL, "press the knob", 0),
        (TALL, "heat off in " + clock(left_s), 0),
        (TALL, "dome " + degrees(app) + " C", 0),
    )


def main(app, second):
    """Dome, setpoint, stone, stage, time left, output."""
    seq = app.sequence
    values = "{:>3}|set{:>4}|{}".format(degrees(app), seq.setpoint_mc // 1000, stone_word(app))
    return (head_line(*stage_words(app)), (BIG, values, 0), (UNDER, "", 0), foot(app, second))


def stage_words(app):
    """(stage or state, time left) of the evening."""
    seq = app.sequence
    if seq.state == S.COMPLETE:
        return ("DONE" if seq.stage == S.NO_STAGE else "DONE cooling", "")
    if not seq.session:
        return (ENDED.get(seq.state, "TRIP"), "")
    name = S.STAGES[seq.stage]
    if seq.state == S.HELD:
        return ("HELD " + name, clock(seq.seconds_left) if seq.stage == S.BAKE else "")
    if seq.stage in (S.LOAD, S.BAKE):
        name += " " + str(seq.breads_done + 1)
    left = clock(seq.seconds_left) if seq.seconds_left else ""
    if not left and seq.stage in (S.SOAK, S.RECOVER):
        left = until_ready(app)
    return (name.upper() if seq.stage != S.LOAD else "LOAD bread" + name[4:], left)


def until_ready(app):
    """ "~9min" until the stone is ready; "" if nobody knows."""
    ready_s = app.evening.forecast.ready_s
    if ready_s < 0 or ready_s >= FAR_S:
        return ""
    return "~" + (clock(int(ready_s)) if ready_s < 60 else str(int(ready_s) // 60) + "min")


def stone_word(app):
    """ "st 431" by a probe or taught by spots, "st~431" where it is a guess."""
    if app.stone is not None:
        return "st{:>5}".format(app.stone.pv_mc // 1000) if app.stone.usable else "st  ---"
    model = app.evening.stone
    return "st{}{:>3}".format(" ~" if model.basis <= T.LEARNED else "  ", max(0, int(model.surface_c + 0.5)))


def foot(app, second):
    """The output while heat is permitted, else by name what stands against it."""
    if app.supervisor.permit.granted:
        return (BAR, "{}|{:>4}%".format(app.out_pm, app.out_pm // 10), 0)
    names = against(app)
    step = second // ALTERNATE_S % (len(names) + 1 if names else 2)
    if names:
        return (TALL, names[step - 1] if step else "HEAT OFF:", 0)
    if app.sequence.session:
        return (TALL, "heat off, wait", 0)
    return (TALL, "push for menu" if step else "heat is off", 0)


def against(app):
    """What stands against heat, by name: permissives that are missing, else what ended the evening."""
    names = [name for name, good in permissives(app) if not good]
    sup = app.supervisor
    for i in (L.ATTENDANCE, L.SESSION_LONG):
        if sup.present[i]:
            names = [name for name in names if name != "no-stop"] + [L.CONDITION_NAMES[i]]
    if len(names) > 1 and "no-hold" in names:  # its cause is named as well
        names.remove("no-hold")
    # "door-shut" alone would read as if it were: "NO door-shut", but "no-trip" is not "NO no-trip".
    return [name[3:].upper() if name[:3] == "no-" else name if name in ENDINGS else "NO " + name for name in names]


def head_line(left, right, inverted=0):
    """The top line: `left`, and `right` at its end."""
    return (TALL, left + " " * (HEAD - len(left) - len(right)) + right, inverted)


def clock(seconds):
    """m:ss, or whole minutes from 100 minutes on."""
    return "{}:{:02d}".format(seconds // 60, seconds % 60) if seconds < 6000 else str(seconds // 60) + "m"


def wrapped(text, width=LETTERS):
    """Lines of at most `width` letters; no word is cut unless it is longer than a line."""
    lines = []
    for word in text.split():
        if lines and len(lines[-1]) + 1 + len(word) <= width:
            lines[-1] += " " + word
        else:
            while len(word) > width:
                lines.append(word[:width])
                word = word[width:]
            lines.append(word)
    return lines
