"""What outlives an evening: its breads, its place in the plan, the counters, what the stone's model has learned.

Written one value a tick, since each write stalls the loop, and only while no heat is permitted.
"""

from tizzone.evening import breads as R
from tizzone.integers import CAP_MS

BREADS, PLACE, TAUGHT, OLDER = 1, 2, 4, 8  # bits of Evening.dirty


def recall(evening, store):
    """What the last evening left: its breads, and where a power cut or trip ended it."""
    value, _ = store.load("night")
    if not isinstance(value, dict):
        return
    for name in ("leg", "leg_done", "done", "at_s", "count", "adjust", "open"):
        number = value.get(name)
        if isinstance(number, bool) or not isinstance(number, int) or not -CAP_MS < number < CAP_MS:
            return
    book = evening.breads
    for number in range(R.MOST // R.BLOCK):
        if book.count >= value["count"] or not book.take_block(number, store.load("breads" + str(number))[0]):
            break
    book.count = min(book.count, max(0, value["count"]))
    if book.count and not book.get(book.count - 1, R.BAKED):
        book.flag(R.CUT)
    book.adjust_pct = max(-R.ADJUST_MAX_PCT, min(R.ADJUST_MAX_PCT, value["adjust"]))
    evening.at_s = min(max(0, value["at_s"]), 32_767)
    if value["open"] and value.get("plan") == evening.plan.name:
        evening.leg, evening.leg_done, evening.done = value["leg"], max(0, value["leg_done"]), max(0, value["done"])
        evening.interrupted = 2 if value["open"] == 2 else 1


def keep_next(evening, app):
    """Store one of what changed: one write a tick, since each stalls the loop. Only while no heat is permitted."""
    memory, book = app.memory, evening.breads
    number = (book.count - 1) // R.BLOCK
    if evening.dirty & BREADS:
        first = book.count and number and book.count % R.BLOCK == 1 and not evening.dirty & OLDER
        if first:  # the block before may have had its last lines since
            number -= 1
        if not book.count or memory.keep("breads" + str(number), book.block(number)):
            evening.dirty = evening.dirty | OLDER if first else evening.dirty & ~(BREADS | OLDER)
    elif evening.dirty & PLACE:
        now = {
            "plan": evening.plan.name, "leg": evening.leg, "leg_done": evening.leg_done, "count": book.count,
            "done": evening.done, "at_s": evening.session_ms // 1000, "adjust": book.adjust_pct,
            "open": 1 if app.sequence.session else evening.interrupted,
        }  # fmt: skip
        if memory.keep("night", now):
            evening.dirty &= ~PLACE
    elif evening.counters.dirty:
        if memory.keep("counters", evening.counters.values):
            evening.counters.dirty = 0
    elif evening.dirty & TAUGHT and memory.keep("stone", evening.stone.learned()):
        evening.dirty &= ~TAUGHT
