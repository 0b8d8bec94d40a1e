"""What shapes are for, said on the command line: rules, the shop book's rules, and what to do with the undecided."""

import argparse
from dataclasses import replace

from core.artwork.sorting.rules import ANSWER_WORDS, PurposeRule, parse_answer, parse_rule
from core.errors import JobError
from core.job.job import Job, with_overrides
from core.job.plan import Plan
from core.purposes import LEAVE_OUT
from core.shop_book.rules import rules_named
from core.shop_book.store import open_book

_MOST_QUESTIONS = 8


def add_purpose_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments that say what shapes are for."""
    parser.add_argument(
        "--put",
        action="append",
        default=[],
        metavar="WHAT=PURPOSE",
        help="layer:NAME=cut, stroke:#rrggbb=score, fill:#rrggbb=fill, id:NAME=guide, text=score, or =leave-out; "
        "may be given several times, the first that matches wins",
    )
    parser.add_argument(
        "--rules", metavar="NAME", help="follow the shop book's rules for that customer, and those for all (“all”)"
    )
    parser.add_argument(
        "--undecided",
        metavar="leave-out|PURPOSE",
        help=f"go on although shapes are undecided, with this for them: {', '.join(ANSWER_WORDS)}",
    )


def rules_from(arguments: argparse.Namespace) -> tuple[PurposeRule, ...]:
    """The rules that the arguments name, in the order in which they count. Raises UnreadableError."""
    rules = tuple(parse_rule(text) for text in arguments.put)
    if arguments.undecided is not None:
        parse_answer(arguments.undecided)
    if not arguments.rules:
        return rules
    with open_book() as book:
        return rules + rules_named(book, arguments.rules)


def settled(plan: Plan, arguments: argparse.Namespace) -> Job | None:
    """The job with its undecided shapes put where the arguments say; None where there is nothing to settle."""
    if not plan.questions or arguments.undecided is None:
        return None
    answer = parse_answer(arguments.undecided)
    undecided = [shape_id for question in plan.questions for shape_id in question.shape_ids]
    layer = next((layer.id for layer in plan.job.layers if layer.purpose == answer), LEAVE_OUT)
    return with_overrides(plan.job, undecided, layer)


def with_rules(job: Job, rules: tuple[PurposeRule, ...]) -> Job:
    """The job with these rules before its own."""
    return replace(job, rules=tuple(dict.fromkeys((*rules, *job.rules))))


def refuse_undecided(plan: Plan) -> None:
    """Raises JobError, with what settles each group, where shapes are undecided."""
    if not plan.questions:
        return
    count = sum(len(question.shape_ids) for question in plan.questions)
    what = "1 shape is" if count == 1 else f"{count} shapes are"
    asked = [
        f"{len(question.shape_ids)} x {question.text} Settle with --put '{question.written}=PURPOSE'."
        for question in plan.questions[:_MOST_QUESTIONS]
    ]
    if len(plan.questions) > _MOST_QUESTIONS:
        asked.append(f"And {len(plan.questions) - _MOST_QUESTIONS} more kinds of shapes.")
    raise JobError(
        f"Nothing was written: {what} undecided. {' '.join(asked)}",
        hint=f"Or go on all the same with --undecided {'|'.join(('leave-out', *ANSWER_WORDS[:-1]))}.",
    )
