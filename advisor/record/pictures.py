"""Photos made small: for the print, so that a hundred of them can still be mailed, and to look at.

What is kept in the log stays as it is; these are copies.
"""

from __future__ import annotations

import io

from PIL import Image

#: What all photos of a print may have together; with its text a record stays below 15 MB. [bytes]
PRINT_BYTES = 12_000_000
#: Longest side of a photo in print: 87 mm of paper at about 290 dots per inch. [px]
PRINT_PX = 1000

#: Longest sides that are tried one after the other, and the quality of each. [px]
_SIDES = ((PRINT_PX, 80), (800, 75), (640, 75), (480, 70), (360, 70), (240, 60))


def share_bytes(photos: int) -> int:
    """Return how many bytes each of so many photos may have in a print."""
    return PRINT_BYTES // max(photos, 1)


def print_copy(data: bytes, most_bytes: int) -> bytes:
    """Return a photo as a JPEG that is small enough for the print.

    Parameters
    ----------
    data : bytes
        A kept photo.
    most_bytes : int
        How long the copy may be; see `share_bytes`. The smallest copy is taken where none is short
        enough. [bytes]
    """
    picture = _opened(data, PRINT_PX)
    copy = b""
    for side_px, quality in _SIDES:
        picture.thumbnail((side_px, side_px), Image.Resampling.LANCZOS)
        copy = _jpeg(picture, quality)
        if len(copy) <= most_bytes:
            break
    return copy


def scaled(data: bytes, side_px: int) -> bytes:
    """Return a photo as a JPEG whose longer side has at most so many pixels.

    Parameters
    ----------
    data : bytes
        A kept photo.
    side_px : int
        Longest side. [px]
    """
    return _jpeg(_opened(data, side_px), _SIDES[0][1])


def _opened(data: bytes, side_px: int) -> Image.Image:
    with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as image:
        # Before it is loaded, so that a JPEG is decoded at a smaller size: four times as fast.
        image.thumbnail((side_px, side_px), Image.Resampling.LANCZOS, reducing_gap=1.0)
        return image.copy()


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=quality)
    return file.getvalue()
