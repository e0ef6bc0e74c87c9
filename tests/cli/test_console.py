"""What a command prints as JSON."""

import json

import pytest

from generator.commands.console import print_json

SOME = [{"b": 1, "a": "Zoë ½"}, {"a": None, "b": [1.5, True]}]


@pytest.mark.parametrize("few", [SOME, SOME[:1], []])
def test_list_that_is_printed_one_by_one_is_printed_as_any_other(capsys, few):
    """To the byte, wherever it stands in the object."""
    for name in ("a", "z"):
        whole = {name: few, "m": {"k": {}, "j": few}, "n": "x"}
        print_json({**whole, name: iter(few)})
        text = capsys.readouterr().out
        assert json.loads(text) == whole
        assert text == json.dumps(whole, ensure_ascii=False, sort_keys=True) + "\n"


@pytest.mark.parametrize("value", [{}, [], [{}], "a", None, {"a": {}}])
def test_any_value_is_printed_on_a_line(capsys, value):
    """As the library writes it."""
    print_json(value)
    assert capsys.readouterr().out == json.dumps(value) + "\n"
