"""What a job's record is made of: a joint, a coupon, its photo, an adhesive clock as they stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from advisor.bonding.adhesive import Adhesive
from advisor.bonding.clock import ClockState, Reading, read_clock
from advisor.bonding.preparation import Finding
from advisor.coupons.coverage import Coverage, CoverState
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.release import Release
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.errors import AdvisorError
from advisor.language import ENGLISH, speaking
from advisor.weld.stack import AdhesiveState


@dataclass(frozen=True)
class JointEntry:
    """One joint of the job as it stands when the record is made.

    Parameters
    ----------
    joint : Joint
        The joint.
    coverage : Coverage
        What its coupons say.
    release : Release or None
        Its newest release.
    reopened : tuple of str
        Why that release no longer stands; empty when it does.
    checks : tuple of Finding
        How the preparation checks of a bonded joint stand.
    maker : MakerRecommendation or None
        What the welder maker recommends for it.
    """

    joint: Joint
    coverage: Coverage
    release: Release | None = None
    reopened: tuple[str, ...] = ()
    checks: tuple[Finding, ...] = ()
    maker: MakerRecommendation | None = None

    @property
    def is_released(self) -> bool:
        """Whether a release stands."""
        return self.release is not None and not self.reopened

    @property
    def is_cured_without_test(self) -> bool:
        """Whether it has cured adhesive and no coupons that cover it."""
        cured = self.joint.stack.adhesive_state is AdhesiveState.CURED
        return cured and self.coverage.state is not CoverState.COVERED

    @property
    def numbers(self) -> tuple[int, ...]:
        """Coupons that count for it now, and those its release stands on."""
        released = [each.number for each in self.release.evidence] if self.release else []
        return tuple(sorted({*(each.number for each in self.coverage.evidence), *released}))


@dataclass(frozen=True)
class InterfaceLine:
    """One interface of a coupon with its size and its minimum.

    Parameters
    ----------
    number : int
        1 at the top.
    upper_mm, lower_mm : float
        Thickness of the two sheets that meet. [mm]
    smallest_mm, largest_mm, mean_mm : float or None
        Diameters and their mean; None with nothing to measure, or not yet. [mm]
    minimum_mm : float or None
        Minimum by the rules it was judged by; None where these are not known: the reasons of
        the verdict hold it. [mm]
    formula : str
        The minimum as a formula; empty where it is None.
    failure : str
        How it failed, in words; empty when not written down.
    """

    number: int
    upper_mm: float
    lower_mm: float
    smallest_mm: float | None
    largest_mm: float | None
    mean_mm: float | None
    minimum_mm: float | None
    formula: str
    failure: str


@dataclass(frozen=True)
class PhotoEntry:
    """One photo of a coupon.

    Parameters
    ----------
    sha256 : str
        SHA-256 of the kept file, by which the log can show it again.
    by : str
        Who added it.
    at : datetime
        When.
    width_px, height_px : int
        Size of the kept picture. [px]
    copy : bytes
        A JPEG to print, see `pictures.print_copy`; empty where the file is missing or changed.
    """

    sha256: str
    by: str
    at: datetime
    width_px: int
    height_px: int
    copy: bytes = field(default=b"", repr=False)

    @property
    def is_lost(self) -> bool:
        """Whether the log cannot show the photo any more."""
        return not self.copy

    @property
    def short_hash(self) -> str:
        """First 12 digits of the hash: enough to tell it from any other photo of a shop."""
        return self.sha256[:12]


@dataclass(frozen=True)
class CouponEntry:
    """One coupon of the job, or one that a joint of it stands on.

    Parameters
    ----------
    logged : LoggedCoupon
        The coupon as it stands.
    recorded_by : str
        Who wrote down this revision.
    recorded_at : datetime or None
        When.
    why : str
        Why it was corrected or voided; empty for a first entry.
    rules : ShopRules or None
        Rules it was judged by, where the log gives them.
    photos : tuple of PhotoEntry
        Its photos.
    """

    logged: LoggedCoupon
    recorded_by: str = ""
    recorded_at: datetime | None = None
    why: str = ""
    rules: ShopRules | None = None
    photos: tuple[PhotoEntry, ...] = ()

    def judged_by(self, now: ShopRules) -> ShopRules | None:
        """Return the rules it was judged by.

        Parameters
        ----------
        now : ShopRules
            The shop's rules now: they are the ones when they give the recorded verdict again,
            reason by reason.

        Returns
        -------
        ShopRules or None
            None where the entry names none and those of now judge otherwise.
        """
        if self.rules is not None:
            return self.rules
        try:
            with speaking(ENGLISH):
                same = judge(self.logged.coupon, now.judging) == self.logged.verdict
        except AdvisorError:
            return None
        return now if same else None

    def interfaces(self, now: ShopRules) -> tuple[InterfaceLine, ...]:
        """Return its interfaces with their sizes and minima, top to bottom.

        Parameters
        ----------
        now : ShopRules
            The shop's rules now, see `judged_by`.
        """
        coupon, rules = self.logged.coupon, self.judged_by(now)
        size = rules.judging.size if rules else None
        return tuple(
            InterfaceLine(
                index + 1,
                interface.upper_sheet.thickness_mm,
                interface.lower_sheet.thickness_mm,
                result.smallest_mm,
                result.largest_mm,
                result.size_mm,
                size.minimum_mm(coupon.stack, index) if size else None,
                size.formula(coupon.stack, index) if size else "",
                result.failure.label if result.failure else "",
            )
            for index, (interface, result) in enumerate(
                zip(coupon.stack.interfaces, coupon.results, strict=True)
            )
        )


@dataclass(frozen=True)
class ClockRun:
    """One adhesive clock.

    Parameters
    ----------
    adhesive : Adhesive
        The adhesive with its label times.
    used_for : str
        What it was mixed for.
    mixed_at : datetime
        Time of mixing.
    readings : tuple of Reading
        Panel temperatures, at least one.
    stopped_at : datetime or None
        When the clock was stopped; None while it runs.
    """

    adhesive: Adhesive
    used_for: str
    mixed_at: datetime
    readings: tuple[Reading, ...]
    stopped_at: datetime | None = None

    def state(self, now: datetime) -> ClockState:
        """Return what it says at a moment, or said when it was stopped."""
        return read_clock(self.adhesive, self.mixed_at, self.readings, self.stopped_at or now)
