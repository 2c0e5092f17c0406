"""A twin of an oven, from a rehearsed evening to a rehearsal on the twin."""

import json

import pytest

from host.oven.named import named
from tools.__main__ import main


@pytest.mark.slow
def test_twin_is_fitted_from_a_run_folder_and_can_be_rehearsed_on(tmp_path, capsys):
    night, file = tmp_path / "night", tmp_path / "hall.json"
    main(["rehearse", "--oven", "other:3", "--breads", "0", "--soak", "10", "--out", str(night), "--json"])
    hall = json.loads(capsys.readouterr().out)
    code = main(["identify", "--twin", str(night), "--top-w", "1500", "--deck-w", "1400", "--out", str(file)])
    assert code == 0
    assert "of the standard oven" in capsys.readouterr().out
    twin = named(f"twin:{file}", 1)
    assert twin.true_c("dome") == pytest.approx(20.0, abs=5.0)
    again = tmp_path / "again"
    main(["rehearse", "--oven", f"twin:{file}", "--breads", "0", "--soak", "1", "--out", str(again), "--json"])
    told = json.loads(capsys.readouterr().out)
    # the powers of the plate are not this oven's own, so the time is only asked to be of the same kind
    assert told["to_setpoint_s"] == pytest.approx(hall["to_setpoint_s"], rel=0.15)


@pytest.mark.slow
def test_twin_of_wrong_watts_is_refused_and_nothing_is_written(tmp_path, capsys):
    night, file = tmp_path / "night", tmp_path / "hall.json"
    main(["rehearse", "--breads", "0", "--soak", "10", "--out", str(night), "--json"])
    capsys.readouterr()
    code = main(["identify", "--twin", str(night), "--top-w", "700", "--deck-w", "650", "--out", str(file)])
    assert code == 1
    assert "nothing is written" in capsys.readouterr().out
    assert not file.exists()


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--twin", "nowhere", "--top-w", "1500", "--deck-w", "1400", "--out", "x.json"], "nowhere"),
        (["--twin", "nowhere"], "--top-w"),
        (["--twin", "nowhere", "--top-w", "9999999", "--deck-w", "1400", "--out", "x.json"], "5000"),
    ],
)
def test_twin_without_what_it_needs_gives_one_line(arguments, word, capsys):
    assert main(["identify", *arguments]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert word in error


@pytest.mark.parametrize(
    "content", ["", "{}", "[]", '{"tizzone_twin": 1}', '{"tizzone_twin": 1, "parameters": {"top_w": "x"}}',
                '{"tizzone_twin": 1, "parameters": {"colour": 1}}']
)  # fmt: skip
def test_foreign_or_damaged_twin_file_is_refused_in_one_line(content, tmp_path):
    file = tmp_path / "twin.json"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(ValueError, match="twin") as caught:
        named(f"twin:{file}")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["volcano", "random:", "random:x", "other:-1", "moon:1", "twin:nowhere.json"])
def test_oven_that_does_not_exist_is_refused_with_what_there_is(text):
    with pytest.raises(ValueError, match="say|cannot be read"):
        named(text)
