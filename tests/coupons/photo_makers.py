"""Photos for the tests: clean, dirty and broken ones, and what a file is made of, read by hand."""

import io
import random
import struct
import zlib
from collections.abc import Iterator

from PIL import ExifTags, Image, PngImagePlugin

#: Stands wherever a camera or a program may leave a note.
SECRET = b"SECRET-SERIAL-0815"
XMP = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><a b="' + SECRET + b'"/></x:xmpmeta>'
#: The colours of the corners, as they are seen: top left, top right, bottom left, bottom right.
RED, GREEN, BLUE, YELLOW = (220, 30, 30), (30, 200, 30), (30, 30, 220), (230, 220, 30)
NAMES = ("JPEG", "PNG", "WEBP")

JPEG_END = b"\xff\xd9"
_TABLES_AND_PICTURE = {0xDB: "tables", 0xC4: "tables", 0xC0: "frame", 0xC2: "frame", 0xDA: "scan"}


def corners(width_px: int = 64, height_px: int = 48) -> Image.Image:
    """Draw a picture with one colour in each quarter."""
    image = Image.new("RGB", (2, 2))
    image.putdata([RED, GREEN, BLUE, YELLOW])
    return image.resize((width_px, height_px), Image.Resampling.NEAREST)


def noise(mode: str = "RGB", width_px: int = 61, height_px: int = 47) -> Image.Image:
    """Draw the same noise each time."""
    pixels = random.Random(1).randbytes(3 * width_px * height_px)  # noqa: S311
    return Image.frombytes("RGB", (width_px, height_px), pixels).convert(mode)


def written(image: Image.Image, name: str, **options) -> bytes:
    """Write a picture as a file."""
    file = io.BytesIO()
    image.save(file, name, **options)
    return file.getvalue()


def frames(name: str, count: int = 2, **options) -> bytes:
    """Write a file of several pictures: red, green, blue."""
    first, *others = [Image.new("RGB", (32, 24), c) for c in (RED, GREEN, BLUE)[:count]]
    return written(first, name, save_all=True, append_images=others, **options)


def exif(orientation: int = 1, secret: bytes = SECRET) -> bytes:
    """Write the notes of a camera: position, serial number, maker's note with a small picture."""
    notes = Image.Exif()
    notes[ExifTags.Base.Orientation] = orientation
    notes[ExifTags.Base.Make] = secret.decode()
    notes.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (47.0, 22.0, 36.8), 29: secret.decode()})
    notes.get_ifd(ExifTags.IFD.Exif).update(
        {
            ExifTags.Base.BodySerialNumber: secret.decode(),
            ExifTags.Base.MakerNote: secret + written(corners(16, 12), "JPEG", comment=secret),
        }
    )
    return notes.tobytes()


def segment(marker: int, body: bytes) -> bytes:
    """Write one segment of a JPEG."""
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def chunk(kind: bytes, body: bytes) -> bytes:
    """Write one chunk of a PNG."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def dirty(name: str, orientation: int = 1) -> bytes:
    """Write a photo with a secret in every place its kind has for one, and behind its end."""
    notes = {"exif": exif(orientation), "icc_profile": b"\0" * 128 + SECRET}
    return {"JPEG": _dirty_jpeg, "PNG": _dirty_png, "WEBP": _dirty_webp}[name](notes)


def _dirty_jpeg(notes: dict[str, bytes]) -> bytes:
    data = written(corners(), "JPEG", comment=SECRET, xmp=XMP, **notes)
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\0\0\x12" + SECRET
    return data[:2] + segment(0xED, iptc) + segment(0xEF, SECRET) + data[2:] + SECRET


def _dirty_png(notes: dict[str, bytes]) -> bytes:
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Comment", SECRET.decode())
    texts.add_text("Software", SECRET.decode() * 9, zip=True)
    texts.add_itxt("XML:com.adobe.xmp", XMP.decode())
    data = written(corners(), "PNG", pnginfo=texts, dpi=(72, 72), **notes)
    head = 8 + 25  # signature and IHDR
    return data[:head] + chunk(b"prIv", SECRET) + data[head:] + SECRET


def _dirty_webp(notes: dict[str, bytes]) -> bytes:
    return written(corners(), "WEBP", xmp=XMP, **notes) + SECRET


def parts(data: bytes) -> list[str]:
    """Name what a file is made of, read by hand; fails when anything is behind its end."""
    if data.startswith(b"\xff\xd8"):
        return list(_jpeg_parts(data))
    return list(_png_parts(data) if data.startswith(b"\x89PNG") else _webp_parts(data))


def _jpeg_parts(data: bytes) -> Iterator[str]:
    at, marker = 2, 0
    while marker != 0xDA:
        assert data[at] == 0xFF
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4])
        is_jfif = marker == 0xE0 and data[at + 4 : at + 9] == b"JFIF\0" and length == 16
        yield "jfif" if is_jfif else _TABLES_AND_PICTURE.get(marker, f"segment {marker:#x}")
        at += 2 + length
    assert data.index(JPEG_END, at) == len(data) - 2


def _png_parts(data: bytes) -> Iterator[str]:
    at = 8
    while at < len(data):
        kind = data[at + 4 : at + 8]
        yield kind.decode("latin-1")
        at += 12 + int.from_bytes(data[at : at + 4])
    assert kind == b"IEND"
    assert at == len(data)


def _webp_parts(data: bytes) -> Iterator[str]:
    assert int.from_bytes(data[4:8], "little") == len(data) - 8
    at = 12
    while at < len(data):
        yield data[at : at + 4].decode("latin-1")
        length = int.from_bytes(data[at + 4 : at + 8], "little")
        at += 8 + length + length % 2
    assert at == len(data)


def with_right_checksums(png: bytes) -> bytes:
    """Mend the checksums of a PNG that was tampered with, as far as its chunks can be followed."""
    mended, at = png[:8], 8
    while at + 12 <= len(png) and (end := at + 8 + int.from_bytes(png[at : at + 4])) + 4 <= len(
        png
    ):
        mended += chunk(png[at + 4 : at + 8], png[at + 8 : end])
        at = end + 4
    return mended + png[at:]


def png_of_size(width_px: int, height_px: int) -> bytes:
    """Write a PNG that claims a size and has next to nothing in it."""
    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    body = chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + body


def jpeg_of_size(width_px: int, height_px: int) -> bytes:
    """Write a small JPEG whose header claims another size."""
    data = bytearray(written(corners(), "JPEG"))
    at = data.index(b"\xff\xc0") + 5
    data[at : at + 4] = struct.pack(">HH", height_px, width_px)
    return bytes(data)


def webp_of_size(width_px: int, height_px: int) -> bytes:
    """Write a small WebP whose header claims another size, of at most 16383 a side."""
    data = bytearray(written(corners(), "WEBP"))
    at = data.index(b"\x9d\x01\x2a") + 3
    data[at : at + 4] = struct.pack("<HH", width_px, height_px)
    return bytes(data)


def many_scans(count: int) -> bytes:
    """Write a progressive JPEG with its last pass repeated until there are `count`."""
    data = written(corners(), "JPEG", progressive=True)
    last = data[data.rindex(b"\xff\xda") : -2]
    return data[:-2] + last * (count - data.count(b"\xff\xda")) + JPEG_END


def seeds(name: str) -> list[bytes]:
    """Return small valid files of a kind, of all sorts a decoder tells apart."""
    return [dirty(name, 6), *{"JPEG": _jpegs, "PNG": _pngs, "WEBP": _webps}[name]()]


def _jpegs() -> list[bytes]:
    modes = [written(corners(16, 12).convert(mode), "JPEG") for mode in ("L", "CMYK")]
    progressive = written(corners(16, 12), "JPEG", progressive=True)
    return [*modes, progressive, frames("MPO", exif=exif(6))]


def _pngs() -> list[bytes]:
    modes = [corners(16, 12).convert(mode) for mode in ("1", "L", "LA", "RGBA")]
    palette = written(corners(16, 12).quantize(4), "PNG", transparency=1)
    return [*(written(each, "PNG") for each in modes), palette, frames("PNG")]


def _webps() -> list[bytes]:
    lossless = written(corners(16, 12), "WEBP", lossless=True)
    clear = Image.new("RGBA", (16, 12), (*RED, 99))
    return [lossless, written(clear, "WEBP"), frames("WEBP")]
