"""The shell of every HTML page of the laptop: head, style, what may be loaded, title, the caution at its end.

    document("An evening", [first(...), picture(...), caution(MAINS)])

A page is one file that needs no network: nothing is fetched, no script runs, unless a page says otherwise.
"""

from collections.abc import Iterable
from html import escape

from host.page.style import REPORT

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
MAINS = (
    "Mains electricity, fire and burns: local codes and a licensed electrician come first, an independent "
    "high limit stays in charge, and a hot oven is never left alone."
)


def caution(text: str = MAINS) -> str:
    """The last paragraph of a page: what it does not say."""
    return f"<p><small>{escape(text)}</small></p>"


def scrolled(html: str, what: str) -> str:
    """`html` in a frame that scrolls sideways by itself, so that the page never does; `what` it is, for who listens."""
    return f'<div class="scroll" role="region" tabindex="0" aria-label="{escape(what)}">{html}</div>'


def document(
    title: str,
    body: Iterable[str],
    style: str | None = REPORT,
    head: Iterable[str] = (),
    policy: str | None = POLICY,
) -> str:
    """-> one HTML document.

    `body`: pieces of HTML, empty ones are left out. `style`: CSS within the page, None for none. `head`: further lines
    of the head. `policy`: the Content-Security-Policy within the page, None where a server sends one."""
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
    ]
    if policy is not None:
        lines.append(f'<meta http-equiv="Content-Security-Policy" content="{policy}">')
    inside = "" if style is None else f"<style>{style}</style>"
    lines += [*head, f"<title>{escape(title)}</title>{inside}</head><body>"]
    return "\n".join([*lines, *(piece for piece in body if piece), "</body></html>"]) + "\n"
