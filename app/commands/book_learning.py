"""``tain book read``, ``done`` and ``calibrate``: what the shop learns from coupons and from jobs that were burned."""

import argparse
import json
import re
from datetime import date
from pathlib import Path

from app.commands.files_in import add_settings_argument, opened_job, photo_paths
from app.words.learned_words import changed_words, estimate_text, learned_lines
from core.burning.coupon_seen import CUT_LOOKS, FILL_LOOKS, CouponReading, GapSeen, PairSeen, PatchSeen, WidthSeen
from core.errors import UnreadableError
from core.job.prepare import prepare
from core.shop_book.jobs_done import calibration, job_done, keep_calibration
from core.shop_book.learning import keep_reading, learned_data
from core.shop_book.store import ShopBook
from core.units import duration_text, parse_duration_s

LOOKS = {look.replace(" ", "-"): look for look in (*FILL_LOOKS, *CUT_LOOKS)}


def add_read(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``tain book read``."""
    parser.add_argument("code", help="the coupon's code")
    parser.add_argument(
        "--patch", action="append", default=[], metavar="B3=clean", help=f"how a patch looks: {', '.join(LOOKS)}"
    )
    parser.add_argument(
        "--width",
        action="append",
        default=[],
        metavar="A3=0.041",
        help="width of one line of a patch, mm; 0: nothing bared",
    )
    parser.add_argument(
        "--gap",
        action="append",
        default=[],
        metavar="A1=1.65",
        help="gap that the strips of a patch leave when they are pushed together, mm",
    )
    parser.add_argument(
        "--pair",
        action="append",
        default=[],
        metavar="A1=2/-1",
        help="which pair of a comb lines up, counted from its long line; both rows where there are two",
    )
    parser.add_argument("--photo", action="append", default=[], help="path of a photo")
    parser.add_argument("--note", default="")
    parser.add_argument("--apply", action="store_true", help="let the stock and machine of the book learn from it")
    parser.add_argument("--json", action="store_true")


def read(book: ShopBook, arguments: argparse.Namespace) -> int:
    """Keep what was seen on a coupon, and say what it tells."""
    coupon = book.find("coupon", arguments.code).value
    reading = CouponReading(
        code=coupon.code,
        read=date.today().isoformat(),
        patches=tuple(_patch_seen(text) for text in arguments.patch),
        widths=tuple(_width_seen(text) for text in arguments.width),
        gaps=tuple(GapSeen(label=one.label, gap_mm=one.width_mm) for one in map(_width_seen, arguments.gap)),
        pairs=tuple(_pair_seen(text) for text in arguments.pair),
        photos=photo_paths(arguments.photo),
        note=arguments.note,
    )
    kept = keep_reading(book, coupon, reading, apply=arguments.apply)
    learned = kept.learned
    if arguments.json:
        print(json.dumps(learned_data(learned), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print("\n".join(learned_lines(learned)) or "Nothing was learned.")
        if arguments.apply:
            print(changed_words(kept.changed))
    return 0


def _patch_seen(text: str) -> PatchSeen:
    label, _, look = text.partition("=")
    known = LOOKS.get(look.strip().lower().replace(" ", "-"))
    if known is None:
        raise UnreadableError(f"“{text}” is no look of a patch.", hint=f"Write B3=clean; looks are {', '.join(LOOKS)}.")
    return PatchSeen(label=label.strip(), look=known)


def _width_seen(text: str) -> WidthSeen:
    match = re.fullmatch(r"\s*(\w+)\s*=\s*([\d.]+)\s*(mm)?\s*", text.replace(",", "."))
    try:
        return WidthSeen(label=match.group(1), width_mm=float(match.group(2)))  # type: ignore[union-attr]
    except (AttributeError, ValueError):
        raise UnreadableError(f"“{text}” is no line width.", hint="Write A3=0.041 (mm).") from None


def _pair_seen(text: str) -> PairSeen:
    number = r"[+-]?\d+(?:\.\d+)?"
    match = re.fullmatch(rf"\s*(\w+)\s*=\s*({number})\s*(?:/\s*({number})\s*)?", text.replace(",", "."))
    if match is None:
        raise UnreadableError(f"“{text}” is no pair.", hint="Write A1=2, or A1=2/-1 for two rows.")
    label, first, second = match.groups()
    return PairSeen(label=label, pair=float(first), second=None if second is None else float(second))


def add_done(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``tain book done``."""
    parser.add_argument("job", type=Path, help="the job or export that was burned")
    add_settings_argument(parser)
    parser.add_argument("--name", help="what to call it; the file's name if not given")
    parser.add_argument("--time", metavar="MIN:S", help="how long it ran, like 6:40 or 1:05:00")
    parser.add_argument("--verdict", default="", help="how it came out")
    parser.add_argument("--photo", action="append", default=[], help="path of a photo")
    parser.add_argument("--note", default="")


def done(book: ShopBook, arguments: argparse.Namespace) -> int:
    """Note a job that was burned."""
    plan = prepare(opened_job(arguments.job, arguments))
    name = arguments.name or arguments.job.stem
    actual_s = parse_duration_s(arguments.time) if arguments.time else None
    value = job_done(
        plan,
        name=name,
        done=date.today().isoformat(),
        actual_s=actual_s,
        verdict=arguments.verdict,
        note=arguments.note,
        photos=photo_paths(arguments.photo),
    )
    book.add("job", name, value, note=arguments.note)
    ran = f", ran {duration_text(actual_s)}" if actual_s else ""
    print(f"kept {name}: predicted {duration_text(plan.time_s)}{ran}")
    return 0


def add_calibrate(parser: argparse.ArgumentParser) -> None:
    """Arguments of ``tain book calibrate``."""
    parser.add_argument("machine", help="its name, or enough of it")
    parser.add_argument("--apply", action="store_true", help="let the machine of the book have the fitted figures")


def calibrate(book: ShopBook, arguments: argparse.Namespace) -> int:
    """Fit a machine's row times from the jobs timed on it."""
    machine = book.find("machine", arguments.machine).name
    found = (
        keep_calibration(book, machine, date=date.today().isoformat())
        if arguments.apply
        else calibration(book, machine)
    )
    fit = found.fit
    print(f"acceleration {estimate_text(fit.acceleration_mm_s2, 'mm/s²')}")
    print(f"turn-round {estimate_text(fit.turn_round_s, 's')}")
    for timing, residual_s in zip(found.timings, fit.residuals_s, strict=True):
        print(f"  {timing.name}: ran {timing.actual_s:.0f} s, the fit is {abs(residual_s):.1f} s "
              f"{'short' if residual_s > 0 else 'long'}")  # fmt: skip
    for finding in fit.findings:
        print(f"{finding.severity}: {finding.message}")
    if arguments.apply:
        print(f"{found.machine.name} in the book has learned from it.")
    return 0
