"""Set engraved labels in single strokes, as a beam draws them."""

from functools import cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed

_FONT: Final = "futural"  # single stroke, without serifs
_SPARE_SHARE: Final = 0.2  # width a label leaves free at its end, as a share of its height


def letter_strokes(
    text: str, *, height_m: float, x_m: float = 0.0, y_m: float = 0.0
) -> tuple[NDArray[np.float64], ...]:
    """Set a text whose base line starts at (``x_m``, ``y_m``), capitals ``height_m`` tall, y upwards.

    Each stroke has shape (points, 2), in metres. Raises `Malformed` for anything but printable ASCII: the
    font has no other letters, and a label must not lose one silently.
    """
    _check(text)
    strokes = [np.array(stroke, dtype=np.float64) for stroke in _font().strokes_for_text(text)]
    scale_m, base = _measure()
    corner = np.array([x_m, y_m])
    return tuple(
        corner + scale_m * height_m * (stroke - np.array([0.0, base])) for stroke in strokes if len(stroke)
    )


def letter_width_m(text: str, *, height_m: float) -> float:
    """Measure how wide a label is, with a little room at its end."""
    strokes = letter_strokes(text, height_m=height_m)
    right_m = max((float(stroke[:, 0].max()) for stroke in strokes), default=0.0)
    return right_m + _SPARE_SHARE * height_m


def _check(text: str) -> None:
    bad = [letter for letter in text if not 32 <= ord(letter) < 127]
    if bad or not text.strip():
        what = f"which has {bad[0]!r} in it" if bad else "which is empty"
        raise Malformed(
            f"the label is {text!r}, {what}, but only letters A to Z without accents, digits and plain signs "
            "can be engraved. Write another label."
        )


@cache
def _font() -> Any:
    """Load the font once; it has no types."""
    from HersheyFonts import HersheyFonts

    font = HersheyFonts()
    font.load_default_font(_FONT)
    font.normalize_rendering(1.0)
    return font


@cache
def _measure() -> tuple[float, float]:
    """Measure a capital: the factor that makes it one metre tall, and the height of its base line."""
    points = np.concatenate([np.array(stroke) for stroke in _font().strokes_for_text("H")])
    base, top = float(points[:, 1].min()), float(points[:, 1].max())
    return 1.0 / (top - base), base
