"""Wrong inputs over all commands: one line, exit code 2, and every file of the user's is as it was."""

import hashlib
import json
import shutil

import pytest

from host.mains.example import EXAMPLE as SHEET
from tools.__main__ import available, main

RUN = "t_s,pv_c,setpoint_c,out_pct,heat_top,heat_deck,permit,state,trip\n"
RUN += "".join(f"{second},{20 + second / 10},450,100,1,1,1,running,\n" for second in range(60))
RECORD = '{\n "tizzone": "commissioning record",\n "version": 1,\n "board": "", "mark": "", "steps": []\n}\n'
FILES = {
    "hall.toml": SHEET,
    "notes.txt": "Friday: 40 flatbreads, two trays\n",
    "recipe.html": "<html>my own page</html>\n",
    "drawing.svg": "<svg>my own</svg>\n",
    "torn.toml": "name = [",
    "torn.json": "{",
    "list.json": "[1, 2]",
    "other.json": '{"colour": 3}',
    "hot.json": '{"setpoint_c": 900}',
    "settings.json": '{\n "tizzone": "settings",\n "attend_min": 9\n}\n',
    "hall.record.json": RECORD,
    "record.json": RECORD,
    "record.html": "<html>a letter to the club</html>\n",
    "old.record.json": '{\n "version": 9, "mark": "x", "steps": []\n}',
    "hall.twin.json": '{\n "tizzone_twin": 1,\n "parameters": {}\n}',
    "hall.ledger.json": '{"hours_above_rating": "many"}',
    "mine.py": "import os\nMCU = 'rp2040'\n",
    "empty.py": "",
    "plan.toml": 'name = "No plan"\n',
    "hot.toml": 'name = "hot"\nend_c = 200\n[[leg]]\ndome_c = 900\n',
    "answers.toml": "by = 3\n",
    "board.log": "my own log\n",
    "fetched.log": "# Tizzone: event log\n# fetched 2026-11-26T19:00:00\n",
    "paper.toml": '# Tizzone: commissioning answers\n["who witnesses"]\nname = "M. Baker"\n',
    "taken/run.csv": RUN,
    "taken/report.html": "<html>mine</html>",
    "half/summary.json": '{"title": "mine"}',
    "page/report.html": "<html>mine</html>",
    "bad/run.csv": "nothing\n",
    "cal/calibration.json": '{"mine": 1}',
    "drilled/drill.html": "<html>mine</html>",
    "binary.toml": "\x00\xff",
    "nowhere/keep.txt": "kept\n",
}
ROWS = """
plan
plan none.toml
plan torn.toml
plan binary.toml
plan notes.txt
plan hall.record.json
plan nowhere
plan hall.toml --quick
plan hall.toml --quick --ledger torn.json
plan hall.toml --quick --ledger list.json
plan hall.toml --quick --ledger none.json --page recipe.html
plan hall.toml --quick --ledger none.json --page hall.toml
plan hall.toml --quick --ledger none.json --run bad
plan hall.toml --quick --ledger none.json --run none
plan paper.toml --quick
plan settings.json
plan --new hall.toml
plan --new notes.txt
plan --new no/where.toml
plan --wrong
rehearse --oven nowhere
rehearse --oven random:x
rehearse --oven twin:none.json
rehearse --oven twin:hall.record.json
rehearse --oven twin:torn.json
rehearse --oven twin:hall.twin.json
rehearse --board none.py
rehearse --board mine.py
rehearse --board empty.py
rehearse --setpoint hot
rehearse --setpoint 900
rehearse --setpoint nan
rehearse --breads -1
rehearse --breads 1000
rehearse --setting x=1
rehearse --setting setpoint_c
rehearse --setting attend_min=99
rehearse --plan none.toml
rehearse --plan plan.toml
rehearse --plan hot.toml
rehearse --plan torn.toml
rehearse --plan rye-crisp --setpoint 300
rehearse --fault nonsense
rehearse --fault dome_open@soon
rehearse --out taken
rehearse --out half
rehearse --out page
rehearse --out notes.txt
rehearse --runtime pypy
drill --fault none
drill --phase none
drill --oven none
drill --jobs 0
drill --ovens -1
drill --clean -1
drill --clean 0
drill --stalls 0
drill --cuts 0
drill --settings none.json
drill --settings list.json
drill --settings hall.record.json
drill --settings hall.twin.json
drill --settings hot.json
drill --settings notes.txt
drill --board none.py
drill --wiring none
boards --copy none x.py
boards --copy pico mine.py
boards --copy pico notes.txt
boards --copy pico nowhere
boards --copy pico no/where.py
boards --copy pico
pins
pins none.py
pins mine.py
pins notes.txt
pins fetched.log
pins nowhere
pins pico --wanted 900
pins pico --wanted warm
pins pico --draw drawing.svg
pins pico --draw recipe.html
pins pico --draw no/where.svg
deploy --port none --board none.py
deploy --port none
deploy --port notes.txt
deploy --board mine.py --dry-run
deploy --board notes.txt --dry-run
practise --speed 0
practise --speed fast
calibrate
calibrate --ice cold
calibrate --ice nan
calibrate --ice 0.5 --settings hall.record.json --write
calibrate --ice 0.5 --settings hall.twin.json --write
calibrate --ice 0.5 --settings other.json --write
calibrate --ice 0.5 --settings torn.json
calibrate --ice 0.5 --settings list.json
calibrate --ice 0.5 --settings nowhere
calibrate --boil 98
calibrate --boil 98 --pressure-hpa 5
calibrate --boil 98 --altitude-m 9000
calibrate --reference 250
calibrate --reference 250:248
calibrate --reference x:y --reference-uncertainty 2
calibrate --fixed lead:300
calibrate --ice 0.5 --date tomorrow
calibrate --ice 0.5 --chip none
calibrate --ice 0.5 --type Q
calibrate --ice 0.5 --compare
calibrate --ice 0.5 --corrected
calibrate --ice 0.5 --out cal
calibrate --live --ice 0.5
calibrate --live --port none
commission --simulated --port none
commission --port none
commission --record torn.json
commission --record list.json --simulated
commission --record settings.json --simulated
commission --record hall.twin.json --simulated
commission --record old.record.json --simulated
commission --record record.json --simulated
commission --answers none.toml --simulated
commission --answers torn.toml --simulated
commission --answers answers.toml --simulated --record fresh.json
commission --simulated --oven nowhere --record fresh.json
commission --until nothing
commission --answers plan.toml --simulated --record fresh.json
commission --new-answers hall.toml
commission --new-answers fresh.toml --sheet none.toml
commission --new-answers fresh.toml --sheet torn.toml
learn --port none --yes
learn --keep --drop
identify
identify --preset lamp
identify --run none
identify --run bad
identify --sample x
identify --preset standard --levels 900
identify --twin taken
identify --twin taken --top-w 5 --deck-w 5 --out fresh.json
identify --twin taken --top-w 1500 --deck-w 1400 --out hall.record.json
identify --twin taken --top-w 1500 --deck-w 1400 --out notes.txt
identify --twin taken --top-w 1500 --deck-w 1400 --out hall.twin.json
bake
bake send
bake send none --port none
bake send hot.toml
bake send paper.toml
bake send hall.toml
bake list rye-crisp
bake start
bake show --port none
watch --port none
watch --simulated --port none
watch --simulated --speed 0
watch --simulated --oven nowhere
watch --simulated --port-number 99999
watch --simulated --allow-stop
watch --simulated --record taken --samples 1
watch --simulated --record notes.txt --samples 1
watch --simulated --pull
watch --simulated --pull --out notes.txt
watch --simulated --pull --out recipe.html
spot hot
spot 5000
spot 412 --port none
report
note none dough
note bad dough
note taken dough --at noon
note taken dough --at 1:99
note notes.txt dough
evening none
evening bad
evening taken --out notes.txt
evening taken --out recipe.html
evening taken --page recipe.html
evening taken --page hall.toml
evening taken --photo 9:torn.jpg
evening notes.txt
report none
report bad
report notes.txt
report taken
report taken --out recipe.html
report taken --out hall.toml
report taken --since 2026-01-01
report taken --history taken
report --history none
report --history bad
report --history taken --since soon
report --history taken --relay-life -1
report --history taken --out notes.txt
report --history taken --sheet none.toml
report --history taken --sheet torn.toml
report --history taken --sheet notes.txt
report --history taken --oven nowhere
report taken --oven hall
report taken --sheet hall.toml
report taken taken --sheet hall.toml
fetch none
fetch log --port none
next --folder none
next --port none
explain
explain nothing
explain door-open --list
settings show none --port none
settings set attend_min
settings set none 5
settings backup
settings backup notes.txt
settings backup settings.json
settings restore none.json
settings restore hall.record.json
settings restore torn.json
settings restore paper.toml
settings restore fetched.log
settings restore other.json
settings none
player
player dance
player map --board none.py
player map --board mine.py
player map --board empty.py
player map --draw notes.txt
player map --draw recipe.html
player map --setpoint 900
player map --breads -1
player load
player check
player check --port none --player none
player run --port none
player drill --player none
player drill --fault nothing --port a --player b
say
say status --list
say start
say é
""".strip().splitlines()


def hashes(folder):
    """{file: hash} of everything below a folder."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory):
    """A folder with a user's files of every kind."""
    folder = tmp_path_factory.mktemp("kitchen")
    for name, text in FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="latin-1" if "\xff" in text else "utf-8")
    yield folder
    shutil.rmtree(folder)


@pytest.mark.parametrize("row", ROWS)
def test_wrong_input_is_told_in_one_line_and_costs_no_file(kitchen, monkeypatch, capsys, row):
    monkeypatch.chdir(kitchen)
    before = hashes(kitchen)
    try:
        code = main(row.split())
    except SystemExit as ended:
        code = ended.code
    told = capsys.readouterr()
    lines = [line for line in told.err.splitlines() if not line.startswith(("rehearsing", "page:"))]
    assert code == 2, (row, told)
    assert len(lines) == 1 and lines[0].startswith("tizzone"), (row, told.err)
    assert "Traceback" not in told.err and len(lines[0]) < 500
    assert hashes(kitchen) == before, row


def test_every_command_has_its_wrong_inputs():
    assert {row.split()[0] for row in ROWS} == set(available()) and len(ROWS) >= 120


def test_kitchen_holds_a_file_of_each_kind_that_is_read():
    json.loads(FILES["settings.json"])
    assert {"hall.toml", "settings.json", "hall.record.json", "hall.twin.json", "mine.py"} <= set(FILES)
