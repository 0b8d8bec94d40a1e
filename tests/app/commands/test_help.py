"""Every command says what it is for, what its figures may be, and gives examples that are true."""

import shlex

import pytest

from app.command_line import COMMANDS, _values_joined, main, parser_of, summary_of
from core.figures import figures_of
from core.sheet.recipes import Recipe


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_gives_examples_that_it_would_take(name, capsys):
    import importlib

    examples = importlib.import_module(COMMANDS[name]).EXAMPLES
    for example in examples:
        program, command, *words = shlex.split(example)
        assert (program, command) == ("tain", name)
        parser_of(name).parse_args(_values_joined(words))
    with pytest.raises(SystemExit) as stopped:
        main([name, "--help"])
    told = capsys.readouterr().out
    assert stopped.value.code == 0 and all(example in told for example in examples)


def test_the_help_has_a_line_for_each_command(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    lines = capsys.readouterr().out.splitlines()
    for name in COMMANDS:
        (line,) = [line for line in lines if line.startswith(f"  {name} ")]
        assert line.endswith(summary_of(name))


def test_the_help_of_prepare_lists_every_figure_with_its_limits(capsys):
    with pytest.raises(SystemExit):
        main(["prepare", "--help"])
    told = capsys.readouterr().out
    for figure in figures_of(Recipe):
        assert f"{figure.name:<24} {figure.words}, {figure.limits_words()}" in told
    assert "--passes N" in told and "fill.FIGURE=VALUE" in told


def test_where_the_log_is(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path))
    assert main(["--log-file"]) == 0
    assert capsys.readouterr().out.strip() == str(tmp_path / "tain.log")
