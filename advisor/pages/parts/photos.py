"""Photos of a coupon: those that are kept, and one more from the tablet's camera or a file.

Everything is folded away until somebody asks: a photo never stands between two coupons. Nothing is
kept before it has been seen, because what is kept stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.photo import LARGEST_BYTES, Photo, read_photo
from advisor.errors import AdvisorError
from advisor.language import figure, msg, say
from advisor.pages.parts.cards import coupon_line
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session
from advisor.record.pictures import scaled
from advisor.store.log import Log
from advisor.store.photos import MOST_PHOTOS, KeptPhoto

#: Messages for `say`.
ADD = msg("Photo of the peeled coupon")
CAMERA = msg("Take it with the camera of this device")
#: Any picture, so that a tablet offers its camera and a wrong kind is refused with the reason; by
#: name those that some computers do not know to be pictures.
_TYPES = ["image/*", "heic", "heif"]
#: By definition. [MB]
_LARGEST_MB = LARGEST_BYTES // 1_000_000
#: As wide as a preview is ever shown. [px]
_PREVIEW_PX = 1400
_A_ROW = 3
#: Large enough for gloves; the line of kinds is left out, because the label says them better.
_STYLE = """
<style>
[class*="st-key-photo-entry"] button { min-height: 48px; min-width: 48px; }
[class*="st-key-photo-entry"] [data-testid="stFileUploaderDropzoneInstructions"] { display: none; }
</style>
"""


@st.fragment
def photo_part(session: Session, number: int) -> None:
    """Draw the folded photos of one coupon."""
    with _folded(say("Photo of this coupon"), f"photo-of·{number}") as is_open:
        if is_open:
            _photos(session, number)


@st.fragment
def photos_part(session: Session, recent: Sequence[LoggedCoupon]) -> None:
    """Draw the folded photos of the newest coupon, or of any number."""
    with _folded(say("Photos of a coupon"), "photos-of") as is_open:
        if not is_open:
            return
        newest = recent[0].number
        number = st.number_input(say("Photos of coupon number"), value=newest, min_value=1, step=1)
        try:
            # In words, because a photo that went to the wrong coupon stays there.
            st.markdown(coupon_line(session.log.coupon(int(number)), session))
        except AdvisorError as error:
            st.error(plain(error))
            return
        _photos(session, int(number))


@contextmanager
def _folded(words: str, key: str) -> Iterator[bool]:
    """Open a folded part and say whether somebody has unfolded it: nothing is read before."""
    with st.expander(words, key=key, on_change="rerun") as part:
        yield bool(part.open)


def _photos(session: Session, number: int) -> None:
    st.html(_STYLE)
    try:
        kept = session.log.photos(number)
        if kept:
            _show(session.log, number, kept)
    except AdvisorError as error:
        st.error(plain(error))
        return
    done = st.session_state.pop(f"photo-done·{number}", None)
    if done:
        st.success(done)
    if len(kept) < MOST_PHOTOS:
        _add(session, number)
    else:
        st.caption(
            say(
                "{photos} photos of coupon #{coupon} are kept, and no more fit.",
                photos=len(kept),
                coupon=number,
            )
        )


def _show(log: Log, number: int, kept: Sequence[KeptPhoto]) -> None:
    """Show previews side by side, a lost photo as the sentence that says so."""
    for start in range(0, len(kept), _A_ROW):
        with st.container(key=f"row-photos-{number}-{start}"):
            columns = st.columns(_A_ROW)
        for nth, (column, photo) in enumerate(zip(columns, kept[start:], strict=False), start + 1):
            with column:
                _show_one(
                    log, photo, say("Photo {nth} of coupon #{coupon}", nth=nth, coupon=number)
                )


def _show_one(log: Log, photo: KeptPhoto, name: str) -> None:
    try:
        shown = _preview(log, photo.sha256)
    except AdvisorError as error:
        st.error(plain(error))
        return
    when = figure(photo.at.astimezone(), "%d %b %Y %H:%M")
    words = say("{photo}, {when}, by {person}", photo=name, when=when, person=photo.by)
    st.image(shown, caption=when, width="stretch", alt=words)


@st.cache_data(show_spinner=False, max_entries=60)
def _preview(_log: Log, sha256: str) -> bytes:
    """Return a photo small enough to look at; the hash alone says which."""
    return scaled(_log.photo_data(sha256), _PREVIEW_PX)


def _add(session: Session, number: int) -> None:
    key = f"{number}·{st.session_state.get(f'photo-serial·{number}', 0)}"
    upload, is_shot = _ask(number, key)
    if upload is None:
        return
    try:
        with st.spinner(say("Looking at the photo …")):
            photo = _cleaned(upload.getvalue())
    except AdvisorError as error:
        st.error(plain(error))
        return
    if not is_shot:  # the camera shows its own
        st.image(photo.data, alt=say("Photo to be kept with coupon #{coupon}", coupon=number))
    st.caption(
        say(
            "{width} × {height} pixels; where and with what it was taken is left out. A photo that "
            "is kept stays.",
            width=photo.width_px,
            height=photo.height_px,
        )
    )
    st.button(
        say("Keep this photo with coupon #{coupon}", coupon=number),
        type="primary",
        width="stretch",
        key=f"photo-keep·{key}",
        on_click=_keep,
        args=(session, number, upload.getvalue()),
    )
    failed = st.session_state.pop(f"photo-failed·{number}", None)
    if failed:
        st.error(plain(failed))


def _ask(number: int, key: str) -> tuple[UploadedFile | None, bool]:
    """Ask for a file, or for a shot of the camera; return it and whether the camera took it.

    The camera is there only when somebody wants it, because it asks for leave at once.
    """
    with st.container(key=f"photo-entry-{number}"):
        place = st.container()
        if st.toggle(say(CAMERA), key=f"photo-camera·{number}"):
            return place.camera_input(say(ADD), key=f"photo-shot·{key}", resolution="1080p"), True
        upload = place.file_uploader(
            say("{photo}: JPEG, PNG or WebP, at most {most} MB", photo=say(ADD), most=_LARGEST_MB),
            type=_TYPES,
            key=f"photo-file·{key}",
            max_upload_size=_LARGEST_MB,
        )
        return upload, False


@st.cache_data(show_spinner=False, max_entries=8)
def _cleaned(data: bytes) -> Photo:
    return read_photo(data)


def _keep(session: Session, number: int, data: bytes) -> None:
    """Keep a photo, before the part is drawn again: then the entry is empty for the next one."""
    try:
        session.log.add_photo(number, data, session.who)
    except AdvisorError as error:
        st.session_state[f"photo-failed·{number}"] = str(error)
        return
    serial = f"photo-serial·{number}"
    st.session_state[serial] = st.session_state.get(serial, 0) + 1
    st.session_state[f"photo-done·{number}"] = say(
        "The photo is kept with coupon #{coupon}.", coupon=number
    )
