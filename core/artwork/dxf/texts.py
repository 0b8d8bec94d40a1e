"""Texts; see ``outlines``."""

from typing import Any
from core.artwork.dxf.remarks import Remarks
from core.artwork.path import Path


def outlines(entity: Any, document: Any, remarks: Remarks) -> Path | None:
    """Outlines of a text."""
    remarks.add("dxf-text", "{count} texts were left out.")
    return None


def is_clipped(entity: Any) -> bool:
    """x."""
    return False
