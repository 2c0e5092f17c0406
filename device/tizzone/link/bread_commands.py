"""The link's words about breads and the evening so far. Loaded for one answer, see commands.py."""

from tizzone.evening import breads as R

STORY = ("none", "power-cut", "trip")


def verdict(app, words):
    """verdict TOP BASE [N]: pale, right or dark; of the last bread, or of bread N."""
    book = app.evening.breads
    if len(words) not in (2, 3) or not (words[0] in R.WORDS[1:] and words[1] in R.WORDS[1:]):
        return "no say: verdict TOP BASE, each pale, right or dark"
    if len(words) == 3 and not words[2].isdigit():
        return "no the bread's number is a whole number"
    n = int(words[2]) if len(words) == 3 else book.count
    if not 1 <= n <= book.count or (book.open and n == book.count):
        return "no bread {} is not out yet".format(n)
    leg_pct = app.evening.plan.leg_values(app)[3]
    before_pct = leg_pct + book.adjust_pct
    change, why, advice = book.take_words(n - 1, R.WORDS.index(words[0]), R.WORDS.index(words[1]), before_pct)
    app.evening.note_breads()
    what = "share {}->{}".format(before_pct, before_pct + change) if change else "share stays {}".format(before_pct)
    if app.evening.flow:
        advice = app.evening.flow.moved_line(book)  # time and pace follow: nothing left to do by hand
    return "ok {}: {}{}".format(what, why, "; " + advice if advice else "")


def bread(app, words):
    """bread [N]: record of bread N (the last one without N)."""
    book = app.evening.breads
    if len(words) > 1 or (words and not words[0].isdigit()):
        return "no say: bread 1"
    n = int(words[0]) if words else book.count
    if not 1 <= n <= book.count:
        return "no breads={}".format(book.count)
    return "ok " + book.line(n - 1)


def evening(app, words):
    """night [new]: what happened so far, also before a power cut; `new` forgets an interrupted evening."""
    n = app.evening
    if words == ["new"]:
        if app.sequence.session:
            return "no an evening is on: stop it first"
        n.forget_interrupted()
        return "ok"
    seq = app.sequence
    at_s = n.session_ms // 1000 if seq.session else n.at_s
    text = "ok plan={} interrupted={} leg={} done={} breads={} at_s={} adjust={}".format(
        n.plan.name, STORY[n.interrupted], n.leg + 1, n.done, n.breads.count, at_s, n.breads.adjust_pct
    )
    if n.interrupted:
        text += " start goes on with this evening, night new forgets it"
    return text


HANDLERS = {"verdict": verdict, "bread": bread, "night": evening}
