"""`tizzone plan` as a user types it: exit codes, page, JSON, ledger, one line for each wrong thing."""

import html.parser
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from host.circuit import BOARD, CHAIN, CIRCUIT
from host.mains import diagram, parts, planpage, plantext, readings, unverified
from host.mains.cautions import CAUTIONS
from tools.__main__ import main

RUN = (
    "t_s,dome_c,stone_c,pv_c,setpoint_c,out_pct,heat_top,heat_deck,permit,state,trip\n"
    "0,520,500,520,450,50,1,1,1,running,\n3600,520,500,520,450,50,1,1,1,running,\n"
)


@pytest.mark.slow
def test_command_example_writes_a_sheet_that_plans_without_a_stop(tmp_path, capsys):
    path = tmp_path / "hall.toml"
    assert main(["plan", "--example", str(path)]) == 0
    assert main(["plan", str(path), "--quick"]) == 0
    out = capsys.readouterr().out
    assert "0 stop, 0 change" in out
    assert all(caution in out for caution in CAUTIONS)


@pytest.mark.slow
def test_command_new_writes_a_sheet_that_stops_until_it_is_filled_in(tmp_path, capsys):
    path = tmp_path / "hall.toml"
    assert main(["plan", "--new", str(path)]) == 0
    text = path.read_text(encoding="utf-8")
    for key in ("date", "owner_consents", "insurer_consents", "earth", "earth_ohm", "loop_ohm", "measured_on",
                "acts_in_ours", "opens_c", "proved"):  # fmt: skip
        assert re.search(rf'^{key} = "unknown"', text, re.M), key
    assert not re.search(r"^(seen_c|held_w) = ", text, re.M)
    assert main(["plan", str(path), "--quick", "--json"]) == 1


@pytest.mark.slow
def test_command_unverified_lists_figures_and_words_from_memory(capsys):
    assert main(["plan", "--unverified"]) == 0
    out = capsys.readouterr().out
    for words in ("IEC 60364-6 6.4.3.7.3", "IEC 60335-1 27.5", "boards/README.md", "host/pins/chips.py",
                  "host/commissioning/steps.py", "IEC 60038"):  # fmt: skip
        assert words in out
    assert main(["plan", "--unverified", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert {row["mark"] for row in rows} == {"from memory", "one source"}
    assert len([row for row in rows if row["kind"] == "figure"]) == len({row["text"] for row in rows
                                                                        if row["kind"] == "figure"})  # fmt: skip


def test_command_every_word_from_memory_is_in_the_list():
    """Also where the words are broken over two lines, and where a page marks a cell with M."""
    listed = {row.where for row in unverified.rows() if row.kind == "words"}
    for room in unverified.ROOMS:
        for path in (unverified.ROOT / room).rglob("*"):
            if path.suffix not in (".md", ".py") or path.name == "unverified.py" or "__pycache__" in path.parts:
                continue
            where = path.relative_to(unverified.ROOT).as_posix()
            lines = path.read_text(encoding="utf-8").splitlines()
            said = {n for n, line in enumerate(lines, 1) if "from memory" in line or re.search(r"\(M[:)]", line)}
            said |= {n for n in range(1, len(lines))
                     if lines[n - 1].endswith("from") and lines[n].startswith("memory")}  # fmt: skip
            assert {f"{where}:{n}" for n in said} <= listed
    assert sum(place.startswith("boards/CLASS_B.md") for place in listed) == 4


@pytest.mark.slow
def test_command_every_figure_of_a_plan_from_memory_is_in_the_list(plan_of):
    """A limit of a finding that is from memory stands in the list too, by its source."""
    listed = " ".join(row.text for row in unverified.rows())
    for changes in ({}, {"supply.earth_ohm": "0.8"}, {"supply.residual_ma": "300"}, {"oven.clearance_mm": "100"}):
        for finding in plan_of(changes).findings:
            if finding.limit is not None and finding.limit.mark == "from memory":
                assert finding.limit.source.partition(";")[0] in listed, finding.code


def test_command_new_never_overwrites(hall, capsys):
    path = hall()
    before = path.read_bytes()
    assert main(["plan", "--new", str(path)]) == 2
    assert path.read_bytes() == before
    assert capsys.readouterr().err.count("\n") == 1


def test_command_stop_exits_1_and_stands_first(hall, capsys):
    assert main(["plan", str(hall({"supply.residual_ma": "0"})), "--quick"]) == 1
    out = capsys.readouterr().out
    assert out.splitlines()[0].endswith("NOT to be built like this")
    assert out.index("STOP") < out.index("[residual-none]") < out.index("NOTE")


def test_command_wrong_sheet_exits_2_with_a_line_for_each_error(hall, capsys):
    assert main(["plan", str(hall({"cable.length_m": "-1", "supply.voltage_v": "9"}))]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("hall.toml: ") == captured.err.count("\n") == 2


@pytest.mark.parametrize("arguments", [[], ["none.toml"], ["--new", "no/such/folder/x.toml"]])
def test_command_wrong_use_exits_2_with_one_line(arguments, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["plan", *arguments]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_command_json_is_the_plan_and_nothing_else(hall, capsys):
    main(["plan", str(hall({"cable.length_m": "70"})), "--json", "--quick"])
    tree = json.loads(capsys.readouterr().out)
    found = {finding["code"]: finding for finding in tree["findings"]}
    drop = found["voltage-drop"]
    assert drop["figure"]["unit"] == drop["limit"]["unit"] == "%"
    assert drop["remedy"] == {
        "number": 4, "unit": "mm2", "mark": "computed", "to_be_verified": False,
        "source": drop["remedy"]["source"],
    }  # fmt: skip
    assert tree["counts"]["change"] == 1 and tree["stopped"] is False


def test_command_ledger_is_kept_beside_the_sheet_and_counts_a_run_once(hall, tmp_path, capsys):
    path, run = hall(), tmp_path / "club.csv"
    run.write_text(RUN, encoding="utf-8")
    for _ in range(2):
        assert main(["plan", str(path), "--quick", "--run", str(run)]) == 0
    out = capsys.readouterr().out
    assert "Inner door glass 1.00 h" in out and "already in the ledger" in out
    assert main(["plan", str(path), "--quick"]) == 0
    assert "Inner door glass 1.00 h" in capsys.readouterr().out
    assert (tmp_path / "hall.ledger.json").is_file()


def test_command_bad_run_file_exits_2_and_leaves_the_ledger(hall, tmp_path, capsys):
    path, run = hall(), tmp_path / "club.csv"
    run.write_text(RUN, encoding="utf-8")
    main(["plan", str(path), "--quick", "--run", str(run)])
    before = (tmp_path / "hall.ledger.json").read_bytes()
    bad = tmp_path / "bad.csv"
    bad.write_text("nothing\n", encoding="utf-8")
    fresh = tmp_path / "second.csv"
    fresh.write_text(RUN.replace("520", "521"), encoding="utf-8")
    assert main(["plan", str(path), "--quick", "--run", str(fresh), str(bad)]) == 2
    assert (tmp_path / "hall.ledger.json").read_bytes() == before
    assert capsys.readouterr().err.count("\n") == 1


class Tags(html.parser.HTMLParser):
    """Open tags and every attribute that would fetch something."""

    def __init__(self):
        super().__init__()
        self.open, self.fetched, self.text = [], [], []

    def handle_starttag(self, tag, attrs):
        if tag not in ("meta",):
            self.open.append(tag)
        self.fetched += [value for name, value in attrs if name in ("src", "href", "srcset")]

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in ("meta",):
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def read_page(text):
    """Parsed page: tags closed in order."""
    tags = Tags()
    tags.feed(text)
    assert tags.open == []
    return tags


def test_page_holds_every_section_caution_and_finding_and_fetches_nothing(plan_of):
    plan = plan_of({"supply.residual_ma": "0"})
    tags = read_page(planpage.page(plan))
    text = "".join(tags.text)
    assert tags.fetched == []
    for heading in ("Findings", "One-line diagram", "Figures", "Parts", "Survey", "Reversal sheet",
                    "Cautions", "Seen by"):  # fmt: skip
        assert heading in text
    assert all(caution in text for caution in CAUTIONS)
    assert all(finding.text in text for finding in plan.findings)
    assert "(to be verified)" in text


def test_page_cautions_name_what_they_must(plan_of):
    text = " ".join(CAUTIONS).lower()
    for word in ("licensed", "local codes", "rcd/gfci", "earth continuity", "bypass", "unrecorded",
                 "extinguisher", "clearances", "rented", "insured", "consent", "warranty",
                 "insurance", "not sold on"):  # fmt: skip
        assert word in text, word


def test_page_text_from_the_sheet_cannot_become_markup(plan_of):
    plan = plan_of({"name": "\"<script>alert(1)</script> & 'x'\"", "part.name": '"<b>leads"'})
    page = planpage.page(plan)
    assert "<script" not in page and "<b>leads" not in page
    read_page(page)


def diagram_of(plan):
    """The inline SVG as an XML tree."""
    page = planpage.page(plan)
    return ET.fromstring(re.search(r"<svg.*</svg>", page, re.S).group(0))


def test_diagram_shows_what_the_sheet_says(plan_of):
    words = " ".join("".join(diagram_of(plan_of()).itertext()).split())
    for shown in (
        "B 16 A",
        "30 mA",
        "2.5 mm²",
        "iec60309_16",
        "25 A",
        "limit 490",
        "1500 W",
        "24 V d.c.",
        "13-14",
        "23-24",
    ):
        assert shown in words
    lacking = plan_of({"contactor.fitted": "false", "transfer.fitted": "false",
                       "high_limit.fitted": "false", "supply.residual_ma": "0"})  # fmt: skip
    words = "".join(diagram_of(lacking).itertext())
    assert "K1 NOT FITTED" in words and words.count("NONE") == 3


def test_diagram_stays_inside_its_frame(plan_of):
    tree = diagram_of(plan_of())
    width, height = (float(n) for n in tree.get("viewBox").split()[2:])
    for rect in tree.iter("{http://www.w3.org/2000/svg}rect"):
        x, y, w, h = (float(rect.get(name)) for name in ("x", "y", "width", "height"))
        assert x >= 0 and x + w <= width and y >= 0 and y + h <= height
    for polyline in tree.iter("{http://www.w3.org/2000/svg}polyline"):
        for point in polyline.get("points").split():
            x, y = map(float, point.split(","))
            assert 0 <= x <= width and 0 <= y <= height


@pytest.mark.parametrize(("mark", "where"), [("S1", CHAIN), ("S1", BOARD), ("F2", CHAIN), ("S2", BOARD)])
def test_diagram_and_parts_follow_the_one_description_of_the_circuit(plan_of, mark, where):
    """All four outputs are tried together in tests/pins."""
    made = plan_of()
    device = CIRCUIT.device(mark)
    contacts = tuple(replace(c, terminals="77-78") if c.circuit == where else c for c in device.contacts)
    other = replace(CIRCUIT, devices=tuple(replace(d, contacts=contacts) if d.mark == mark else d
                                           for d in CIRCUIT.devices))  # fmt: skip
    assert "77-78" in diagram.diagram(made.sheet, made.figures, other)
    assert "77-78" not in diagram.diagram(made.sheet, made.figures)
    lacking = replace(CIRCUIT, devices=tuple(d for d in CIRCUIT.devices if d.mark != "S4"))
    assert any(part.what.startswith("S4 ") for part in parts.parts(made.sheet, made.figures))
    assert not any(part.what.startswith("S4 ") for part in parts.parts(made.sheet, made.figures, lacking))


def test_diagram_and_parts_show_the_limiters_own_contactor(plan_of):
    own = {"high_limit.own_contactor": "true\ncontactor_a = 25\ncontactor_poles = 2"}
    text = "".join(diagram_of(plan_of(own)).itertext())
    assert "K4 25 A" in text and "K4 A1-A2" in text
    least = {part.what: part.least for part in plan_of(own).parts}
    assert least["Limiter's contactor K4"] == "16 A AC-1, 2 poles, coil for 24 V d.c. (separated supply)"
    assert "K4" not in "".join(diagram_of(plan_of()).itertext())


def test_diagram_names_the_voltage_of_the_chain_that_the_sheet_has(plan_of):
    for kind, words in (("selv_24dc", "24 V d.c."), ("selv_24ac", "24 V a.c."), ("mains", "230 V mains")):
        text = "".join(diagram_of(plan_of({"chain.kind": f'"{kind}"'})).itertext())
        assert f"Coil chain of K1 at {words}" in text


def test_diagram_tells_a_cut_out_that_acts_only_in_the_original(plan_of):
    raw = plan_of()
    raw.sheet["survey"][1]["acts_in_ours"] = False
    text = diagram.diagram(raw.sheet, raw.figures)
    assert "NO CUT-OUT" in text and "(ONLY HERE)" in text


def test_page_shows_what_was_measured_beside_its_limit_and_what_was_not(plan_of):
    """Limits: IEC 60335-1 27.5, IEC 60364-6, IEC 61008-1, all from memory."""
    page = planpage.page(plan_of())
    assert "Read on 2026-10-28 by hall&#x27;s electrician, licence 4711" in page
    rows = dict((row[0], row) for row in readings.rows(plan_of()))
    assert rows["Earth continuity, plug to oven, box and heatsink"][1:3] == (
        "0.06 ohm",
        "at most 0.1 ohm (to be verified)",
    )
    assert rows["Earth-fault loop at the connection, cold"][1:3] == ("0.9 ohm", "at most 1.92 ohm (to be verified)")
    unknown = {"supply.loop_ohm": None, "supply.rcd_ma": None}
    text = plantext.lines(plan_of(unknown))
    assert sum("NOT KNOWN" in line for line in text) == 2
    assert any(row[0].startswith("Earth electrode") for row in readings.rows(plan_of({"supply.system": '"tt"'})))


@pytest.mark.parametrize(
    ("through", "words"),
    [
        ("elements", "yes, the elements&#x27; common conductor"),
        ("chain", "COIL&#x27;S CHAIN"),
        (None, "yes, through __"),
    ],
)
def test_page_says_through_what_each_cut_out_acts(plan_of, through, words):
    made = plan_of()
    made.sheet["survey"][1]["acts_through"] = through
    assert words in planpage.page(made)


def test_diagram_breaker_has_the_poles_of_the_sheet(plan_of):
    for poles, words in (("1", "Breaker 1P"), ("2", "Breaker 2P"), ('"unknown"', "Breaker ?P")):
        assert words in "".join(diagram_of(plan_of({"supply.breaker_poles": poles})).itertext())
