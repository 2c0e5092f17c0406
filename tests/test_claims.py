"""Each claim of the comparison with class B, and of the cautions in README, has its test; or its honest word.

A claim that is reworded or taken away, or a test that is renamed, shows here: then both are read again.
"""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CLASS_B, README = "boards/CLASS_B.md", "README.md"
CLAIMS = (
    (CLASS_B, "A wrong result that reaches a limit or the setpoint shows in their inverted copies",
     "device/test_ways_round.py", "limit_or_setpoint_changed_in_memory"),
    (CLASS_B, "dead-man timer cuts heat within two periods", "safety/test_heater.py",
     "test_without_a_drive_everything_is_off_within_two_periods"),
    (CLASS_B, "where that timer itself has stopped no heat flows from the second tick on", "safety/test_heater.py",
     "test_deadman_that_has_stopped_gets_no_heat_beside_it_and_is_seen_within_three_drives"),
    (CLASS_B, "a pulsed contactor drive falls off", "safety/test_heater.py",
     "test_pulse_drive_makes_one_edge_a_tick_and_none_without_a_drive"),
    (CLASS_B, "beyond the permit's serial number", "safety/test_heater.py",
     "test_permit_seen_before_switches_everything_off"),
    (CLASS_B, "no interrupt takes part in control", "safety/test_heater.py",
     "test_hard_timer_fires_while_the_interpreter_hangs"),
    (CLASS_B, "Where it is no hard interrupt the self-test refuses heat, unless the contactor is pulsed",
     "safety/test_heater.py", "test_deadman_tells_whether_heat_survives_a_hang"),
    (CLASS_B, "tick counter against the second clock once a minute", "device/test_board_start.py",
     "test_clock_that_runs_wrong_against_the_second_clock_trips_within_two_minutes"),
    (CLASS_B, "carry a CRC-32 in two copies", "store/test_store_damage.py",
     "test_store_any_byte_changed_gives_the_old_or_new_value_and_says_so"),
    (CLASS_B, "what is missing on a board that was used is a trip", "device/test_ways_round.py",
     "file_settings_out_of_bounds_or_gone"),
    (CLASS_B, "the record carries a fingerprint of map, limit, correction and zones", "commission/test_release.py",
     "test_release_of_a_map_that_was_changed_since_is_the_least"),
    (CLASS_B, "are kept twice, once inverted, and compared each tick", "device/test_ways_round.py",
     "limit_or_setpoint_changed_in_memory"),
    (CLASS_B, "CRC-16 and an unknown line never acts", "device/test_link.py",
     "test_line_with_one_byte_changed_never_acts"),
    (CLASS_B, "heat denied after 250 ms without a new one, trip at 750 ms", "safety/test_conditions.py",
     "test_stale_reading_denies_after_one_tick_and_trips_after_three"),
    (CLASS_B, "heat and contactor pins read back each tick", "safety/test_heater.py",
     "test_pin_that_does_not_follow_is_noticed"),
    (CLASS_B, "what comes and goes by counters that leak", "safety/test_wiring.py",
     "test_contactor_that_disagrees_again_and_again_trips"),
    (CLASS_B, "start test of both", "safety/test_wiring.py", "test_any_current_in_the_start_test_trips_at_once"),
    (CLASS_B, "by full output that no longer brings the reading back", "safety/test_slipped.py",
     "test_slipped_reading_that_stands_low_at_full_output_is_seen_where_there_was_output_to_spare"),
    (CLASS_B, "35 % more and 5 points, at a settled setpoint", "safety/test_slipped.py",
     "test_slipped_a_third_more_for_minutes_is_too_much"),
    (CLASS_B, "the cut-off test at commissioning lowers the limit below the present reading",
     "commission/test_course.py", "test_course_from_papers_to_full_heat_with_its_record"),
    (CLASS_B, "its cold junction is judged too", "safety/test_conditions.py",
     "test_box_temperature_warns_then_trips_after_two_seconds"),
    (README, "releases no setpoint above 120 °C", "commission/test_release.py",
     "test_release_without_an_independent_limiter_is_120_whatever_the_record_says"),
    (README, "A board that starts tripped beeps and blinks too", "device/test_board_start.py",
     "test_start_board_that_boots_tripped_beeps_until_somebody_acknowledges"),
    (README, "one whose program ends sounds without a pause", "device/test_board_start.py",
     "test_end_of_the_program_sounds_without_a_pause_until_the_watchdog_starts_a_board_that_beeps"),
    (README, "a stone's reading counts for 150 K more", "safety/test_warmth.py",
     "test_warmth_of_a_stone_alone_allows_for_its_lag_until_it_has_caught_up"),
    (README, "together with your own thermometer on the bare stone and cold readings", "safety/test_warmth.py",
     "test_warmth_a_persons_word_alone_or_a_reading_alone_proves_nothing"),
    (README, "Presence is asked for from 120 °C on", "safety/test_people.py",
     "test_neither_can_be_switched_off_from_120_c_on"),
    (README, "crash it comes back tripped", "drill/test_cuts.py",
     "test_cuts_at_random_moments_leave_the_board_idle_or_tripped_and_lose_only_what_was_in_flight"),
    (README, "It never touches settings, latch, session, counters, commissioning record or log",
     "deploy/test_deploy.py", "test_second_load_goes_in_through_the_link_and_leaves_the_boards_memory_alone"),
    (README, "and refuses a hot oven", "deploy/test_deploy.py", "test_load_is_refused_from_80_degrees_on"),
    (README, "Cut off anywhere, the board stays at its prompt with outputs off: run it again",
     "pico/test_pico_board.py", "test_empty_board_is_loaded_cut_off_in_the_middle_and_loaded_again"),
    (README, "Without a pin map it stays at its prompt, heat pins untouched", "deploy/test_mpremote.py",
     "test_mip_installs_the_package_and_a_board_without_pin_map_stays_at_its_prompt"),
    (README, "fit the MAINTENANCE jumper", "deploy/test_deploy.py", "test_jumper_lets_in_and_has_to_come_off_again"),
    (README, "A damaged or unknown line gets a reply and does nothing", "device/test_app.py",
     "test_damaged_line_gets_a_reply_and_never_acts"),
    (README, "three seconds without watchdog in which heat is impossible", "device/test_app.py",
     "test_heat_is_impossible_during_the_grace_window"),
    (README, "60, 120, 260 and 480 °C, one after the other", "commission/test_release_words.py",
     "test_readme_names_the_releases_of_the_device"),
    (README, "it falls back to 60 °C and says why", "commission/test_course.py",
     "test_changed_pin_map_or_probe_falls_back_and_says_why"),
    (README, "A broken wire of a sensed contact reads as not good", "safety/test_sensed.py",
     "test_contact_closed_to_ground_is_good_and_a_broken_wire_is_not"),
    (README, "stop works in each of them, in one press", "panel/test_panel_stop.py",
     "test_stop_from_any_stage_and_screen_takes_the_heat_off_within_one_tick"),
    (README, "the fan runs until then", "device/test_board_loop.py",
     "test_fan_runs_while_a_reading_cannot_be_believed_until_the_other_probe_says_cool"),
    (README, "so does a mains voltage that falls by 12 %", "control/test_identify.py",
     "test_mains_that_falls_by_an_eighth_between_the_levels_is_refused"),
    (README, "A door that is opened ends it and leaves the old tuning, also where no contact tells of it",
     "control/test_identify.py", "test_bread_through_a_door_without_a_contact_is_refused_behind_the_thickest_sheath"),
    (README, "two staggered elements of up to 3.5 kW do not make lamps flicker", "plan/test_plan_flicker.py",
     "test_flicker_window_needed_is_enough_and_the_next_shorter_is_not"),
    (README, "the controller asks you to confirm that you are there",
     "safety/test_people.py", "test_neither_can_be_switched_off_from_120_c_on"),
)  # fmt: skip
# What is claimed and not tried says so in the text itself.
UNTRIED = ((CLASS_B, "that is inferred, not tried"), (CLASS_B, "everything marked M are from"))


def words(name):
    """A document as one line."""
    return " ".join((ROOT / name).read_text(encoding="utf-8").split())


@pytest.mark.parametrize(("document", "claim", "file", "test"), CLAIMS, ids=[claim[:40] for _, claim, *_ in CLAIMS])
def test_claim_stands_in_its_document_and_has_its_test(document, claim, file, test):
    assert claim in words(document)
    tree = ast.parse((ROOT / "tests" / file).read_text(encoding="utf-8"))
    assert test in {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize(("document", "claim"), UNTRIED)
def test_claim_that_was_not_tried_says_so(document, claim):
    assert claim in words(document)


def test_every_covered_row_of_the_comparison_has_a_claim_with_a_test():
    rows = [line for line in (ROOT / CLASS_B).read_text(encoding="utf-8").splitlines() if "| covered" in line]
    claims = [claim for document, claim, *_ in CLAIMS if document == CLASS_B]
    bare = [row[:40] for row in rows if not any(claim in row for claim in claims)]
    assert len(rows) == 11 and bare == []
