"""Names of faults on the command line."""

import pytest

from host.faults import library


@pytest.mark.parametrize(("text", "at_s"), [("hang@600", 600.0), ("hang", 0.0), ("hang@0.5", 0.5)])
def test_parse_gives_fault_and_time(text, at_s):
    fault, when_s = library.parse(text)
    assert (fault.name, when_s) == ("hang", at_s)


@pytest.mark.parametrize("text, words", [("hagn@600", "near: hang"), ("", "--table lists all"), ("@5", "--table")])
def test_parse_unknown_name_says_what_is_near_in_one_line(text, words):
    with pytest.raises(ValueError) as caught:
        library.parse(text)
    assert "unknown fault" in str(caught.value) and words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["hang@", "hang@soon", "hang@-1", "hang@nan", "hang@1e9"])
def test_parse_bad_time_says_how_to_write_it(text):
    with pytest.raises(ValueError, match="name@seconds"):
        library.parse(text)
