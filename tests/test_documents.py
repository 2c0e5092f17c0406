"""README.md and DEVELOPERS.md speak of what is there: files, folders, modules, commands; one version everywhere."""

import importlib.util
import json
import re
import tomllib

import pytest
from house import ROOT, short, told

from tools import version
from tools.__main__ import STEPS, available, help_of, main

OTHERS = {".venv", "node_modules", "runs"}  # folders with pages that are not ours
PAGES = sorted(short(page) for page in ROOT.rglob("*.md") if not OTHERS & set(page.relative_to(ROOT).parts))
CODE = re.compile(r"`([^`\n]+)`")
PATH = re.compile(r"[\w.*-]+(?:/[\w.*-]+)*/?")
ENDINGS = (".py", ".md", ".toml", ".json", ".svg", ".png")
# Made by the commands, or a person's own: not in the repository.
OWN = re.compile(
    r"^(BUILD\.toml|runs/|\.venv|hall|mine|boards/mine|plan\.|wiring\.|harness\.svg|bench/bench\.json|run\.csv|events\."
    r"|summary\.|report\.|measured\.)"
)


def paths_in(text):
    """What looks like a file or folder of this repository: in code marks, with a slash or a known ending."""
    for code in CODE.findall(text):
        for word in PATH.findall(code):
            top = word.split("/")[0]
            is_ours = "/" in word and ((ROOT / top).is_dir() or (ROOT / "device/tizzone" / top).is_dir())
            if (is_ours or word.endswith(ENDINGS)) and not OWN.match(word) and f"<{word}" not in code:
                yield word.rstrip("/")


def is_there(word):
    """Below the repository or the device's package; a bare file name may lie anywhere among our own files."""
    if any(list(base.glob(word)) for base in (ROOT, ROOT / "device/tizzone", ROOT / "device")):
        return True
    tops = ("device", "host", "tools", "boards", "tests")
    return "/" not in word and any(next((ROOT / top).rglob(word), None) for top in tops)


@pytest.mark.parametrize("page", PAGES)
def test_page_names_only_files_and_folders_that_exist(page):
    text = (ROOT / page).read_text(encoding="utf-8")
    missing = sorted({word for word in paths_in(re.sub(r"<[^>]*>", "*", text)) if not is_there(word)})
    assert not missing, told(missing)


def test_missing_folder_is_seen():
    assert [word for word in paths_in("see `tests/no-such-folder/` and `host/`") if not is_there(word)] == [
        "tests/no-such-folder"
    ]


@pytest.mark.parametrize("page", PAGES)
def test_page_names_only_modules_and_commands_that_exist(page):
    text = (ROOT / page).read_text(encoding="utf-8")
    modules = set(re.findall(r"python3? -m ((?:host|tools|tests)[\w.]*)", text))
    breaches = [name for name in sorted(modules) if importlib.util.find_spec(name) is None]
    commands = re.findall(r"(?:`|^ {4}|tizzone_kit )tizzone ([a-z]+)", text, re.MULTILINE)
    breaches += [f"tizzone {name}" for name in sorted(set(commands) - set(available()))]
    assert not breaches, told(breaches)


def test_every_command_stands_in_a_step_with_its_help(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    page = capsys.readouterr().out
    assert ended.value.code == 0
    files = {path.stem for path in (ROOT / "tools").glob("*.py") if "\nHELP = " in path.read_text(encoding="utf-8")}
    assert set(available()) == files
    for step, names in STEPS:
        assert step in page
        for name in names:
            assert help_of(name) and help_of(name) in page


def test_help_of_one_command_has_its_example(capsys):
    with pytest.raises(SystemExit):
        main(["boards", "--help"])
    assert "--copy pico mine.py" in capsys.readouterr().out


def test_version_is_written_once_and_told_everywhere(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.split()[:2] == ["tizzone", version()]
    package = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert package["project"]["dynamic"] == ["version"]
    source = package["tool"]["hatch"]["version"]
    found = re.search(source["pattern"], (ROOT / source["path"]).read_text(encoding="utf-8"))
    assert found["version"] == version()
    assert json.loads((ROOT / "package.json").read_text(encoding="utf-8"))["version"] == version()
    assert f"## [{version()}]" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
