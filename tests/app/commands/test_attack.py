"""Values that make no sense, for every option of every command; ``python -m tests.app.commands.attack`` gives all."""

from tests.app.commands.attack import attack, calls


def test_no_call_ends_otherwise_than_with_a_code_and_a_line():
    assert sum(1 for _ in calls()) > 1000
    made, problems = attack(every=31)
    assert made > 150 and problems == []
