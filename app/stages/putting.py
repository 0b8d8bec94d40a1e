"""Shapes put on layers, from the page, the menus and the faces alike."""

from app.session.session import Session
from app.words.wording import count_text
from core.job.job import with_overrides
from core.purposes import LEAVE_OUT


def put_on_layer(session: Session, shape_ids: list[str], layer_id: str | None) -> None:
    """Put shapes on a layer, leave them out, or (None) go back to what was suggested, as one step of undo."""
    if not shape_ids:
        return
    names = {layer.id: layer.name for layer in session.job.layers} | {LEAVE_OUT: "left out"}
    what = count_text(len(shape_ids), "shape", "shapes")
    label = f"{what} as suggested" if layer_id is None else f"{what} to {names[layer_id]}"
    session.commit(with_overrides(session.job, shape_ids, layer_id), label)
