"""Values that make no sense, for every option of every command; ``python -m tests.app.commands.attack`` gives all."""

from app.command_line import COMMANDS, parser_of
from tests.app.commands.attack import BASE, attack


def test_no_call_ends_otherwise_than_with_a_code_and_a_line():
    made, problems = attack(every=13)
    assert made >= 1000 and problems == []


def test_every_command_and_every_action_of_it_is_attacked():
    for name in COMMANDS:
        actions = parser_of(name)._subparsers
        attacked = {base[0] for base in BASE[name] if base}
        assert actions is None or attacked == set(actions._group_actions[0].choices), name
