"""One description of the circuit, four outputs: what changes in it changes in README's tables, in the plan's diagram,
in the list to tick off and in the wiring drawing."""

import dataclasses
import tomllib
import xml.etree.ElementTree as ET
from functools import cache

import pytest

from host import pins
from host.circuit import BOARD, CHAIN, CIRCUIT, MAINS, wiring_words
from host.mains import compute, diagram, sheet
from host.mains.example import EXAMPLE
from host.pins import drawing, pin_map, ticklist
from tools import circuit_table

SVG = "{http://www.w3.org/2000/svg}"
BOARDS = sorted(path.stem for path in pin_map.BOARDS.glob("*.py"))


def shown(board):
    """A Board with its findings."""
    return pins.usable_map(pin_map.read_source(board), 60)


def test_circuit_no_contact_serves_two_voltages():
    for device in CIRCUIT.devices:
        voltages = [contact.circuit for contact in device.contacts]
        assert len(voltages) == len(set(voltages)), device.mark
        terminals = [contact.terminals for contact in device.contacts if contact.kind == "contact"]
        assert len(terminals) == len(set(terminals)), device.mark
    for name in ("ENABLE", "LIMIT_OK", "SELECTOR"):
        assert name in CIRCUIT.chain_names()
        assert CIRCUIT.named(name).on(CHAIN).terminals != CIRCUIT.sensed(name).terminals


def test_circuit_chain_is_extra_low_voltage_and_ends_in_the_coil():
    assert "separated" in CIRCUIT.voltage(CHAIN)
    device, contact = CIRCUIT.chain()[-1]
    assert (device.mark, contact.kind) == ("K1", "coil")
    assert [device.mark for device, _ in CIRCUIT.chain()].count("K2") == 1


def test_circuit_names_are_those_of_the_pin_map():
    assert {d.name for d in CIRCUIT.inputs()} == set(pin_map.INPUTS)
    assert {d.name for d in CIRCUIT.outputs()} == set(pin_map.OUTPUTS)


def test_circuit_unknown_mark_and_name_are_told():
    with pytest.raises(KeyError):
        CIRCUIT.device("Z9")
    assert CIRCUIT.named("NOTHING") is None and CIRCUIT.sensed("HEAT_TOP") is None


def test_readme_is_what_the_description_says():
    assert circuit_table.main(["--check"]) == 0


def test_readme_without_markers_is_refused():
    with pytest.raises(ValueError, match="markers"):
        wiring_words.put_into("# nothing\n", "words")


@pytest.mark.parametrize("board", BOARDS)
def test_list_has_a_line_for_every_contact_with_its_voltage(board):
    found = shown(board)
    wires = ticklist.wires(found)
    for device in CIRCUIT.devices:
        if device.name and found.get(device.name) is None or found.get("CONTACTOR") is None:
            continue
        for contact in device.contacts:
            lines = [
                wire for wire in wires if f"{device.mark} {contact.terminals}" in wire.to.partition("; wire from")[0]
            ]
            assert len(lines) == 1, (device.mark, contact)
            assert lines[0].volts == CIRCUIT.voltage(contact.circuit)
    for name in ("ENABLE", "LIMIT_OK", "SELECTOR"):
        if found.get("CONTACTOR") is not None and found.get(name) is not None:
            assert len({wire.volts for wire in wires if wire.name == name}) == 2


@cache
def example():
    """The example build sheet and its figures."""
    made = sheet.check(tomllib.loads(EXAMPLE), "example")
    return made, compute.figures(made)


def outputs(circuit, kind="selv_24dc"):
    """The texts of the four outputs: README's tables, the plan's diagram, the list to tick off, the wiring drawing.
    `kind`: the chain's voltage in the sheet that the plan is made of."""
    board = shown("pico")
    made, figures = example()
    made = {**made, "chain": {**made["chain"], "kind": kind}}
    plan = ET.fromstring(diagram.diagram(made, figures, circuit))
    picture = " ".join(node.text or "" for node in ET.fromstring(drawing.picture(board, circuit)).iter(f"{SVG}text"))
    return {
        "readme": wiring_words.section(pin_map.read("pico"), circuit),
        "list": ticklist.table(board, circuit),
        "drawing": picture,
        "plan": " ".join(node.text or "" for node in plan.iter(f"{SVG}text")),
    }


def changed(circuit, mark, terminals, circuit_name):
    """The circuit with other terminals on one contact of a device."""
    device = circuit.device(mark)
    contacts = tuple(dataclasses.replace(c, terminals=terminals) if c.circuit == circuit_name else c
                     for c in device.contacts)  # fmt: skip
    devices = tuple(dataclasses.replace(d, contacts=contacts) if d.mark == mark else d for d in circuit.devices)
    return dataclasses.replace(circuit, devices=devices)


@pytest.mark.parametrize(("mark", "where"), [("S1", CHAIN), ("S1", BOARD), ("F2", CHAIN), ("S2", BOARD)])
def test_circuit_a_changed_terminal_shows_in_every_output(mark, where):
    for text in outputs(changed(CIRCUIT, mark, "77-78", where)).values():
        assert "77-78" in text
    assert all("77-78" not in text for text in outputs(CIRCUIT).values())


def test_circuit_another_voltage_of_the_chain_shows_in_every_output():
    assert all("24 V d.c." in text for text in outputs(CIRCUIT).values())
    for text in outputs(CIRCUIT.with_chain("mains", "230 V"), "mains").values():
        assert "230 V mains" in text and "24 V d.c." not in text
    assert CIRCUIT.with_chain("selv_24ac").voltage(MAINS) == "mains"


def test_circuit_a_contact_taken_out_of_the_chain_leaves_every_output():
    series = tuple(mark for mark in CIRCUIT.series if mark != "S1")
    for text in outputs(dataclasses.replace(CIRCUIT, series=series)).values():
        assert "S1 13-14" not in text and "S1 ENABLE: board 23-24, chain 13-14" not in text
    assert "S1 ENABLE" in outputs(CIRCUIT)["plan"]
    assert "S1 ENABLE" not in outputs(dataclasses.replace(CIRCUIT, series=series))["plan"]


def test_circuit_limiter_with_a_contactor_of_its_own_adds_one_coil_behind_the_limiter_alone():
    own = CIRCUIT.with_limiter_contactor()
    assert own.branches == (("F2", "K4"),) and own.series == CIRCUIT.series
    assert [contact.circuit for contact in own.device("K4").contacts] == [CHAIN, MAINS]
    words = outputs(own)["plan"]
    assert "K4 A1-A2" in words and "nothing but F2 opens it" in words
    assert "K4" not in outputs(CIRCUIT)["plan"]


def overlaps(svg):
    """Pairs of strokes that lie on each other for a stretch."""
    strokes = []
    for node in ET.fromstring(svg).iter(f"{SVG}polyline"):
        points = [tuple(map(float, point.split(","))) for point in node.get("points").split()]
        strokes += [tuple(sorted(pair)) for pair in zip(points, points[1:], strict=False) if pair[0] != pair[1]]
    return [
        (one, other)
        for number, one in enumerate(strokes)
        for other in strokes[number + 1 :]
        for axis in (0, 1)
        if len({one[0][axis], one[1][axis], other[0][axis], other[1][axis]}) == 1
        and min(one[1][1 - axis], other[1][1 - axis]) > max(one[0][1 - axis], other[0][1 - axis])
    ]


@pytest.mark.parametrize("circuit", [CIRCUIT, CIRCUIT.with_limiter_contactor()], ids=["one", "two"])
def test_diagram_no_two_lines_share_a_run(circuit):
    made, figures = example()
    assert overlaps(diagram.diagram(made, figures, circuit)) == []


@pytest.mark.parametrize("board", BOARDS)
def test_drawing_no_two_lines_share_a_run(board):
    assert overlaps(drawing.picture(shown(board))) == []
