"""A user's file is written whole or not at all."""

import os

import pytest

from host.files import writing
from host.files.writing import NotWritten, write_json, write_text


def test_file_is_written_as_it_is_and_leaves_nothing_beside_it(tmp_path):
    write_text(tmp_path / "a.txt", "flatbread °C\r\n")
    assert (tmp_path / "a.txt").read_bytes() == "flatbread °C\r\n".encode()
    write_json(tmp_path / "b.json", {"hall": "Küche"})
    assert (tmp_path / "b.json").read_text(encoding="utf-8") == '{\n "hall": "Küche"\n}\n'
    assert sorted(os.listdir(tmp_path)) == ["a.txt", "b.json"]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_write_that_fails_keeps_the_old_file_and_cleans_up(tmp_path, monkeypatch, step):
    def full(*arguments):
        raise OSError(28, "No space left on device")

    write_text(tmp_path / "a.txt", "old")
    monkeypatch.setattr(writing.os, step, full)
    with pytest.raises(NotWritten, match=r"a\.txt: cannot be written \(No space left on device\)"):
        write_text(tmp_path / "a.txt", "new and longer")
    assert (tmp_path / "a.txt").read_text() == "old"
    assert os.listdir(tmp_path) == ["a.txt"]


def test_missing_folder_is_made_only_where_that_is_asked(tmp_path):
    with pytest.raises(NotWritten, match="cannot be written"):
        write_text(tmp_path / "no" / "a.txt", "x")
    write_text(tmp_path / "no" / "a.txt", "x", makes_folder=True)
    assert (tmp_path / "no" / "a.txt").read_text() == "x"


def test_folder_in_the_files_place_is_told(tmp_path):
    (tmp_path / "a.txt").mkdir()
    with pytest.raises(NotWritten, match="cannot be written"):
        write_text(tmp_path / "a.txt", "x")
    assert os.listdir(tmp_path) == ["a.txt"]


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="links are needed")
def test_link_stays_a_link(tmp_path):
    write_text(tmp_path / "real.txt", "old")
    os.symlink(tmp_path / "real.txt", tmp_path / "link.txt")
    write_text(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "new"
