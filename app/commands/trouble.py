"""``tain trouble``: a piece came out wrong; why, what can be saved, what to change, which trial settles it."""

import argparse
import json
import sys
from datetime import date
from pathlib import Path

from app.commands.files_in import add_settings_argument, opened_job, photo_paths, warn_of_book
from core.errors import JobError, TainError, UnreadableError
from core.finishing.paints import Paint
from core.job.job_file import save_job
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.shop_book.cautions_kept import keep_caution, known_cautions
from core.shop_book.profiles import known_paints
from core.shop_book.store import open_book
from core.trouble.case.case import Case, case_of, case_without_job
from core.trouble.case.noted import FaultNoted, Noted, with_noted
from core.trouble.causes.caution import LearnedCaution
from core.trouble.causes.table import cause_named
from core.trouble.changes import Change, change_for
from core.trouble.faults import FAULTS, Fault, fault_named, faults_like
from core.trouble.looks import look_answered
from core.trouble.ranking import ranked
from core.trouble.remembered import caution_by_hand
from core.trouble.report import diagnosis_data, diagnosis_words

SUMMARY = "It came out wrong: from what is seen to its likely causes, what can be saved, what to change next time."
EXAMPLES = (
    "tain trouble --list cracks",
    "tain trouble sign.tain --seen cracked --paint 'white spray' --noted between-coats-min=8 --looked lower-soft=yes",
    "tain trouble sign.tain --seen scan-lines --change pitch-too-wide -o next.tain",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain trouble``."""
    parser.add_argument(
        "job", type=Path, nargs="?", metavar="JOB", help="a job (.tain), an export or artwork; may be left out"
    )
    parser.add_argument(
        "--list", nargs="?", const="", metavar="WORDS", help="what can be seen, or what of it fits the words"
    )
    parser.add_argument(
        "--seen", action="append", default=[], metavar="FAULT", help="what is seen; may be given several times"
    )
    parser.add_argument("--paint", default="", metavar="NAME", help="the paint that is at fault")
    parser.add_argument(
        "--noted", action="append", default=[], metavar="NAME=NUMBER", help="what was really so: temperature-c=12"
    )
    parser.add_argument("--looked", action="append", default=[], metavar="LOOK=yes|no", help="the answer to a look")
    parser.add_argument("--photo", action="append", default=[], metavar="PATH", help="kept by its path")
    parser.add_argument("--change", metavar="CAUSE", help="change for next time what that cause asks for; needs -o")
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.tain", help="where the changed job goes")
    parser.add_argument("--remember", metavar="CAUSE", help="it was that: the next job that would repeat it is told")
    parser.add_argument("--keep", action="store_true", help="keep what is seen and noted in the shop book")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    add_settings_argument(parser)
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Say why. Returns the exit code; raises TainError for the caller to say."""
    if arguments.list is not None or not arguments.seen:
        _refuse_to_drop(arguments)
        return _list(arguments)
    faults = tuple(dict.fromkeys(fault_named(words) for words in arguments.seen))
    noted = _noted(arguments)
    plan, case = _case(arguments, noted)
    learned, problem = _cautions()
    warn_of_book(problem)
    diagnosis = ranked(case, faults, learned)
    changes = {} if plan is None else _changes(plan, noted, [one.cause.code for one in diagnosis.causes])
    if arguments.change:
        _write_change(arguments, changes)
    _into_the_book(arguments, case, faults)
    if arguments.json:
        print(json.dumps(diagnosis_data(diagnosis, changes), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(diagnosis_words(diagnosis, changes))
        if arguments.change:
            print(f"wrote {arguments.output}: {changes[arguments.change].words}")
    return 0


def _into_the_book(arguments: argparse.Namespace, case: Case, faults: tuple[Fault, ...]) -> None:
    """What is to be kept and remembered. Raises JobError where it is not known what a caution would be about."""
    today = date.today().isoformat()
    if arguments.remember:
        cause = cause_named(arguments.remember)
        caution = caution_by_hand(case, case.noted, cause, faults, date=today)
        if caution is None:
            raise JobError(
                f"Which {cause.about} it is about is not known.", hint="Name the job, and --paint for a paint."
            )
        with open_book() as book:
            keep_caution(book, caution)
        print(f"remembered with {caution.thing}: {caution.words}", file=sys.stderr)
    if arguments.keep:
        job = arguments.job.stem if arguments.job else ""
        codes = tuple(fault.code for fault in faults)
        kept = FaultNoted(faults=codes, noted=case.noted, stock=case.stock, job=job, date=today)
        with open_book() as book:
            book.add("fault", kept.name, kept)
        print(f"kept: {kept.name}", file=sys.stderr)


def _refuse_to_drop(arguments: argparse.Namespace) -> None:
    """Whoever names a job or asks for a change is told that it takes what is seen; the list does nothing with them."""
    given = (arguments.job, arguments.change, arguments.output, arguments.remember, arguments.keep or None)
    if arguments.list is None and any(one is not None for one in given):
        raise UnreadableError(
            "Nothing says what is seen.", hint="Give --seen FAULT; tain trouble --list names all that there are."
        )


def _list(arguments: argparse.Namespace) -> int:
    found = faults_like(arguments.list or "")
    if arguments.json:
        data = [{"code": fault.code, "name": fault.name, "front": fault.front, "back": fault.back} for fault in found]
        print(json.dumps({"faults": data}, ensure_ascii=False, indent=1))
        return 0
    if not found:
        raise UnreadableError(
            f"“{arguments.list}” fits nothing that can be seen.", hint=f"There is: {', '.join(f.code for f in FAULTS)}."
        )
    for fault in found:
        print(f"{fault.code:<16}{fault.name}\n{'':<16}front: {fault.front}\n{'':<16}back: {fault.back}")
    return 0


def _noted(arguments: argparse.Namespace) -> Noted:
    noted = Noted(
        looks=tuple(look_answered(text) for text in arguments.looked),
        paint=arguments.paint.strip(),
        photos=photo_paths(arguments.photo),
    )
    for text in arguments.noted:
        noted = with_noted(noted, text)
    return noted


def _case(arguments: argparse.Namespace, noted: Noted) -> tuple[Plan | None, Case]:
    if arguments.job is None:
        return None, case_without_job(noted, _paint(noted.paint))
    job = opened_job(arguments.job, arguments)
    plan = next(plan_steps(job))
    return plan, case_of(plan, noted)


def _paint(name: str) -> Paint | None:
    """The shop's paint of that name; None where the shop has none, which is told by the ranking."""
    try:
        return next((paint for paint in known_paints() if paint.name.casefold() == name.casefold()), None)
    except TainError:
        return None


def _cautions() -> tuple[tuple[LearnedCaution, ...], TainError | None]:
    try:
        return known_cautions(), None
    except TainError as error:
        return (), error


def _changes(plan: Plan, noted: Noted, codes: list[str]) -> dict[str, Change]:
    found = {code: change_for(plan, cause_named(code), noted) for code in codes}
    return {code: change for code, change in found.items() if change is not None}


def _write_change(arguments: argparse.Namespace, changes: dict[str, Change]) -> None:
    code = cause_named(arguments.change).code
    if arguments.output is None or arguments.output.suffix.lower() != ".tain":
        raise UnreadableError("A changed job needs a place to go.", hint="Say -o OUT.tain.")
    if code not in changes:
        can = ", ".join(changes) or "nothing"
        raise JobError(f"Tain can change nothing in this job for {code}.", hint=f"It can for: {can}.")
    save_job(changes[code].job, arguments.output, overwrite=arguments.force)
