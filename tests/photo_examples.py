"""Photos for the tests of log, pages and print: any number of them, and one that tells too much."""

import io
import random

from PIL import ExifTags, Image, ImageFilter

#: What a camera may write beside the pixels: who owns it.
OWNER = b"OWNER-0815"
HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(200)


def picture(seed: int = 0, width_px: int = 160, height_px: int = 120) -> Image.Image:
    """Draw soft noise, as detailed as metal; another for each seed."""
    small = (max(width_px // 4, 1), max(height_px // 4, 1))
    pixels = random.Random(seed).randbytes(3 * small[0] * small[1])  # noqa: S311
    image = Image.frombytes("RGB", small, pixels).resize((width_px, height_px))
    return image.filter(ImageFilter.GaussianBlur(1))


def photo(
    seed: int = 0, name: str = "JPEG", size: tuple[int, int] = (160, 120), **options
) -> bytes:
    """Write a photo as a file."""
    file = io.BytesIO()
    picture(seed, *size).save(file, name, **options)
    return file.getvalue()


def photo_with_place(seed: int = 0) -> bytes:
    """Write a photo as a tablet does, with where it was taken and whose it is."""
    notes = Image.Exif()
    notes[ExifTags.Base.Artist] = OWNER.decode()
    notes.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (47.0, 22.0, 36.8), 3: "E"})
    return photo(seed, exif=notes.tobytes())
