"""Build the manual: ``python -m manual [FOLDER]``, by default where `farface manual` finds it.

Any warning, such as a link that leads nowhere, is an error.
"""

import argparse
import logging
import sys
from pathlib import Path

from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

ROOT = Path(__file__).resolve().parent.parent
PLACE = ROOT / "src" / "farface" / "manual"


def build_manual(place: Path = PLACE) -> Path:
    """Build all pages into a folder, strictly and without a network, and give the first page."""
    logging.getLogger("mkdocs").setLevel(logging.WARNING)
    build(load_config(str(ROOT / "manual" / "mkdocs.yml"), site_dir=str(place), strict=True))
    return place / "index.html"


def main() -> None:
    """Build it where the person says."""
    parser = argparse.ArgumentParser(prog="python -m manual", description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=PLACE)
    logging.basicConfig(format="%(message)s")
    try:
        page = build_manual(parser.parse_args().folder.absolute())
    except Abort as error:
        sys.exit(f"the manual was not built: {error}")
    sys.stdout.write(f"wrote {page}\n")


if __name__ == "__main__":
    main()
