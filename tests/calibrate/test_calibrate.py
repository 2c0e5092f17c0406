"""`tizzone calibrate` from readings to the settings file, and the readings that it must refuse."""

import json

import pytest

from host.calibration import curve as calibration
from host.files import writing
from tools.__main__ import main

WATER = ["--ice", "0.5", "--boil", "98.9", "--pressure-hpa", "1002"]
REFERENCE = ["--reference", "250:247.4", "--reference", "400:396.1", "--reference-uncertainty", "2.2"]


@pytest.fixture
def calibrate(tmp_path, capsys):
    """Runs the command with a settings file of its own; -> (exit code, stdout, stderr)."""

    def go(*arguments):
        code = main(["calibrate", "--settings", str(tmp_path / "settings.json"), *arguments])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    go.file = tmp_path / "settings.json"
    go.folder = tmp_path
    return go


def test_water_points_make_a_curve_and_the_warning(calibrate):
    code, out, _ = calibrate(*WATER, "--date", "2026-03-01")
    assert code == 0 and "warning: water points only" in out and "not written" in out
    # 1002 hPa: 99.66 °C (iapws 1.5.5, data/calibrate/boiling_vs_pressure.csv between 1000 and 1010)
    assert "99.66 °C    98.90 °C    +0.76 K" in out
    assert not calibrate.file.exists()


@pytest.mark.slow
def test_the_curve_and_its_record_reach_the_settings_and_nothing_else_changes(calibrate):
    calibrate.file.write_text(json.dumps({"setpoint_c": 440, "calibration": {"stone": [[0, 100]]}}))
    code, out, _ = calibrate(*WATER, *REFERENCE, "--write", "--date", "2026-03-01", "--identity", "K 3 mm, hall 1")
    assert code == 0 and "written to" in out and "warning" not in out
    values = json.loads(calibrate.file.read_text())
    assert values["setpoint_c"] == 440 and values["calibration"]["stone"] == [[0, 100]]
    curve = values["calibration"]["dome"]
    assert [point[0] for point in curve] == [500, 98900, 247400, 396100]
    assert curve[0] == [500, -500] and curve[3] == [396100, 3900]
    record = values["calibration_record"]["dome"]
    assert record["date"] == "2026-03-01" and record["probe"] == "K 3 mm, hall 1"
    assert record["points"][3] == ["reference 400", 400000, 396100]
    # the board's own code takes the curve and corrects with it
    assert calibration.conditioning().calibration_fault(curve) is None
    assert abs(calibration.corrected_c(curve, 396.1) - 400.0) < 0.002
    assert list(calibrate.folder.iterdir()) == [calibrate.file]


def test_the_high_limit_never_sees_less_than_the_uncorrected_reading(calibrate):
    calibrate("--reference", "400:412", "--reference-uncertainty", "2", "--write")
    curve = json.loads(calibrate.file.read_text())["calibration"]["dome"]
    conditioning = calibration.conditioning()
    probes = calibration.world(calibration.DEVICE).load("tizzone.probes.reading")
    conditioner, reading = conditioning.Conditioner(curve), probes.Reading()
    reading.begin(1, 1)
    reading.value_mc = 470000
    conditioner.update(reading, 250)
    assert conditioner.pv_mc == 458000 and conditioner.limit_mc == 470000


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--ice", "15.01"], "more than 15 K"),
        (["--ice", "-15.01"], "more than 15 K"),
        # 90 °C would become 100 and 96 °C would become 99: two temperatures for one reading
        (["--reference", "100:90", "--reference", "99:96", "--reference-uncertainty", "1"], "must rise"),
    ],
)
def test_an_absurd_correction_is_refused_and_not_written(calibrate, arguments, word):
    calibrate.file.write_text('{"setpoint_c": 440}')
    code, out, _ = calibrate(*arguments, "--write")
    assert code == 1 and "refused: calibration: " in out and word in out
    assert calibrate.file.read_text() == '{"setpoint_c": 440}'


def test_a_correction_of_15_k_is_the_last_that_is_taken(calibrate):
    assert calibrate("--ice", "15.0")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        ([], "no readings"),
        (["--boil", "99"], "station pressure or the altitude"),
        (["--boil", "99", "--pressure-hpa", "99"], "outside 680"),
        (["--boil", "99", "--pressure-hpa", "nan"], "outside 680"),
        (["--boil", "99", "--altitude-m", "9000"], "outside"),
        (["--ice", "nan"], "reading nan is outside"),
        (["--reference", "400:396"], "--reference-uncertainty"),
        (["--reference", "400", "--reference-uncertainty", "1"], "TRUE:READING"),
        (["--reference", "x:4", "--reference-uncertainty", "1"], "TRUE:READING"),
        (["--reference", "900:896", "--reference-uncertainty", "1"], "outside -40"),
        (["--fixed", "gold:900"], "no fixed point"),
        (["--ice", "0", "--chip", "max1"], "no chip"),
        (["--ice", "0", "--chip", "max6675", "--type", "J"], "does not read type J"),
        (["--ice", "0", "--type", "K", "--probe-class", "A"], "no class"),
        (["--ice", "0", "--date", "yesterday"], "YYYY-MM-DD"),
        (["--ice", "0", "--compare"], "no record"),
        (["--ice", "0", "--corrected"], "no usable curve"),
    ],
)
def test_unusable_input_is_one_line_and_exit_2(calibrate, arguments, word):
    code, out, err = calibrate(*arguments)
    assert code == 2 and word in err and err.count("\n") == 1 and out == ""


@pytest.mark.parametrize("content", ["{", "[1]", '{"calibration": 3}', "\x00"])
def test_a_damaged_settings_file_is_named_and_left_alone(calibrate, content):
    calibrate.file.write_text(content)
    code, _, err = calibrate(*WATER, "--write")
    assert code == 2 and "settings.json" in err and err.count("\n") == 1
    assert calibrate.file.read_text() == content


def test_a_record_too_large_for_the_board_is_refused_and_nothing_lost(calibrate):
    calibrate.file.write_text('{"setpoint_c": 440}')
    code, _, err = calibrate(*WATER, "--write", "--identity", "x" * 2000)
    assert code == 2 and "the board keeps 2048" in err
    assert calibrate.file.read_text() == '{"setpoint_c": 440}'


def test_drift_is_seen_where_it_exceeds_both_uncertainties(calibrate):
    calibrate(*WATER, "--write", "--date", "2026-01-10")
    code, out, _ = calibrate("--ice", "0.75", "--boil", "98.7", "--pressure-hpa", "1002", "--compare")
    assert code == 0 and "within" in out and "DRIFTED" not in out
    code, out, _ = calibrate("--ice", "2.0", "--boil", "100.6", "--pressure-hpa", "1002", "--compare")
    assert code == 1 and out.count("DRIFTED") == 2
    # the comparison wrote nothing
    assert json.loads(calibrate.file.read_text())["calibration_record"]["dome"]["date"] == "2026-01-10"


def test_another_days_pressure_is_not_drift(calibrate):
    # 30 hPa are 0.84 K (iapws): the same probe reads so much less.
    calibrate("--boil", "99.97", "--pressure-hpa", "1013.25", "--write")
    code, out, _ = calibrate("--boil", "99.13", "--pressure-hpa", "983.25", "--compare", "--json")
    assert code == 0 and abs(json.loads(out)["drift"][0]["change_k"]) < 0.01


@pytest.mark.parametrize("record", [{"dome": 3}, {"dome": {}}, {"dome": {"points": [[1]]}}])
def test_a_damaged_record_is_named(calibrate, record):
    calibrate.file.write_text(json.dumps({"calibration_record": record}))
    code, _, err = calibrate("--ice", "0", "--compare")
    assert code == 2 and "damaged" in err


def test_readings_taken_with_the_curve_in_force_are_undone(calibrate):
    calibrate(*WATER, *REFERENCE, "--write")
    first = json.loads(calibrate.file.read_text())["calibration"]["dome"]
    shown = [calibration.corrected_c(first, reading / 1000) for reading, _ in first]
    calibrate("--corrected", "--write", "--ice", f"{shown[0]}", "--boil", f"{shown[1]}",
              "--pressure-hpa", "1002", "--reference", f"250:{shown[2]}", "--reference", f"400:{shown[3]}",
              "--reference-uncertainty", "2.2")  # fmt: skip
    second = json.loads(calibrate.file.read_text())["calibration"]["dome"]
    for a, b in zip(first, second, strict=True):
        assert abs(a[0] - b[0]) <= 3 and abs(a[1] - b[1]) <= 3


def test_json_and_the_picture_carry_the_same_points(calibrate):
    pytest.importorskip("matplotlib", reason="extra view")
    out_folder = calibrate.folder / "out"
    code, out, _ = calibrate(*WATER, *REFERENCE, "--json", "--out", str(out_folder))
    data = json.loads(out)
    written = json.loads((out_folder / "calibration.json").read_text())
    assert code == 0 and written.pop("tizzone") == "calibration" and data == written
    assert [entry["at_c"] for entry in data["budget"]] == [60, 120, 260, 400, 450, 480]
    picture = (out_folder / "calibration.svg").read_text()
    assert picture.count("<svg") == 1 and "correction" in picture


def test_the_guided_way_asks_for_each_point(calibrate, monkeypatch):
    answers = iter(["0,5 0,25", "98.9", "", "540", "250", "247.4", "", "oops", "2.2"])
    monkeypatch.setattr("sys.stdin", type("Terminal", (), {"isatty": staticmethod(lambda: True)}))
    monkeypatch.setattr("builtins.input", lambda question: next(answers))
    code, out, _ = calibrate("--json")
    data = json.loads(out[out.index("{") :])
    assert code == 0 and [p["name"] for p in data["points"]] == ["ice", "boil", "reference 250"]
    assert data["points"][0]["reading_c"] == 0.375


def test_nearby_readings_become_one_point_and_more_than_seven_are_refused():
    points = [calibration.fixed_point("tin", [231.0]), calibration.reference_point(232.0, [231.5], 1.0)]
    assert calibration.curve(points) == [[231250, 714]]
    many = [calibration.reference_point(t, [t - 1.0], 1.0) for t in range(0, 80, 10)]
    with pytest.raises(calibration.CalibrationError, match="8 points"):
        calibration.curve(many)


def test_a_cut_while_writing_leaves_the_old_file(calibrate, monkeypatch):
    calibrate.file.write_text('{"setpoint_c": 440}')

    def fails(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "replace", fails)
    code, _, err = calibrate(*WATER, "--write")
    assert code == 2 and "cannot be written" in err
    assert calibrate.file.read_text() == '{"setpoint_c": 440}'
