"""What the panel says when it matters: the cook's cue over the dome's digits, a trip, pull-the-plug. pages.py has the
others.

Every screen is four (kind, text, inverted) bands of canvas.py; nothing here acts. Words tell the states apart, and each
screen says what the board does, what to do and when next: where there is no room, in turn within ten seconds.
"""

from micropython import const

from tizzone.evening.cue import cue, degrees, shown, stone_now
from tizzone.panel.canvas import BIG, TALL, UNDER, WIDE
from tizzone.safety import limits as L

LETTERS = 16
HEAD = 15  # of the top line: its last place shows that the board lives
_WIDE_LETTERS = const(8)
ALTERNATE_S = 2
PAGE_S = 4  # of a text that needs more than one


def asks_presence(app):
    """Is a person to say that they are there?"""
    return app.supervisor.present[L.ATTEND_SOON]


def dome_digits(app):
    """The dome in whole degrees, three digits at most, or dashes."""
    return str(max(0, min(999, shown(app, app.dome.pv_mc)))) if app.dome.usable else "---"


def dome_words(app):
    """The dome with its unit."""
    return degrees(app, app.dome.pv_mc) if app.dome.usable else "---"


def pull_the_plug(app, second):
    """Neither relay nor contactor can be relied on."""
    turn = second & 1
    welded = app.supervisor.states[L.CONTACTOR_WELDED]
    return (
        (WIDE, "PULL THE", turn),
        (WIDE, "PLUG NOW", turn),
        (TALL, "contactor welded" if welded else "still heating", 0),
        (TALL, "dome " + dome_words(app), 0),
    )


def tripped(app, second):
    """The first trip: its sentence, what to do, and what comes after that."""
    sup = app.supervisor
    sentence, act = app.told.of(sup.first_out)
    then = "unlock when cold" if sup.locked_out else "then acknowledge below " + degrees(app, sup.restart_mc)
    told = []
    for head, text in (("TRIP", sentence), ("TO DO", act), ("NEXT", then)):
        lines = wrapped(text)
        for first in range(0, len(lines), 3):
            told.append((head, (lines + ["", ""])[first : first + 3]))
    head, lines = told[second // PAGE_S % len(told)]
    return (head_line(head, dome_words(app), 1),) + tuple([(TALL, line, 0) for line in lines])


def main(app, second):
    """What to do and when, over the dome, what is being done, and the stone."""
    doing, do, when, urgent = cue(app)
    turn = second // ALTERNATE_S % 3
    if asks_presence(app):
        below = "push knob"
    elif turn == 2:
        below = "set " + degrees(app, app.sequence.setpoint_mc) if app.sequence.session else "push:menu"
    else:
        below = stone_word(app, turn)
    values = "{:>3}|{}|{}".format(dome_digits(app), doing, below)
    kind = WIDE if len(when) <= _WIDE_LETTERS else TALL
    return (head_line(do, "", urgent), (kind, when, urgent), (BIG, values, 0), (UNDER, "", 0))


def stone_word(app, turn=0):
    """ "stone 431" by a probe or taught by spots, "stone~431" and in turn its uncertainty where it is estimated."""
    value, off = stone_now(app)
    if value is None:
        return "stone ---"
    if turn and off:
        return "stone+-" + str(min(99, off))
    return ("stone~" if off else "stone ") + str(max(0, min(999, value)))


def head_line(left, right, inverted=0):
    """The top line: `left`, and `right` at its end."""
    return (TALL, left + " " * (HEAD - len(left) - len(right)) + right, inverted)


def turning(app, title, second):
    """The top line of every other screen: in turn its title, what is being done, what to do and when."""
    doing, do, when, urgent = cue(app)
    if app.supervisor.first_out != L.NONE and not app.supervisor.pull_the_plug:
        do, when = "TRIP: page one", "now"  # which has its sentence and what to do
    said = [title + " (" + doing + ")"] if len(title) + len(doing) < HEAD - 2 else [title, doing]
    said += [do + " " + when] if len(do) + len(when) < HEAD else [do, when]
    return head_line(said[second // ALTERNATE_S % len(said)], "", urgent)


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
