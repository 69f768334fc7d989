"""Which PINs are good enough, how they are kept, and how long a wrong one makes wait."""

from datetime import UTC, datetime, timedelta

import pytest
from argon2 import PasswordHasher, extract_parameters
from argon2.profiles import RFC_9106_LOW_MEMORY
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import InputError, RoleError
from advisor.people import pin
from advisor.people.pin import MOST_WRONG, Strangers, Tries, check_pin, wait_s

NOW = datetime(2027, 1, 1, 8, 0, tzinfo=UTC)
GOOD = "482913"
UP = "0123456789" * 3
DOWN = UP[::-1]
DIGITS = "0123456789"
LONG = st.integers(6, 12)
PINS = (
    st.text(DIGITS, min_size=6, max_size=12)
    | st.builds(lambda some, n: (some * 12)[:n], st.text(DIGITS, min_size=1, max_size=4), LONG)
    | st.builds(lambda run, at, n: run[at : at + n], st.sampled_from([UP, DOWN]), LONG, LONG)
)


@pytest.fixture(scope="module", autouse=True)
def quick_pins():
    """PINs are kept as shipped: their hashes are looked at here."""


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        ("", "digits 0 to 9 only"),
        ("48 29 13", "digits 0 to 9 only"),
        ("48291a", "digits 0 to 9 only"),
        ("٤٨٢٩١٣", "digits 0 to 9 only"),
        ("48291²", "digits 0 to 9 only"),
        ("48291", "has 5 digits; it must have 6 to 12"),
        ("4829134829135", "has 13 digits; it must have 6 to 12"),
        ("000000", "one digit over and over"),
        ("777777777777", "one digit over and over"),
        ("123456", "runs up or down"),
        ("987654", "runs up or down"),
        ("67890123", "runs up or down"),
        ("121212", "repeats its first two or three digits"),
        ("4747474", "repeats its first two or three digits"),
        ("123123", "repeats its first two or three digits"),
    ],
)
def test_a_pin_that_is_guessed_first_is_refused_without_being_named(bad, says):
    with pytest.raises(InputError, match=says) as refusal:
        check_pin(bad)
    assert not bad or bad not in str(refusal.value)


@given(PINS)
def test_every_other_pin_of_six_to_twelve_digits_is_taken(digits):
    repeats = {(digits[:size] * 12)[: len(digits)] for size in (1, 2, 3)}
    if digits in repeats or digits in UP or digits in DOWN:
        with pytest.raises(InputError, match="which is tried first"):
            check_pin(digits)
    else:
        check_pin(digits)


def test_a_pin_is_kept_as_rfc_9106_recommends_where_memory_is_short():
    kept = pin.hashed(GOOD)
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert extract_parameters(kept) == RFC_9106_LOW_MEMORY
    assert GOOD not in kept
    assert len(kept) <= 200  # what the column holds


def test_one_pin_is_kept_differently_each_time_and_fits_each_time():
    one, other = pin.hashed(GOOD), pin.hashed(GOOD)
    assert one != other
    assert pin.fits(one, GOOD)
    assert pin.fits(other, GOOD)
    assert not pin.fits(one, "482914")


def test_a_bad_pin_is_not_hashed():
    with pytest.raises(InputError, match="one digit over and over"):
        pin.hashed("111111")


@pytest.mark.parametrize("typed", [GOOD, "", "\0", "\ud800", "9" * 1_000_000])
def test_nothing_fits_a_name_that_has_no_pin(typed):
    assert not pin.fits(None, typed)


def test_what_is_compared_with_for_an_unknown_name_costs_what_a_pin_costs():
    assert extract_parameters(pin._DUMMY) == extract_parameters(pin.hashed(GOOD))


def test_a_hash_made_with_other_parameters_is_to_be_renewed():
    weaker = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1).hash(GOOD)
    assert pin.fits(weaker, GOOD)
    assert pin.needs_rehash(weaker)
    assert not pin.needs_rehash(pin.hashed(GOOD))


def test_waits_double_from_the_third_wrong_try_and_end_at_a_minute():
    assert [wait_s(wrong) for wrong in range(11)] == [0, 0, 0, 2, 4, 8, 16, 32, 60, 60, 60]


def test_a_try_in_the_wait_is_refused_with_what_is_left_of_it():
    tries = Tries(4, NOW)
    with pytest.raises(RoleError, match="4 wrong PINs in a row; try again in 4 s"):
        tries.check(NOW)
    with pytest.raises(RoleError, match="try again in 1 s"):
        tries.check(NOW + timedelta(seconds=3.5))
    tries.check(NOW + timedelta(seconds=4))
    assert tries.and_another(NOW) == Tries(5, NOW)


def test_a_clock_that_was_put_back_locks_nobody_out():
    Tries(4, NOW).check(NOW - timedelta(days=300))
    with pytest.raises(RoleError, match="try again in 5 s"):  # another thread was faster
        Tries(4, NOW).check(NOW - timedelta(seconds=1))


def test_after_the_last_wrong_try_no_wait_is_long_enough():
    Tries(MOST_WRONG - 1, NOW).check(NOW + timedelta(minutes=1))
    with pytest.raises(RoleError, match="locked after 8 wrong PINs in a row; a lead unlocks it"):
        Tries(MOST_WRONG, NOW).check(NOW + timedelta(days=300))


def test_a_name_that_nobody_has_waits_and_is_locked_as_any_other():
    strangers, now = Strangers(), NOW
    for _ in range(MOST_WRONG):
        strangers.count("nobody", now)
        now += timedelta(minutes=1)
    with pytest.raises(RoleError, match="locked after 8 wrong PINs in a row"):
        strangers.count("nobody", now)
    strangers.count("nobody else", now)


def test_names_that_nobody_has_do_not_fill_the_memory(monkeypatch):
    monkeypatch.setattr(pin, "MOST_STRANGERS", 5)
    strangers = Strangers()
    for n in range(100):
        strangers.count(n, NOW)
    assert len(strangers._tries) == 5
