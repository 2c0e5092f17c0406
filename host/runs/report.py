"""The report of a run: `summarise`, `table` for the terminal, `page` as one file that needs no network."""

from html import escape

from host.runs.picture import draw
from host.runs.summary import FIGURES, bread_lines, clock, kind, lines_of, shown, summarise, table, trip_list, when

__all__ = ["FIGURES", "page", "summarise", "table", "trip_list"]

FIRST = ("to_setpoint_s", "overshoot_k", "band_k", "recovery_s", "energy_kwh")
NO_PICTURE = (
    "No picture: matplotlib is missing. Install it (python -m pip install matplotlib), "
    "then run: tizzone report RUN_FOLDER"
)
CAUTION = (
    "Mains electricity, fire and burns: local codes and a licensed electrician come first, an independent "
    "high limit stays in charge, and a hot oven is never left alone."
)
STYLE = """
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 62rem; padding: 1.2rem 1rem 3rem; background: #fffdf8; color: #24211c;
  font: 1rem/1.5 Georgia, "Times New Roman", serif; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 0 0 .2rem; font-weight: normal; }
h2 { font-size: 1.1rem; margin: 2rem 0 .4rem; border-bottom: 1px solid #24211c; }
p { margin: .3rem 0; }
.first { display: grid; grid-template-columns: repeat(auto-fit, minmax(8.2rem, 1fr)); gap: .2rem 1.2rem;
  margin: 1rem 0; padding: 0; }
.first div { border-top: 3px solid #24211c; padding: .3rem 0; }
.first dt { font-size: .85rem; }
.first dd { margin: 0; font-size: 1.35rem; }
.trip { border: 3px solid #24211c; border-left-width: 14px; padding: .5rem .8rem; margin: 1rem 0; font-weight: bold; }
.word { border-left: 5px double #24211c; padding-left: .7rem; }
svg, svg text { font-family: Helvetica, Arial, sans-serif; }
svg { display: block; width: 100%; height: auto; }
svg.narrow { display: none; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .22rem .8rem .22rem 0; border-bottom: 1px solid #d8d2c6; }
th { font-weight: normal; }
td.figure { white-space: nowrap; font-weight: bold; }
.what th { width: 32%; } .what td.figure { width: 16%; }
small { color: #5a5348; }
@media (max-width: 40rem) { svg.wide { display: none; } svg.narrow { display: block; }
  td.figure { white-space: normal; }
  .what tr { display: grid; grid-template-columns: 1fr auto; border-bottom: 1px solid #d8d2c6; }
  .what th, .what td { border: 0; padding-right: 0; } .what td.figure { text-align: right; padding-left: .8rem; }
  .what td:last-child { grid-column: 1 / 3; padding-top: 0; line-height: 1.25; } }
@media print { body { max-width: none; padding: 0; background: #fff; } svg.wide { display: block; }
  svg.narrow { display: none; } tr, .first, svg { break-inside: avoid; } h2 { break-after: avoid; } }
"""


def page(rows, events, summary, title="An evening", about=(), remarks=(), since_last=None):
    """-> one HTML document as text: picture, figures with their definitions, trips, breads, events.

    `about`: lines on what was run; `remarks`: words about the record itself (a cut file, say);
    `since_last`: (name of the run before, [(words, then, now, remark), ...]) from `host.runs.history.last`."""
    parts = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{escape(title)}</title><style>{STYLE}</style></head><body>",
        f"<h1>{escape(title)}</h1>",
        *(f"<p>{escape(line)}</p>" for line in about),
        *(f'<p class="word">{escape(line)}</p>' for line in remarks),
        *trips(summary),
        first(summary),
        picture(rows, events),
        figures(summary),
        breads(summary),
        changed(since_last),
        event_table(events),
        f"<p><small>{escape(CAUTION)}</small></p>",
        "</body></html>",
    ]
    return "\n".join(parts) + "\n"


def trips(summary):
    """The banner of every trip, or the one line that there was none."""
    if not summary["trip_list"]:
        return ["<p>No trip.</p>"]
    return [
        f'<p class="trip">TRIP at {clock(trip["t_s"])}: {escape(trip["text"])}</p>' for trip in summary["trip_list"]
    ]


def first(summary):
    """The figures that a cook asks for first, in large."""
    cells = (
        f"<div><dt>{escape(FIGURES[key][0])}</dt><dd>{escape(shown(key, summary.get(key)))}</dd></div>" for key in FIRST
    )
    return f'<dl class="first">{"".join(cells)}</dl>'


def picture(rows, events):
    """Both drawings (the page shows the one that fits), or how to get them."""
    if not len(rows):
        return '<p class="word">No picture: the record holds no row.</p>'
    wide = draw(rows, events, "wide")
    return f'<p class="word">{escape(NO_PICTURE)}</p>' if wide is None else wide + draw(rows, events, "narrow")


def figures(summary):
    """What happened, figure by figure, each with its definition."""
    lines = (
        f'<tr><th scope="row">{escape(words)}</th><td class="figure">{escape(text)}</td>'
        f"<td><small>{escape(what)}</small></td></tr>"
        for words, text, what in lines_of(summary)
    )
    return f'<h2>What happened</h2><table class="what">{"".join(lines)}</table>'


def breads(summary):
    """When each bread was laid, how far the reading sank and when it was back."""
    lines = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td>{escape(text)}</td></tr>' for words, text in bread_lines(summary)
    )
    return f"<h2>Breads</h2><table>{lines}</table>" if lines else ""


def changed(since_last):
    """What changed since the run before, figure by figure; nothing where there was none."""
    if since_last is None:
        return ""
    name, lines = since_last
    cells = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td>{escape(then)}</td><td class="figure">{escape(now)}</td>'
        f"<td><small>{escape(remark)}</small></td></tr>"
        for words, then, now, remark in lines
    )
    head = "<tr><th></th><td>then</td><td>now</td><td></td></tr>"
    return f"<h2>What changed since the last: {escape(name)}</h2><table>{head}{cells}</table>"


def event_table(events):
    """Every event with its time and values, in order; replies to the cook and empty ones are counted."""
    shown_events = [event for event in sorted(events, key=when) if not is_routine(event)]
    if not events:
        return "<h2>Events</h2><p>None recorded.</p>"
    lines = (
        f'<tr><td class="figure">{clock(when(event))}</td><td>{escape(kind(event).replace("_", " "))}</td>'
        f"<td>{escape(values(event))}</td></tr>"
        for event in shown_events
    )
    rest = len(events) - len(shown_events)
    word = f"<p><small>{rest} routine events are left out here; events.jsonl has them all.</small></p>" if rest else ""
    return f"<h2>Events</h2><table>{''.join(lines)}</table>{word}"


def is_routine(event):
    """Replies that the cook got, and fields that were told to be empty at the start."""
    return (kind(event) == "cook" and str(event.get("text", "")).startswith("~ok")) or event.get("value") in (0, "none")


def values(event):
    """An event's further values as words."""
    rest = {key: value for key, value in event.items() if key not in ("t_s", "kind", "event", "value", "text")}
    words = [event[key] for key in ("value", "text") if key in event]
    return " ".join(map(str, [*words, *(f"{key} {value}" for key, value in rest.items())]))
