"""What the papers say about releases is what the device does: one table, limits.py; the words follow."""

from pathlib import Path

from host.commissioning.steps import STEPS
from host.shim.loader import world

ROOT = Path(__file__).resolve().parents[2]
L = world().load("tizzone.safety.limits")
C = world().load("tizzone.commissioning.release")


def words(path):
    """A file's text with single spaces."""
    return " ".join((ROOT / path).read_text(encoding="utf-8").split())


def test_readme_names_the_releases_of_the_device():
    *first, last = L.RELEASES_C
    assert f"{', '.join(map(str, first))} and {last} °C, one after the other" in words("README.md")


def test_papers_name_the_highest_setpoint_without_a_limiter():
    top_c = L.RELEASE_UNGUARDED_C
    assert f"Nothing above {top_c} °C without an independent limiter" in words("README.md")
    assert f"releases no setpoint above {top_c} °C" in words("README.md")
    assert f"holds no setpoint above {top_c} °C" in words("boards/README.md")
    assert f"required above {top_c} °C" in words("boards/CLASS_B.md")
    limiter = next(step for step in STEPS if step.name == "limiter")
    assert f"nothing above {top_c} °C is held" in limiter.caution


def test_papers_name_presence_and_the_acknowledge_as_the_device_has_them():
    settings = world().load("tizzone.memory.settings").TABLE
    assert f"Presence is asked for from {L.ATTEND_MC // 1000} °C on" in words("README.md")
    assert settings["attend_c"][0] == L.ATTEND_MC // 1000 == settings["attend_c"][2]
    assert f"all read below {settings['restart_c'][0]} °C" in words("README.md")
    assert L.COOLED_MS == 10 * 3_600_000 and "ten hours without heat" in words("README.md")


def test_steps_of_the_laptop_are_those_of_the_device_in_its_order():
    assert tuple(step.name for step in STEPS) == C.STEPS
    measured = sum(1 for step in STEPS if step.measures)
    assert (measured, len(STEPS)) == (7, 10) and "measures seven of the ten steps" in words("README.md")


def test_limiter_is_tested_before_anything_above_its_figure_is_released():
    at = C.STEPS.index("limiter") + 1
    for count in range(len(C.STEPS) + 1):
        assert C.earned_c(count) <= L.RELEASE_UNGUARDED_C or count >= at


def test_every_word_about_a_mains_part_to_be_replaced_names_who_does_it():
    told = [todo for _, todo in world().load("tizzone.safety.sentences").rows() if "replace" in todo.lower()]
    assert len(told) >= 4 and all("electrician" in todo for todo in told), told
