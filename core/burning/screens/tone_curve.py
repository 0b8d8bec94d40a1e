"""The way from a wanted share to what a screen must be told: measured on patches by the model, then turned round."""

from dataclasses import dataclass

import numpy as np

from core.burning.dose import Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToneCurve:
    """asked (n,): nominal shares told to a screen, rising from 0 to 1; bared (n,): what each bares, never falling.

    lightest, darkest: the tones held between nothing and rows without gaps.
    """

    asked: Floats
    bared: Floats
    lightest: float
    darkest: float

    def nominal(self, wanted: Floats) -> Floats:
        """What to ask of the screen so that it bares the wanted shares; same shape. Beyond what is held, the last."""
        rising = np.concatenate([[True], np.diff(self.bared) > 1e-9])
        result: Floats = np.interp(wanted, self.bared[rising], self.asked[rising])
        return result

    def without(self, wanted: Floats) -> Floats:
        """What would be bared if the wanted share were asked of the screen as it stands."""
        result: Floats = np.interp(wanted, self.asked, self.bared)
        return result
