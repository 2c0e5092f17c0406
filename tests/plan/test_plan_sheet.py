"""The build sheet: every wrong entry named with file, key and what is allowed, all at once."""

import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from plan_sheets import edited

from host.mains import keys, plan, schema, sheet
from host.mains.example import EXAMPLE

WRONG = {  # changes -> key that the error names, words of what is allowed
    "unknown voltage": ({"supply.voltage_v": "231"}, "supply.voltage_v", "120, 208, 230, 240"),
    "three phases": ({"supply.phases": "3"}, "supply.phases", "one of 1"),
    "text for a number": ({"cable.length_m": '"18 m"'}, "cable.length_m", "0.3 to 200 m"),
    "flag for a number": ({"cable.length_m": "true"}, "cable.length_m", "a number"),
    "number for a flag": ({"relays.paralleled": "0"}, "relays.paralleled", "true or false"),
    "not a number": ({"cable.length_m": "nan"}, "cable.length_m", "0.3 to 200 m"),
    "infinite": ({"cable.length_m": "inf"}, "cable.length_m", "0.3 to 200 m"),
    "negative": ({"cable.length_m": "-18"}, "cable.length_m", "0.3 to 200 m"),
    "absurd power": ({"elements.top.power_w": "90000"}, "elements.top.power_w", "100 to 6000 W"),
    "absurd heat": ({"oven.wanted_c": "1200"}, "oven.wanted_c", "60 to 530 degC"),
    "no such section": ({"cable.section_mm2": "3.0"}, "cable.section_mm2", "2.5, 4"),
    "no such breaker": ({"supply.breaker_a": "17"}, "supply.breaker_a", "16, 20"),
    "no such place": ({"part.place": '"roof"'}, "part[1].place", '"cavity", "wall"'),
    "missing": ({"cable.length_m": None}, "cable.length_m", "missing"),
    "misspelt": ({"cable.length_m": "18\nlenght = 2"}, "cable.lenght", "unknown entry"),
    "plate and ohms": ({"elements.top.power_w": "1500\nohms = 35"}, "elements.top", "not both"),
    "absurd together": (
        {"elements.top.power_w": "6000", "elements.top.voltage_v": "100"}, "elements.top",
        "20 to 9000 W",
    ),
    "half a plate": ({"elements.top.voltage_v": None}, "elements.top", "or ohms"),
    "AWG under IEC": ({"cable.section_mm2": "2.5\nawg = 12"}, "cable.awg", "section_mm2"),
    "NEC method under IEC": ({"cable.method": '"raceway60"'}, "cable.method", "A1, A2, B1"),
    "NEC without AWG": (
        {"supply.rules": '"nec"', "supply.curve": '"nec"', "cable.method": '"cord"'}, "cable.awg",
        "missing",
    ),
    "fitted without rating": ({"contactor.rated_a": None}, "contactor.rated_a", "missing"),
    "seen without where": ({"part.rated_c": "450\nseen_c = 90"}, "part[1]", "seen_at_c together"),
    "no such probe": ({"thermocouple.type": '"Z"'}, "thermocouple.type", '"K", "N"'),
    "empty name": ({"name": '"  "'}, "name", "not empty"),
}  # fmt: skip


def lines_of(path):
    """Lines of the SheetError that reading `path` gives."""
    with pytest.raises(sheet.SheetError) as caught:
        sheet.read(path)
    return caught.value.lines


@pytest.mark.parametrize("name", WRONG)
def test_sheet_wrong_entry_is_named_with_file_key_and_allowed(hall, name):
    changes, key, words = WRONG[name]
    lines = lines_of(hall(changes))
    assert all(line.startswith("hall.toml: ") and "\n" not in line for line in lines)
    assert any(f"hall.toml: {key}" in line and words in line for line in lines), lines


def test_sheet_all_errors_come_at_once(hall):
    changes = {
        "supply.voltage_v": "231", "cable.length_m": None, "part.place": '"roof"',
        "oven.wanted_c": '"hot"',
    }  # fmt: skip
    lines = lines_of(hall(changes))
    assert len(lines) == len(changes)
    for key in ("supply.voltage_v", "cable.length_m", "part[1].place", "oven.wanted_c"):
        assert sum(key in line for line in lines) == 1


def test_sheet_missing_tables_are_all_named(hall):
    lines = lines_of(hall(text='name = "x"\n'))
    for table in set(keys.TABLES) - set(keys.MAY_BE_ABSENT):
        assert any(f"[{table}]" in line for line in lines), table


@pytest.mark.parametrize("raw", [b"name = ", b"\xff\xfe\x00", b"[" * 5000, b"x = 1\n" * 50000, b"supply = 3\nname = 1"])
def test_sheet_rubbish_is_one_line_each(tmp_path, raw):
    path = tmp_path / "rubbish.toml"
    path.write_bytes(raw)
    lines = lines_of(path)
    assert lines and all(line.startswith("rubbish.toml: ") and "\n" not in line for line in lines)


def test_sheet_absent_file_and_folder_are_one_line(tmp_path):
    for path in (tmp_path / "none.toml", tmp_path):
        assert len(lines_of(path)) == 1


def test_sheet_example_states_every_table_and_required_key():
    raw = tomllib.loads(EXAMPLE)
    checked = sheet.check(raw, "example")
    for path, table in keys.TABLES.items():
        found = raw
        for step in path.split("."):
            found = found[step]
        needed = {key for key, spec in table.items() if spec.default is schema.REQUIRED}
        assert needed <= set(found), path
    assert checked["supply"]["voltage_v"] == 230
    assert all(raw[path] for path in keys.LISTS if path != "extra_element")


NUMBERS = [
    (path, key, spec) for path, table in keys.TABLES.items() for key, spec in table.items()
    if spec.kind == "number"
]  # fmt: skip


@pytest.mark.parametrize(("path", "key", "spec"), NUMBERS)
def test_sheet_each_bound_just_below_at_and_just_above(path, key, spec):
    step = (spec.high - spec.low) * 1e-9
    for value, good in (
        (spec.low - step, False), (spec.low, True), (spec.low + step, True),
        (spec.high - step, True), (spec.high, True), (spec.high + step, False),
    ):  # fmt: skip
        assert spec.accepts(value) is good, (path, key, value)


ODD = st.one_of(
    st.integers(-5, 600).map(str), st.floats(-5, 600, allow_nan=False).map(lambda x: f"{x:.3f}"),
    st.sampled_from(['"iec"', '"nec"', '"ssr"', '"relay"', "true", "false", '""', "[]", "nan"]),
)  # fmt: skip
DOTTED = [f"{path}.{key}" for path, table in keys.TABLES.items() for key in table]


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.dictionaries(st.sampled_from(DOTTED), ODD, min_size=1, max_size=4))
def test_sheet_any_entry_gives_a_plan_or_lines_never_another_error(changes):
    text = EXAMPLE
    for key, value in changes.items():
        try:
            text = edited({key: value}, text)
        except KeyError:
            continue
    try:
        checked = sheet.check(tomllib.loads(text), "hall.toml")
    except sheet.SheetError as error:
        assert error.lines
        return
    checked["oven"]["hours"] = min(checked["oven"]["hours"], 4.0)  # for time's sake
    made = plan.make(checked)
    assert made.as_json()["counts"]["stop"] == made.count("stop")
