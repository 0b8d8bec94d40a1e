"""What goes with a run sheet: the piece of the rack that is meant, and the files that are handed over with it."""

from dataclasses import dataclass
from pathlib import Path

from core.finishing.steps import PaintPlan
from core.job.plan import Plan
from core.output.export import exported, proof_of
from core.progress import Progress, silent
from core.sheet.offcuts import Piece


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedFile:
    """A file that goes with the sheet. proof: how it was read back, in words."""

    name: str
    what: str
    proof: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """label and piece: what lies on the rack, None where the sheet is none of it; files in the order of their use."""

    label: str = ""
    piece: Piece | None = None
    files: tuple[HandedFile, ...] = ()

    @property
    def piece_words(self) -> str:
        """``"Piece R7, shelf 2. Film: front paper, back none."``; empty without a piece."""
        if self.piece is None:
            return ""
        where = f", {self.piece.where}" if self.piece.where else ""
        note = f" {self.piece.note}." if self.piece.note else ""
        return f"Piece {self.label}{where}. Film: front {self.piece.film_front}, back {self.piece.film_back}.{note}"


def handed_files(plan: Plan, painting: PaintPlan, *, progress: Progress = silent) -> tuple[HandedFile, ...]:
    """The machine's file in both forms, read back, and the masks; none while the plan can't be exported.

    Raises Cancelled when the progress callback does.
    """
    progress(0.0, "reading the files back")
    if proof_of(plan) is None:
        return ()
    name = Path(plan.job.source.name).stem if plan.job.source else "job"
    files = []
    for share, suffix in ((0.3, ".svg"), (0.4, ".dxf")):
        progress(share, "reading the files back")
        proof = exported(plan, suffix).read_back
        words = proof.words if proof is not None else "not read back"
        files.append(HandedFile(name=f"{name}{suffix}", what="for the machine, one of the two", proof=words))
    progress(1.0, "reading the files back")
    masks = [str(step.number) for step in painting.steps if step.made_by == "knife"]
    if masks:
        name = f"masks {', '.join(masks)}" if len(masks) > 1 else f"mask {masks[0]}"
        files.append(HandedFile(name=name, what="for the paint bench, by their step", proof="not read back"))
    return tuple(files)
