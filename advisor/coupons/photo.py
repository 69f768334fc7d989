"""Photo of a peeled coupon: checked, cleaned of everything but its pixels, small enough to keep.

A photo is evidence of a button and nothing more, but a camera writes more into the file: where the
tablet was, its serial number, a second small copy of the picture. So no byte of an uploaded file is
kept: the pixels are decoded, scaled down if need be, turned upright, and written to a new file of
the same kind.

The cleaned photo is the one to keep, and it is cleaned once. Cleaning it again removes nothing and
changes no size, and a PNG keeps every pixel; JPEG and WebP lose a little at each writing, so their
bytes, and with them the checksum, would be others.
"""

from __future__ import annotations

import codecs
import hashlib
import io
import math
import struct
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

from PIL import ExifTags, Image, ImageOps
from PIL.ImageFile import ImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from advisor.errors import InputError
from advisor.language import figure, msg, say

#: Largest file taken. A tablet's photo of 12 megapixels has 2 to 6 MB as JPEG (common practice, no
#: source); the limit is that of the other uploads. [bytes]
LARGEST_BYTES = 10_000_000
#: Largest picture decoded, whatever its bytes: a file of a few kilobytes can unfold to gigabytes.
#: A pixel takes 4 bytes, so this is 200 MB a copy (measured: 0.3 GB for JPEG and PNG, 0.8 GB for
#: WebP); tablets take 8 to 16 million, the sharpest mode of a few cameras 48 million and more
#: (common practice, no source). [px]
LARGEST_PIXELS = 50_000_000
#: Longest side of a photo that is kept; a larger one is scaled down. With 100 mm of a coupon along
#: it a pixel is 0.05 mm, and a torn button is hardly known to 0.1 mm (common practice, no source);
#: a stamped number stays legible. [px]
LONGEST_SIDE_PX = 2000
#: Most passes in which a JPEG may draw its picture. A camera needs 1, a web page's file about 10;
#: an empty pass over 50 megapixels costs 20 ms and less than 100 bytes, so 10 MB could keep the
#: machine busy for most of an hour. The mark of a pass is two bytes and also turns up by chance,
#: some 150 times in 10 MB of anything, which this leaves room for. Choice of this project.
MOST_SCANS = 250

#: By definition.
_MEGA = 1_000_000
_QUALITY = 90


@dataclass(frozen=True)
class _Kind:
    """A kind of file that is kept: name, ending of file names, its one decoder, how to write it.

    The decoder is called by its class. `Image.open` with one format would go on to the plug-in for
    files of several pictures when a JPEG has a second one behind it, as photos with a depth or
    brightness map do, and it warns of large pictures by a limit of its own.
    """

    name: str
    ending: str
    decoder: type[ImageFile]
    options: Mapping[str, int]


_KINDS = {
    "image/jpeg": _Kind("JPEG", ".jpg", JpegImageFile, {"quality": _QUALITY}),
    "image/png": _Kind("PNG", ".png", PngImageFile, {}),
    "image/webp": _Kind("WebP", ".webp", WebPImageFile, {"quality": _QUALITY}),
}
#: What other files begin with, and what they are.
_OTHERS = (
    (b"GIF8", msg("a GIF picture")),
    (b"BM", msg("a BMP picture")),
    (b"II*\0", msg("a TIFF picture or a camera's raw file")),
    (b"MM\0*", msg("a TIFF picture or a camera's raw file")),
    (b"\xff\x0a", msg("a JPEG XL picture")),
    (b"\0\0\0\x0cJXL ", msg("a JPEG XL picture")),
    (b"\0\0\0\x0cjP  ", msg("a JPEG 2000 picture")),
    (b"\xff\x4f\xff\x51", msg("a JPEG 2000 picture")),
    (b"RIFF", msg("a sound or a video")),
    (b"PK\x03\x04", msg("a ZIP archive or an office document")),
)
_HEIF_BRANDS = frozenset("heic heix hevc hevx heim heis hevm hevs heif mif1 mif2 msf1".split())
_AVIF_BRANDS = frozenset("avif avis avio".split())
#: A file's beginning that tells text from pictures. [bytes]
_SAMPLE = 1000
#: What Pillow raises on broken input. A warning is among them for where warnings are errors.
_DAMAGE = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    LookupError,
    EOFError,
    ArithmeticError,
    struct.error,
    zlib.error,
    Warning,
)


@dataclass(frozen=True)
class Photo:
    """A photo with nothing in it but its pixels: upright, grey or RGB of 8 bits, shown as sRGB.

    Parameters
    ----------
    data : bytes
        The whole file. Below 1 MB for most of a tablet's photos as JPEG; never much above 12 MB,
        which is a PNG of pure noise.
    media : str
        ``image/jpeg``, ``image/png`` or ``image/webp``.
    sha256 : str
        SHA-256 of `data` in hexadecimal.
    width_px, height_px : int
        Size of the picture as it is seen; the longer is at most `LONGEST_SIDE_PX`. [px]
    """

    data: bytes = field(repr=False)
    media: str
    sha256: str
    width_px: int
    height_px: int

    @property
    def ending(self) -> str:
        """Ending of a file name for this photo: ``.jpg``, ``.png`` or ``.webp``."""
        return _KINDS[self.media].ending


def read_photo(data: bytes) -> Photo:
    """Check an uploaded photo, and return it cleaned of everything that is not pixels.

    Its kind is told by its content. Position, serial numbers, maker notes, comments, text,
    thumbnails, colour profiles, further pictures and whatever is hung on behind the end are
    dropped. The colour profile is dropped and not applied: that would hand a stranger's profile to
    one more decoder, for colours that differ little. Grey steel stays as it is; strong colours of
    a camera with a wide range come out somewhat duller. What is transparent becomes white, so that
    the photo looks the same everywhere and nothing can hide in it.

    Parameters
    ----------
    data : bytes
        The file as uploaded.

    Returns
    -------
    Photo
        Written anew, of the same kind as the file.

    Raises
    ------
    InputError
        The file is empty, no JPEG, PNG or WebP, larger than `LARGEST_BYTES`, of more than
        `LARGEST_PIXELS` or `MOST_SCANS`, animated, incomplete or damaged. The text says which,
        and what would be right.
    """
    media = _media_of(data)
    kind = _KINDS[media]
    if len(data) > LARGEST_BYTES:
        raise InputError(
            say(
                "the photo has {size} MB; at most {most:g} MB are taken: set the camera to a "
                "smaller picture, or save the photo at a lower quality",
                size=_rounded_up(len(data)),
                most=LARGEST_BYTES / _MEGA,
            )
        )
    with _damage_refused(kind):
        picture = _upright(*_decoded(data, kind))
    file = io.BytesIO()
    picture.save(file, kind.name, **kind.options)
    written = file.getvalue()
    return Photo(written, media, hashlib.sha256(written).hexdigest(), *picture.size)


def _media_of(data: bytes) -> str:
    """Tell what a file is by its first bytes; refuse what is not kept, by its name."""
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return "image/webp"
    if not data:
        raise InputError(say("the file is empty; take the photo again, or choose another file"))
    if data[4:8] == b"ftyp":
        raise InputError(_of_the_mpeg4_family(data))
    raise InputError(
        say(
            "the file is {what}; save the photo as JPEG, PNG or WebP, and choose that",
            what=say(_other_name(data)),
        )
    )


def _of_the_mpeg4_family(data: bytes) -> str:
    """Say why a file of boxes is refused: HEIC, AVIF or a video, by the brands in its first box."""
    box = data[8 : min(int.from_bytes(data[:4]), _SAMPLE)].decode("latin-1")
    brands = {box[at : at + 4] for at in range(0, len(box), 4)}
    if brands & _AVIF_BRANDS:
        return say(
            "the file is an AVIF picture; save the photo as JPEG, PNG or WebP, and choose that"
        )
    if brands & _HEIF_BRANDS:
        return say(
            "the file is a HEIC photo, which many browsers cannot show and this tool cannot read; "
            "set the tablet's camera to its most compatible format, or save the photo as JPEG"
        )
    return say("the file is a video; take a photo, and save it as JPEG, PNG or WebP")


def _other_name(data: bytes) -> str:
    """Return what a file is, as a message for `say`."""
    start = data[:_SAMPLE].removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith(b"%PDF-"):
        return msg("a PDF document")
    if start.startswith(b"<") and b"<svg" in start:
        return msg("an SVG drawing")
    if _is_text(data[:_SAMPLE]):
        return msg("text")
    names = (name for beginning, name in _OTHERS if data.startswith(beginning))
    return next(names, msg("no photo this tool knows"))


def _is_text(sample: bytes) -> bool:
    if sample.startswith((b"\xff\xfe", b"\xfe\xff")):
        return True  # in UTF-16
    try:
        # In steps, because the sample may end within a letter.
        letters = codecs.getincrementaldecoder("utf-8")().decode(sample)
    except UnicodeDecodeError:
        return False
    return all(letter.isprintable() or letter.isspace() for letter in letters)


def _decoded(data: bytes, kind: _Kind) -> tuple[Image.Image, object]:
    """Return the pixels, scaled but still as the camera lay, and the orientation."""
    with kind.decoder(io.BytesIO(data)) as image:
        _check(image, data, kind)
        pixels = _eight_bits(image)
        # In this order: a JPEG that is scaled before it is loaded is decoded at a smaller size.
        pixels.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX), Image.Resampling.LANCZOS)
        bare = _on_white(pixels)
        # Last, because a PNG may have its notes behind the pixels.
        return bare, _orientation(image)


def _check(image: ImageFile, data: bytes, kind: _Kind) -> None:
    """Refuse by the header alone what would be too much to decode, or more than one picture."""
    pixels = image.width * image.height
    if pixels > LARGEST_PIXELS:
        raise InputError(
            say(
                "the photo has {width} × {height} = {millions} million pixels; at most {most:g} "
                "million are taken: set the camera to a smaller picture",
                width=image.width,
                height=image.height,
                millions=_rounded_up(pixels),
                most=LARGEST_PIXELS / _MEGA,
            )
        )
    pictures = getattr(image, "n_frames", 1)
    if pictures > 1:
        raise InputError(
            say(
                "the {kind} file is an animation of {pictures} pictures; choose a single photo",
                kind=kind.name,
                pictures=pictures,
            )
        )
    scans = data.count(b"\xff\xda") if kind.decoder is JpegImageFile else 1
    if scans > MOST_SCANS:
        raise InputError(
            say(
                "the JPEG file draws its picture in {scans} passes; at most {most} are taken: save "
                "the photo again as JPEG",
                scans=scans,
                most=MOST_SCANS,
            )
        )


def _rounded_up(number: int) -> str:
    """Write a number in millions; rounded up, so that what is over a limit reads so."""
    return figure(math.ceil(number / _MEGA * 100) / 100, ".2f")


def _eight_bits(image: Image.Image) -> Image.Image:
    """Return grey, RGB or, where something is transparent, RGBA."""
    if image.mode.startswith("I"):
        # 16 bits of grey; a plain conversion would cut everything above 255 to white.
        return image.point(lambda value: value / 256).convert("L")
    if image.has_transparency_data:
        return image.convert("RGBA")
    return image if image.mode in ("L", "RGB") else image.convert("RGB")


def _on_white(pixels: Image.Image) -> Image.Image:
    """Copy the pixels to a new picture, which has nothing else."""
    clear = pixels.mode == "RGBA"
    bare = Image.new("RGB" if clear else pixels.mode, pixels.size, "white")
    bare.paste(pixels, (0, 0), pixels if clear else None)
    return bare


def _orientation(image: ImageFile) -> object:
    """Return how the camera lay, 1 (upright) where that cannot be read: the pixels are good."""
    try:
        return image.getexif().get(ExifTags.Base.Orientation, 1)
    except _DAMAGE:
        return 1


def _upright(bare: Image.Image, orientation: object) -> Image.Image:
    """Turn a picture; it gets nothing of the camera's notes but the one number."""
    bare.getexif()[ExifTags.Base.Orientation] = orientation
    return ImageOps.exif_transpose(bare)


@contextmanager
def _damage_refused(kind: _Kind) -> Iterator[None]:
    """Turn what Pillow raises on broken input into one sentence."""
    try:
        yield
    except InputError:
        raise
    except Image.DecompressionBombError as error:
        # A WebP far beyond the limit, before its size can be asked for.
        raise InputError(
            say(
                "the photo has far too many pixels; at most {most:g} million are taken: set the "
                "camera to a smaller picture",
                most=LARGEST_PIXELS / _MEGA,
            )
        ) from error
    except _DAMAGE as error:
        raise InputError(
            say(
                "the {kind} file is incomplete or damaged; copy it from the tablet again, or take "
                "the photo again",
                kind=kind.name,
            )
        ) from error
