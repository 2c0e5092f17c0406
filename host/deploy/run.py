"""The steps of a deploy in their order."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host.deploy import DeployError, measure
from host.deploy.check import wait_and_check
from host.deploy.entry import Entry
from host.deploy.line import Line
from host.deploy.load import Load
from host.link import LinkError, LinkLost

if TYPE_CHECKING:
    from host.deploy.line import Timing
    from host.deploy.plan import LoadPlan


STAYS = " (the board stays at its prompt with every output off until a load has succeeded)"
UNCHANGED = " (nothing was changed; the board has been started again)"


def check_pins(path: Path | str) -> list[str]:
    """Lines about the pin map that stop nothing; DeployError for one that does."""
    try:
        from host.pins import check_releasable
    except ImportError:
        return ["pins not checked: this installation has no pin check"]
    notes = []
    for finding in check_releasable(path):
        text = f"line {finding.line}: {finding.code}: {finding.text}"
        if finding.grade == "stop":
            raise DeployError(f"the pin map is wrong, {text}: {finding.mend}; tizzone pins {path} tells all")
        if finding.grade == "change":
            notes.append(text)
    return notes


def deploy(
    port: str,
    plan: LoadPlan,
    timing: Timing | None = None,
    is_cold: bool = False,
    say: Callable = print,
    measures: bool = False,
    stays: bool = False,
) -> dict[str, Any]:
    """Load `plan` over `port`; what was done and what the board answered, with `measures` its figures too (measure.py).
    `stays`: it is left at its prompt, where nothing is armed, also after a power cut. DeployError (one line)
    otherwise."""
    line = Line(port, timing)
    try:
        entry = Entry(line, is_cold, say)
        entry.go()
        load = Load(line, plan, say)
        try:
            result = load.run()
            figures = measure.at_prompt(line) if measures else {}
            begun = time.monotonic()
            if stays:
                line.reset()
                return {**result, "firmware": load.firmware, "platform": load.platform, "stays": True}
            load.release()
        except (DeployError, LinkError) as error:
            gives_back = not (load.has_begun or entry.was_flagged or isinstance(error, LinkLost))
            if gives_back:  # an earlier load that was cut may have left a mixture: only then it stays where it is
                load.release()
            raise type(error)(str(error) + (UNCHANGED if gives_back else STAYS)) from None
        line.open_when_back()
        result.update(wait_and_check(line, plan, load.tripped_before), firmware=load.firmware, platform=load.platform)
        if measures:
            armed_s = time.monotonic() - begun
            result["measured"] = {**figures, "armed_s": round(armed_s, 1), **measure.running(line)}
        return result
    finally:
        line.close()
