"""Values that make no sense, for every option of every command; ``python -m tests.app.commands.attack`` gives all."""

from app.command_line import COMMANDS, parser_of
from tests.app.commands.attack import BASE, actions_of, attack


def test_no_call_ends_otherwise_than_with_a_code_and_a_line():
    made, problems = attack(every=29)
    assert made >= 450 and problems == []


def test_every_command_and_every_action_of_it_is_attacked():
    for name in COMMANDS:
        if actions := actions_of(parser_of(name)):
            assert {base[0] for base in BASE[name] if base} == set(actions), name
