"""Photos of coupons: what is taken, what is left of it, and what is refused with which words."""

import hashlib
import io
import re
import struct
import zipfile
import zlib
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from photo_makers import (
    BLUE,
    GREEN,
    JPEG_END,
    NAMES,
    RED,
    SECRET,
    XMP,
    YELLOW,
    chunk,
    corners,
    dirty,
    exif,
    frames,
    jpeg_of_size,
    many_scans,
    noise,
    parts,
    png_of_size,
    seeds,
    segment,
    webp_of_size,
    with_right_checksums,
    written,
)
from PIL import Image, ImageChops, ImageStat, PngImagePlugin

from advisor.coupons import photo as module
from advisor.coupons.photo import LARGEST_BYTES, LONGEST_SIDE_PX, MOST_SCANS, Photo, read_photo
from advisor.errors import InputError

#: All that a file may be made of, and all that Pillow may find beside the pixels.
ALLOWED = {
    "image/jpeg": {"jfif", "tables", "frame", "scan"},
    "image/png": {"IHDR", "IDAT", "IEND"},
    "image/webp": {"VP8 "},
}
FOUND_BY_PILLOW = {
    "image/jpeg": {"jfif", "jfif_version", "jfif_unit", "jfif_density"},
    "image/png": set(),
    # The decoder's own words; the file has no place for them.
    "image/webp": {"loop", "background", "timestamp", "duration"},
}
#: Where the first row and the first column of the stored picture are seen, by the EXIF standard.
SEEN = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}
#: A camera's notes that promise 9 entries and end after the first, which says upright.
CUT_NOTES = b"II*\0\x08\0\0\0\x09\0" + b"\x12\x01\x03\0\x01\0\0\0\x01\0\0\0"
OPPOSITE = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}


def opened(photo: Photo) -> Image.Image:
    image = Image.open(io.BytesIO(photo.data))
    image.load()
    return image


def assert_clean(photo: Photo):
    image = opened(photo)
    assert set(parts(photo.data)) <= ALLOWED[photo.media]
    assert set(image.info) <= FOUND_BY_PILLOW[photo.media]
    assert not dict(image.getexif())
    assert (image.width, image.height) == (photo.width_px, photo.height_px)
    assert max(image.size) <= LONGEST_SIDE_PX
    assert image.mode in ("L", "RGB")
    assert photo.sha256 == hashlib.sha256(photo.data).hexdigest()
    assert photo.media == Image.MIME[image.format]


def colour_at(photo: Photo, *sides: str) -> tuple[int, ...]:
    """Return the colour in the middle of a quarter of the picture."""
    across, down = (0.75 if side in sides else 0.25 for side in ("right", "bottom"))
    image = opened(photo).convert("RGB")
    return image.getpixel((int(across * image.width), int(down * image.height)))


def near(colour, other, levels=12):
    return all(abs(one - two) <= levels for one, two in zip(colour, other, strict=True))


# --- what is left -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "media", "ending"),
    [
        ("JPEG", "image/jpeg", ".jpg"),
        ("PNG", "image/png", ".png"),
        ("WEBP", "image/webp", ".webp"),
    ],
)
def test_a_photo_keeps_its_kind_and_loses_all_notes(name, media, ending):
    uploaded = dirty(name)
    assert uploaded.count(SECRET) >= 4
    assert Image.open(io.BytesIO(uploaded)).getexif()
    photo = read_photo(uploaded)
    assert (photo.media, photo.ending) == (media, ending)
    assert_clean(photo)
    for note in (SECRET, b"Exif", b"eXIf", b"GPS", b"adobe", b"ICC", b"Photoshop", b"tEXt"):
        assert note not in photo.data
    assert near(colour_at(photo, "top", "left"), RED)


def test_the_check_for_cleanness_can_fail():
    for name in NAMES:
        data = dirty(name).removesuffix(SECRET)
        assert set(parts(data)) - set().union(*ALLOWED.values())
        with pytest.raises(AssertionError):
            assert not parts(data + b"behind the end")


def test_a_second_picture_behind_a_jpeg_is_dropped_and_the_first_one_kept():
    uploaded = frames("MPO", exif=exif())
    assert Image.open(io.BytesIO(uploaded)).n_frames == 2
    photo = read_photo(uploaded)
    assert_clean(photo)
    assert near(colour_at(photo, "top", "left"), RED)
    assert len(photo.data) < len(uploaded) / 2


@pytest.mark.parametrize("name", NAMES)
def test_an_archive_behind_the_picture_is_gone(name):
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as opened_archive:
        opened_archive.writestr("run.txt", SECRET)
    uploaded = written(corners(), name) + archive.getvalue()
    assert zipfile.is_zipfile(io.BytesIO(uploaded))
    photo = read_photo(uploaded)
    assert not zipfile.is_zipfile(io.BytesIO(photo.data))
    assert_clean(photo)


def test_a_web_page_inside_a_jpeg_is_gone():
    page = b"--><html><script>alert(1)</script><!--"
    data = written(corners(), "JPEG")
    photo = read_photo(data[:2] + segment(0xFE, page) + data[2:] + page)
    assert b"script" not in photo.data
    assert_clean(photo)


def test_what_is_transparent_becomes_white_and_hides_nothing():
    image = corners().convert("RGBA")
    image.paste((*RED, 0), (0, 0, 32, 24))
    for name in ("PNG", "WEBP"):
        photo = read_photo(written(image, name))
        assert near(colour_at(photo, "top", "left"), (255, 255, 255))
        assert near(colour_at(photo, "bottom", "left"), BLUE)
        assert_clean(photo)


def test_the_repr_of_a_photo_does_not_print_the_file():
    assert len(repr(read_photo(dirty("PNG")))) < 250


# --- how it lies, and how large it is -----------------------------------------------------------


@pytest.mark.parametrize("orientation", SEEN)
@pytest.mark.parametrize("name", NAMES)
def test_the_picture_is_turned_upright(name, orientation):
    row, column = SEEN[orientation]
    photo = read_photo(dirty(name, orientation))
    assert near(colour_at(photo, row, column), RED)
    assert near(colour_at(photo, row, OPPOSITE[column]), GREEN)
    assert near(colour_at(photo, OPPOSITE[row], column), BLUE)
    assert near(colour_at(photo, OPPOSITE[row], OPPOSITE[column]), YELLOW)
    lies = row in ("left", "right")
    assert (photo.width_px, photo.height_px) == ((48, 64) if lies else (64, 48))
    assert_clean(photo)


def with_notes(notes: bytes) -> bytes:
    data = written(corners(), "JPEG")
    return data[:2] + segment(0xE1, b"Exif\0\0" + notes) + data[2:]


@pytest.mark.parametrize("notes", [b"", b"no such notes", CUT_NOTES])
@pytest.mark.filterwarnings("ignore:Corrupt EXIF data")
def test_broken_notes_do_not_cost_the_photo(notes):
    photo = read_photo(with_notes(notes))
    assert near(colour_at(photo, "top", "left"), RED)
    assert_clean(photo)


def test_where_warnings_are_errors_broken_notes_get_the_sentence():
    with pytest.raises(InputError, match="the JPEG file is incomplete or damaged") as refused:
        read_photo(with_notes(CUT_NOTES))
    assert isinstance(refused.value.__cause__, UserWarning)


def test_a_photo_of_12_megapixels_is_scaled_to_the_longest_side_upright():
    photo = read_photo(written(corners(4000, 3000), "JPEG", exif=exif(6), quality=92))
    assert (photo.width_px, photo.height_px) == (1500, 2000)
    assert near(colour_at(photo, "top", "right"), RED)
    assert near(colour_at(photo, "bottom", "right"), GREEN)
    assert_clean(photo)


def test_fine_lines_survive_the_scaling():
    # 8 pixels of the camera from line to line: 0.2 mm when 100 mm of a coupon fill the picture.
    stripes = Image.new("L", (8, 1))
    stripes.putdata([0] * 4 + [255] * 4)
    image = Image.new("L", (4000, 600))
    for left_px in range(0, 4000, 8):
        image.paste(stripes.resize((8, 600)), (left_px, 0))
    photo = read_photo(written(image, "JPEG"))
    assert (photo.width_px, photo.height_px) == (2000, 300)
    dark, light = opened(photo).crop((500, 100, 1500, 200)).convert("L").getextrema()
    assert dark < 40
    assert light > 215


def test_lines_too_fine_to_keep_become_grey_and_no_pattern_of_their_own():
    line = Image.frombytes("L", (4000, 1), bytes((0, 255)) * 2000)
    photo = read_photo(written(line.resize((4000, 40)), "PNG"))
    dark, light = opened(photo).crop((100, 5, 1900, 15)).getextrema()
    assert 120 <= dark <= light <= 135


@pytest.mark.parametrize(
    ("size_px", "kept_px"),
    [
        ((2000, 10), (2000, 10)),
        ((10, 2000), (10, 2000)),
        ((2001, 10), (2000, 10)),
        ((9000, 1), (2000, 1)),
        ((1, 9000), (1, 2000)),
        ((1, 1), (1, 1)),
    ],
)
def test_only_what_is_longer_is_scaled(size_px, kept_px):
    for name in NAMES:
        photo = read_photo(written(Image.new("RGB", size_px, RED), name))
        assert (photo.width_px, photo.height_px) == kept_px
        assert_clean(photo)


# --- pixels -------------------------------------------------------------------------------------


@pytest.mark.parametrize("mode", ["RGB", "L", "P", "1", "RGBA", "LA"])
def test_pixels_of_a_png_that_is_not_scaled_are_unchanged(mode):
    image = noise(mode)
    photo = read_photo(written(image, "PNG"))
    assert opened(photo).convert("RGB").tobytes() == image.convert("RGB").tobytes()
    assert_clean(photo)


def test_16_bits_of_grey_become_8():
    image = Image.new("I;16", (4, 1))
    for column, grey in enumerate((0, 0x12FF, 0x8000, 0xFFFF)):
        image.putpixel((column, 0), grey)
    photo = read_photo(written(image, "PNG"))
    assert opened(photo).mode == "L"
    assert list(opened(photo).tobytes()) == [0x00, 0x12, 0x80, 0xFF]


def test_a_jpeg_in_printing_colours_is_shown_in_its_colours():
    photo = read_photo(written(corners().convert("CMYK"), "JPEG"))
    assert opened(photo).mode == "RGB"
    assert near(colour_at(photo, "top", "left"), RED)


def test_a_palette_with_a_transparent_colour_is_white_there():
    image = corners().quantize(4)
    red = image.getpixel((0, 0))
    photo = read_photo(written(image, "PNG", transparency=red))
    assert near(colour_at(photo, "top", "left"), (255, 255, 255))
    assert near(colour_at(photo, "top", "right"), GREEN)


def test_a_clean_png_stays_the_same_when_it_is_cleaned_again():
    once = read_photo(dirty("PNG", 6))
    assert read_photo(once.data) == once


@pytest.mark.parametrize("name", ["JPEG", "WEBP"])
def test_a_clean_photo_cleaned_again_looks_the_same_though_its_bytes_may_differ(name):
    once = read_photo(written(noise("L").resize((300, 200)).convert("RGB"), name))
    twice = read_photo(once.data)
    assert (twice.width_px, twice.height_px) == (once.width_px, once.height_px)
    difference = ImageChops.difference(opened(once), opened(twice))
    assert max(ImageStat.Stat(difference).mean) < 3  # of 255 levels
    assert_clean(twice)


# --- what is refused ----------------------------------------------------------------------------


def box(brand: bytes, *others: bytes) -> bytes:
    brands = brand + bytes(4) + b"".join(others)
    return (len(brands) + 8).to_bytes(4) + b"ftyp" + brands + b"\0\0\1\0meta" + bytes(200)


HEIC = "is a HEIC photo, which .* set the tablet's camera to its most compatible format"


@pytest.mark.parametrize("brand", [b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"heif"])
def test_heic_is_refused_with_the_setting_that_helps(brand):
    with pytest.raises(InputError, match=HEIC):
        read_photo(box(brand, b"mif1", b"miaf"))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "the file is empty; take the photo again"),
        (box(b"avif"), "an AVIF picture; save the photo as JPEG"),
        (box(b"mif1", b"avif", b"miaf"), "an AVIF picture"),
        (box(b"qt  "), "a video; take a photo"),
        (box(b"isom", b"mp42"), "a video; take a photo"),
        (b"\0\0\0\x10ftyp", "a video; take a photo"),
        (written(corners(), "GIF"), "a GIF picture; save the photo as JPEG, PNG or WebP"),
        (written(corners(), "BMP"), "a BMP picture"),
        (written(corners(), "TIFF"), "a TIFF picture"),
        (b"MM\0*\0\0\0\x08" + bytes(50), "a TIFF picture"),
        (written(corners(), "PDF"), "a PDF document"),
        (b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>', "an SVG drawing"),
        (b"\xef\xbb\xbf <svg/>", "an SVG drawing"),
        (b"<html><body>a page</body></html>", "the file is text"),
        ("Gruß, 2 mm;".encode() * 200, "the file is text"),
        ("BMW".encode("utf-16"), "the file is text"),
        (b"BMW and GIF8 are letters", "the file is text"),
        (b"PK\x03\x04" + bytes(50), "a ZIP archive or an office document"),
        (b"RIFF\x10\0\0\0WAVEfmt " + bytes(50), "a sound or a video"),
        (b"\0\0\0\x0cjP  \r\n\x87\n" + bytes(50), "a JPEG 2000 picture"),
        (b"\xff\x0a" + bytes(50), "a JPEG XL picture"),
        (bytes(100), "no photo this tool knows; save the photo as JPEG, PNG or WebP"),
        (b"\x89PNG", "no photo this tool knows"),
    ],
)
def test_another_kind_of_file_is_called_by_its_name(data, sentence):
    with pytest.raises(InputError, match=sentence):
        read_photo(data)


@pytest.mark.parametrize("name", NAMES)
def test_a_file_may_have_as_many_bytes_as_the_limit_and_no_more(name):
    data = written(corners(), name)
    full = data + bytes(LARGEST_BYTES - len(data))
    assert_clean(read_photo(full))
    with pytest.raises(InputError, match=r"has 10\.01 MB; at most 10 MB .* smaller picture"):
        read_photo(full + b"\0")


@pytest.mark.parametrize(
    ("data", "size"),
    [
        (png_of_size(10_000, 5_001), r"10000 × 5001 = 50\.01 million"),
        (png_of_size(12_000, 12_000), r"12000 × 12000 = 144\.00 million"),
        (
            png_of_size(2**31 - 1, 2**31 - 1),
            r"2147483647 × 2147483647 = 4611686014132\.4\d million",
        ),
        (jpeg_of_size(12_000, 12_000), r"12000 × 12000 = 144\.00 million"),
        (jpeg_of_size(65_535, 65_535), r"65535 × 65535 = 4294\.84 million"),
        (webp_of_size(12_000, 12_000), r"12000 × 12000 = 144\.00 million"),
        (webp_of_size(16_383, 16_383), "far too many"),
    ],
)
def test_a_bomb_is_refused_by_its_header(data, size):
    # Decoding would find that nearly all pixels are missing, and say that.
    assert len(data) < 10_000
    with pytest.raises(InputError, match=f"has {size} pixels; at most 50 million are taken"):
        read_photo(data)


@pytest.mark.parametrize("name", NAMES)
def test_as_many_pixels_as_the_limit_are_taken(name, monkeypatch):
    monkeypatch.setattr(module, "LARGEST_PIXELS", 200)
    assert_clean(read_photo(written(Image.new("L", (20, 10)), name)))
    with pytest.raises(InputError, match="67 × 3"):
        read_photo(written(Image.new("L", (67, 3)), name))


def test_a_jpeg_that_draws_without_end_is_refused():
    assert_clean(read_photo(many_scans(MOST_SCANS)))
    with pytest.raises(InputError, match="in 251 passes; at most 250 are taken: save"):
        read_photo(many_scans(MOST_SCANS + 1))


@pytest.mark.parametrize(("name", "said"), [("PNG", "PNG"), ("WEBP", "WebP")])
def test_an_animation_is_refused(name, said):
    with pytest.raises(InputError, match=f"the {said} file is an animation of 3 pictures"):
        read_photo(frames(name, 3))


@pytest.mark.parametrize(("name", "said"), [("JPEG", "JPEG"), ("PNG", "PNG"), ("WEBP", "WebP")])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_a_file_that_is_cut_off_is_refused(name, said, share):
    # Without notes, so that each cut costs pixels; of a PNG more than the end mark is missing.
    data = written(noise(), name)
    with pytest.raises(InputError, match=f"the {said} file is incomplete or damaged; copy it"):
        read_photo(data[: max(13, int(share * len(data)))])


def test_a_scaled_jpeg_that_is_cut_off_is_refused_and_not_half_grey():
    data = written(corners(2400, 1800), "JPEG")
    with pytest.raises(InputError, match="incomplete or damaged"):
        read_photo(data[: len(data) // 2])
    with pytest.raises(InputError, match="incomplete or damaged"):
        read_photo(data.removesuffix(JPEG_END))


def png_with_text(key: str) -> bytes:
    texts = PngImagePlugin.PngInfo()
    texts.add_text(key, XMP.decode())
    return written(corners(), "PNG", pnginfo=texts)


@pytest.mark.parametrize("key", ["exif", "xmp", "icc_profile", "dpi", "gamma", "loop"])
def test_a_text_of_a_png_under_a_name_that_means_something_else_is_dropped(key):
    assert_clean(read_photo(png_with_text(key)))


def test_a_text_of_a_png_that_stands_for_a_transparent_colour_is_refused():
    with pytest.raises(InputError, match="the PNG file is incomplete or damaged"):
        read_photo(png_with_text("transparency"))


def test_a_text_of_a_png_that_unfolds_to_80_megabytes_is_refused():
    text = chunk(b"zTXt", b"Comment\0\0" + zlib.compress(bytes(80_000_000), 9))
    data = written(corners(), "PNG")
    with pytest.raises(InputError, match="incomplete or damaged"):
        read_photo(data[:33] + text + data[33:])


# --- whatever comes -----------------------------------------------------------------------------

ALL_SEEDS = {name: seeds(name) for name in NAMES}
EVERY_SEED = [seed for name in NAMES for seed in ALL_SEEDS[name]]


@st.composite
def tampered(draw: st.DrawFn, name: str) -> bytes:
    """Draw a valid file with bytes changed, cut off, or with a piece of another at its end."""
    data = bytearray(draw(st.sampled_from(ALL_SEEDS[name])))
    if draw(st.booleans()):
        del data[draw(st.integers(16, len(data))) :]
    if draw(st.booleans()):
        other = draw(st.sampled_from(EVERY_SEED))
        data += other[draw(st.integers(0, len(other))) :]
    near_start = st.integers(12, 400) | st.integers(12, len(data))
    for at, byte in draw(st.lists(st.tuples(near_start, st.integers(0, 255)), max_size=6)):
        data[min(at, len(data) - 1)] = byte
    mends = name == "PNG" and draw(st.booleans())
    return with_right_checksums(bytes(data)) if mends else bytes(data)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
def test_whatever_is_done_to_a_file_it_is_a_clean_photo_or_a_sentence(name):
    outcomes, sentences = Counter(), set()

    @settings(max_examples=300)
    @given(tampered(name))
    def one(data):
        try:
            photo = read_photo(data)
        except InputError as error:
            outcomes["refused"] += 1
            sentences.add(str(error))
        else:
            outcomes["kept"] += 1
            assert_clean(photo)
            assert SECRET not in photo.data

    one()
    assert all(re.match("the .+[;:] .+", each) for each in sentences)
    assert min(outcomes["refused"], outcomes["kept"]) > 20, outcomes


@pytest.mark.parametrize(
    "error",
    [
        *(OSError, SyntaxError, ValueError, TypeError, KeyError, IndexError, EOFError),
        *(ZeroDivisionError, OverflowError, struct.error, zlib.error, UserWarning),
    ],
)
def test_what_a_decoder_raises_becomes_the_sentence(error, monkeypatch):
    def load(_):
        raise error("something of the decoder's own")

    monkeypatch.setattr(PngImagePlugin.PngImageFile, "load", load)
    with pytest.raises(InputError, match="the PNG file is incomplete or damaged; copy it"):
        read_photo(written(corners(), "PNG"))


def test_a_machine_without_memory_is_not_called_a_damaged_photo(monkeypatch):
    def load(_):
        raise MemoryError("no room")

    monkeypatch.setattr(PngImagePlugin.PngImageFile, "load", load)
    with pytest.raises(MemoryError, match="no room"):
        read_photo(written(corners(), "PNG"))


@given(st.binary(max_size=300))
def test_bytes_of_any_kind_get_a_sentence(data):
    with pytest.raises(InputError, match=r"^the (file|JPEG|PNG|WebP) "):
        read_photo(data)
