"""Draw the pictures of the tutorial anew from a demo bench: ``python -m manual.pictures [FOLDER]``."""

import argparse
import sys
import tempfile
from pathlib import Path

from farface.app.coupon import lay_out_coupon
from farface.app.coupon_order import CouponOrder
from farface.app.demo import run_demo
from farface.app.settings import Typed
from farface.app.workbench import open_workbench

ROOT = Path(__file__).resolve().parent.parent
PLACE = ROOT / "docs" / "pictures" / "tutorial"
# What the demo leaves in its folder, and what the picture is called in the tutorial.
LEFT = {
    "reports/section.svg": "section.svg",
    "reports/window-prior.svg": "window-prior.svg",
    "reports/window.svg": "window.svg",
    "reports/steady-contact-sheet.png": "contact-sheet.png",
    "runs/chamber/plan.svg": "plan.svg",
}
AROUND = Typed(rate="40 kHz", pitch="18 um", passes=20)
COUPON = CouponOrder(name="P2", x="energy=90 uJ..750 uJ", y="pulses=2..12", levels=5)


def draw_pictures(place: Path) -> tuple[Path, ...]:
    """Run the demo in a folder that is thrown away, and put its pictures into ``place``."""
    place.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        bench = Path(folder) / "counting-chamber"
        run_demo(bench, seed=1)
        drawn = {called: (bench / left).read_bytes() for left, called in LEFT.items()}
        with open_workbench(bench) as work:
            drawn["coupon.svg"] = lay_out_coupon(work, AROUND, COUPON).files[0].read_bytes()
            (fit,) = work.journal.standing("fit")
            drawn["learned.svg"] = work.journal.content(fit.body["pictures"][0]["svg"])
    for called, content in drawn.items():
        (place / called).write_bytes(content)
    return tuple(place / called for called in drawn)


def main() -> None:
    """Draw them where the person says."""
    parser = argparse.ArgumentParser(prog="python -m manual.pictures", description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=PLACE)
    for path in draw_pictures(parser.parse_args().folder):
        sys.stdout.write(f"wrote {path}\n")


if __name__ == "__main__":
    main()
