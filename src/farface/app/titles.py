"""Title an answer so that invented data say so."""

from farface.app.workbench import Workbench


def titled(work: Workbench, title: str) -> str:
    """Add that the data are invented, where rig or bath are."""
    return f"{title} (invented data)" if work.invented else title
