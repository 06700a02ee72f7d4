"""Read the TOML file beside a raw film: the size and depth that the film itself does not tell."""

import tomllib
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from farface.kernel import Malformed, Missing

EXAMPLE = "width_px = 320, height_px = 192, bits = 8"


class RawLayout(BaseModel):
    """Describe raw frames, one after another, row by row; a pixel of more than 8 bits takes two bytes.

    ``header_bytes`` come before the first frame, ``gap_bytes`` between two.
    """

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    width_px: int = Field(gt=0)
    height_px: int = Field(gt=0)
    bits: int = Field(ge=8, le=16)
    byte_order: Literal["little", "big"] = "little"
    header_bytes: int = Field(default=0, ge=0)
    gap_bytes: int = Field(default=0, ge=0)

    @property
    def frame_bytes(self) -> int:
        """Count the bytes of one frame."""
        return self.width_px * self.height_px * (1 if self.bits == 8 else 2)


def layout_of(film: Path) -> Path:
    """Name the layout that belongs to a raw film: the file of the same name that ends in .toml."""
    return film.with_suffix(".toml")


def read_layout(path: Path) -> RawLayout:
    """Read the layout. Raises `Missing` when there is no such file, `Malformed` with the key at fault."""
    if not path.is_file():
        raise Missing(
            f"a raw film tells nothing of its size, and there is no {path.name} beside it. Write one with "
            f"{EXAMPLE}, each on a line of its own."
        )
    try:
        return RawLayout.model_validate(tomllib.loads(path.read_text("utf-8")))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise Malformed(f"{path.name} is no TOML ({error}). Write it like {EXAMPLE}.") from error
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(map(str, first["loc"]))
        raise Malformed(f'{path.name}: "{key}": {first["msg"].lower()}. Write it like {EXAMPLE}.') from error
