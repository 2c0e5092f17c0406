"""A file says in its first lines what it is, and is never written over by another kind."""

import json

import pytest

from host.files import kinds, settings_file
from host.files.settings_file import SettingsFileError
from host.files.writing import NotWritten

TEXTS = {
    "page.html": "<!DOCTYPE html>\n<html><body>bread</body></html>\n",
    "wires.svg": '<svg xmlns="http://www.w3.org/2000/svg"/>\n',
    "old.svg": '<?xml version="1.0"?>\n<svg/>\n',
    "twin.json": '{\n "rms_k": 1.5\n}\n',
    "board.log": "trip door-open pv_mc=20000\n",
}


@pytest.mark.parametrize("name", TEXTS)
def test_kind_stands_in_the_first_lines_of_every_format(tmp_path, name):
    kinds.write(tmp_path / name, TEXTS[name], kinds.RUN_PAGE)
    text = (tmp_path / name).read_text(encoding="utf-8")
    assert kinds.kind_of(tmp_path / name) == kinds.RUN_PAGE
    assert "run page" in "".join(text.splitlines()[:2])
    assert kinds.stamped(text, kinds.RUN_PAGE) == text
    if name.endswith(".json"):
        assert json.loads(text) == {"tizzone": "run page", "rms_k": 1.5}


@pytest.mark.parametrize("there, kind, is_taken", [
    ("my own notes\n", kinds.PLAN_PAGE, False),
    ("# Tizzone: event log\n", kinds.PLAN_PAGE, False),
    ("<!DOCTYPE html>\n<!-- Tizzone: plan page -->\n", kinds.PLAN_PAGE, True),
    ("<!DOCTYPE html>\n<!-- Tizzone: run page -->\n", kinds.PLAN_PAGE, False),
    ('{\n "tizzone": "twin of an oven"}', kinds.TWIN, False),
    ('{\n "tizzone_twin": 1}', kinds.COMMISSIONING, False),
    ('{\n "version": 1,\n "board": "x",\n "mark": "y"}', kinds.COMMISSIONING, True),
    ('{\n "version": 1,\n "board": "x",\n "mark": "y"}', kinds.TWIN, False),
    ("", kinds.TWIN, True),
])  # fmt: skip
def test_file_that_is_there_is_kept_unless_it_is_made_again_or_continued(tmp_path, there, kind, is_taken):
    path = tmp_path / "hall.json"
    path.write_text(there, encoding="utf-8")
    if is_taken:
        kinds.check(path, kind)
    else:
        with pytest.raises(NotWritten, match=r"hall\.json: is there already, .*--force") as told:
            kinds.write(path, "{}", kind)
        assert "\n" not in str(told.value) and path.read_text(encoding="utf-8") == there
    kinds.write(path, '{"x": 1}', kind, force=True)
    assert kinds.kind_of(path) == kind


@pytest.mark.parametrize("text, words", [
    ('{\n "tizzone": "commissioning record",\n "steps": []}', "commissioning record"),
    ('{\n "tizzone_twin": 1}', "twin of an oven"),
    ('{"colour": 3}', "colour is no setting"),
    ("[1]", "a table is needed"),
    ("bread", "not readable"),
])  # fmt: skip
def test_settings_file_that_is_something_else_is_refused(tmp_path, text, words):
    path = tmp_path / "hall.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsFileError, match=words):
        settings_file.read(path, {"setpoint_c"})


def test_settings_file_comes_back_without_its_mark(tmp_path):
    settings_file.write(tmp_path / "settings.json", {"setpoint_c": 300})
    assert kinds.kind_of(tmp_path / "settings.json") == kinds.SETTINGS
    assert settings_file.read(tmp_path / "settings.json", {"setpoint_c"}) == {"setpoint_c": 300}
    with pytest.raises(SettingsFileError, match="is there already"):
        settings_file.write(tmp_path / "settings.json", {"setpoint_c": 310})
