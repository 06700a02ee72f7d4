"""Hold the one look of pictures and pages: colours for light, dark and print, and the stylesheet."""

from dataclasses import dataclass
from typing import Final

from farface.records import Seen

# Each colour by its part in a picture: on light paper, on dark paper.
COLOURS: Final[dict[str, tuple[str, str]]] = {
    "paper": ("#fcfbf8", "#14181d"),
    "ink": ("#1c2430", "#e9ecf0"),
    "muted": ("#56606d", "#a5afba"),
    "line": ("#c3c9d1", "#414b57"),
    "accent": ("#a8452a", "#ee8f6e"),
    "glass": ("#e6edee", "#222d34"),
    "bath": ("#5f9ac4", "#3f7fae"),
    "hollow": ("#9fc1da", "#2f5a7a"),
    "vapour": ("#fcfbf8", "#1a2028"),
    "nothing": ("#e2e6ea", "#262b31"),
    "frosted": ("#9abef5", "#3f6374"),
    "steady": ("#4fb199", "#1f9096"),
    "burst_below": ("#e8c564", "#94762a"),
    "runaway": ("#d5822a", "#7a3d0c"),
    "broken": ("#a85fb6", "#5f1f6d"),
}

# The words of each outcome, wherever a person reads them.
SEEN_WORDS: Final[dict[Seen, str]] = {
    "nothing": "nothing",
    "frosted": "frosted",
    "steady": "steady",
    "burst_below": "burst below the face",
    "runaway": "runaway",
    "broken": "broken",
}

# The colours that gradients use.
_FADING: Final = ("ink", "accent", "glass", "bath", "hollow", "vapour")

FONT: Final = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', sans-serif"


@dataclass(frozen=True, slots=True, kw_only=True)
class Canvas:
    """Hold a picture's width and margin."""

    width_px: float
    margin_px: float

    @property
    def room_px(self) -> float:
        """Give the width between the margins."""
        return self.width_px - 2 * self.margin_px


def canvas(*, narrow: bool) -> Canvas:
    """Choose the canvas for a page and paper, or for a phone."""
    return Canvas(width_px=390.0, margin_px=8.0) if narrow else Canvas(width_px=1000.0, margin_px=16.0)


# Type sizes in picture units, and the width of an average character as a share of the size (a wide face).
SIZES_PX: Final[dict[str, float]] = {"title": 16.0, "label": 14.0, "note": 12.5}
CHARACTER_SHARE: Final = 0.58

_PICTURE_RULES: Final = f"""
.ff-picture{{font-family:{FONT};max-width:100%;height:auto}}
.ff-picture text{{fill:var(--ff-ink);stroke:none}}
.ff-title{{font-size:16px;font-weight:600}}
.ff-label{{font-size:14px}}
.ff-note{{font-size:12.5px}}
.ff-picture text.ff-note{{fill:var(--ff-muted)}}
.ff-picture text.ff-strong{{fill:var(--ff-accent);font-weight:600}}
.ff-halo{{paint-order:stroke;stroke:var(--ff-paper);stroke-width:4px;stroke-linejoin:round}}
.ff-picture text.ff-halo{{stroke:var(--ff-paper)}}
.ff-none{{fill:none}}
.ff-edge{{fill:none;stroke:var(--ff-ink);stroke-width:1.5}}
.ff-hair{{fill:none;stroke:var(--ff-muted);stroke-width:1}}
.ff-grid{{fill:none;stroke:var(--ff-line);stroke-width:1}}
.ff-dash{{stroke-dasharray:5 4}}
.ff-dots{{stroke-dasharray:1.5 4;stroke-linecap:round}}
.ff-accent-line{{fill:none;stroke:var(--ff-accent);stroke-width:2}}
.ff-pass{{fill:none;stroke:var(--ff-accent);stroke-width:.8;stroke-opacity:.55}}
.ff-veil{{stroke:var(--ff-paper);stroke-width:3.5}}
.ff-tag{{fill:var(--ff-paper);stroke:var(--ff-accent);stroke-width:1.5}}
.ff-glyph{{fill:var(--ff-ink);stroke:var(--ff-paper);stroke-width:1;paint-order:stroke}}
.ff-outline{{fill:none;stroke:var(--ff-ink);stroke-width:3.5;stroke-linecap:square}}
.ff-outline-thin{{fill:none;stroke:var(--ff-ink);stroke-width:2.5}}
.ff-ring{{fill:none;stroke:var(--ff-ink);stroke-width:2.5}}
.ff-picture text.ff-note.ff-ink{{fill:var(--ff-ink)}}
.ff-glyph-open{{fill:none;stroke:var(--ff-ink);stroke-width:2}}
"""


def _variables(side: int) -> str:
    """Write the colour variables for light (0) or dark (1) paper."""
    return "".join(f"--ff-{name}:{pair[side]};" for name, pair in COLOURS.items())


def colour_rules(selector: str) -> str:
    """Write rules that give ``selector`` the colours of the reader's screen, and light ones in print."""
    dark = f"@media screen and (prefers-color-scheme:dark){{{selector}{{{_variables(1)}}}}}"
    on_paper = f"@media print{{{selector}{{--ff-paper:#fff;--ff-vapour:#fff}}}}"
    return f"{selector}{{color-scheme:light dark;{_variables(0)}}}\n{dark}\n{on_paper}"


def picture_rules() -> str:
    """Write the stylesheet every picture carries; pages that forbid inline styles serve it as a file."""
    fills = "".join(f".ff-{name}{{fill:var(--ff-{name})}}" for name in COLOURS)
    stops = "".join(f".ff-{name}-stop{{stop-color:var(--ff-{name})}}" for name in _FADING)
    return f"{colour_rules('.ff-picture')}{fills}{stops}{_PICTURE_RULES}"
