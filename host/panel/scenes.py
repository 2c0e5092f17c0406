"""The scenes to practise before a club night: what each is for, how it begins, what goes wrong, what is asked."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Question:
    """Asked when the trouble shows: `answers` in order, `right` counts from 1, `why` is said afterwards."""

    ask: str
    answers: tuple[str, ...]
    right: int
    why: str


@dataclass(frozen=True)
class Scene:
    """`begins`: cold, or the stage up to which the oven is heated first; `trouble`: a fault's name or "" and how many
    seconds after the beginning it comes; `ends`: the stage, state or word at which it has been played."""

    title: str
    lead: str
    begins: str = "cold"
    trouble: str = ""
    after_s: float = 8.0
    ends: str = "answered"
    question: Question | None = None
    breads: int = 6


SCENES = {
    "first-heat": Scene(
        "first heat",
        "The oven is cold. Start it at the knob: push for the menu, push on 'start', turn to 'yes', push. Then wait "
        "until it soaks, and say that you are there whenever it asks.",
        ends="soak",
    ),
    "six-breads": Scene(
        "a night of six",
        "The stone is nearly ready. Lay each bread when the display says so (b), tell the board (push, push), take it "
        "out when the time has run down (o opens the door, o shuts it).",
        begins="soak",
        ends="complete",
    ),
    "door-left-open": Scene(
        "a door left open",
        "A bread is due, and somebody leaves the door open. What does the display say, and what brings the heat back?",
        begins="load",
        trouble="door",
        after_s=1.0,
        question=Question(
            "The door stands open. What would you do?",
            ("acknowledge and start again", "shut the door", "raise the setpoint"),
            2,
            "Heat goes on by itself once the door is shut; there is nothing to acknowledge, and a higher setpoint only "
            "makes the dome overshoot.",
        ),
    ),
    "lost-probe": Scene(
        "a lost probe",
        "The oven is hot and its dome probe breaks. Read both pages of the trip.",
        begins="soak",
        trouble="dome_open",
        question=Question(
            "The board has tripped: dome probe is open. What would you do?",
            ("acknowledge at once and go on", "pull the probe's plug and push it in again, oven hot",
             "let it cool, then check the probe's screws and cable"),
            3,
            "Without a reading nobody knows how hot the oven is. The heat is off and stays off until somebody has "
             "found the break on a cooled oven and acknowledged.",
        ),
    ),
    "welded-relay": Scene(
        "a welded relay",
        "The oven soaks. A relay's contacts weld: it conducts although the board has let go.",
        begins="soak",
        trouble="relay_welded_top",
        question=Question(
            "The board has tripped: current with the relay off. What would you do?",
            ("acknowledge and watch whether it comes back", "unplug the mains and have the relay replaced",
             "lower the setpoint and bake on"),
            2,
            "The contactor has taken the mains away from the relay. Only it stands between the mains and an oven that "
            "heats unasked: unplug, and no heat before the relay is replaced by the person who may do that.",
        ),
    ),
    "power-cut": Scene(
        "a power cut",
        "The mains fails for twenty seconds in the middle of the evening, for the board too.",
        begins="load",
        trouble="power_cut",
        question=Question(
            "The mains is back and the board says that power was lost. What would you do?",
            ("nothing: it goes on by itself", "look at the oven, acknowledge once it has cooled, then start if I want",
             "hold the start button until it heats"),
            2,
            "Heat never comes back by itself. The breads are remembered: after a person's acknowledge and start the "
            "evening goes on counting.",
        ),
    ),
}  # fmt: skip
