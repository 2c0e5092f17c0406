"""The link's words for an idle board: settings, corrections. Loaded for one answer, see commands.py."""

from tizzone.evening import sequence as S
from tizzone.memory import settings
from tizzone.probes.conditioning import calibration_fault


def store_setting(app, name, value):
    """Store one checked setting; only while idle. Takes effect at the next start of the board."""
    if app.sequence.state != S.IDLE or app.supervisor.permit.granted:
        return "no settings change only while idle"
    values = dict(app.settings)
    values[name] = value
    if not app.memory.keep_settings(values):
        return "no the board cannot store it"
    app.settings = values  # only now: what was refused must not go to the flash with the next one
    return "ok stored; in force after the next reset of the board"


def store_correction(app, place, points):
    """Store a probe's correction curve [[reading_mc, correction_mc], ...]; only while idle."""
    from tizzone.commissioning.release import sign_again

    if place not in app.probes:
        return "no probe is called " + place
    fault = calibration_fault(points)
    if fault:
        return "no " + fault
    curves = dict(app.settings["calibration"])
    curves[place] = points
    reply = store_setting(app, "calibration", curves)
    if reply.startswith("ok") and not sign_again(app, curves):
        return "no stored, but the record could not be signed: commission again"
    return reply


def setting(app, words):
    """setting NAME [VALUE]: show, or store while no heat is on."""
    if len(words) == 1 and words[0] in app.settings:
        return "ok {}={} ({})".format(words[0], app.settings[words[0]], settings.TABLE[words[0]][3])
    if len(words) != 2:
        return "no say: setting NAME VALUE; names: " + " ".join(sorted(settings.TABLE))
    value, fault = settings.parsed(words[0], words[1])
    if fault:
        return "no " + fault
    return store_setting(app, words[0], value)


def correction(app, words):
    """correction PLACE R:C R:C ...: a probe's correction curve in 0.001 degrees; no points = none."""
    try:
        points = [[int(part) for part in word.split(":")] for word in words[1:]]
    except ValueError:
        points = None
    if not words or points is None:
        return "no say: correction dome 0:150 100000:-200"
    return store_correction(app, words[0], points)


HANDLERS = {"setting": setting, "correction": correction}
