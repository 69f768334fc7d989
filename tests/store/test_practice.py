"""A practice copy holds the shop's log, lets everybody try everything, and gives nothing back."""

from dataclasses import replace

import pytest
from store_examples import BY, FAILING, NOW, PASSING

from advisor.coupons.rules import JudgingRules, ShopRules
from advisor.errors import InputError, RoleError
from advisor.exchange.log_file import LogFile
from advisor.people.roles import Role
from advisor.store.log import open_log
from advisor.store.practice import make_practice_copy, practice_file
from advisor.weld.size import SizeRule

TEACHER = "Tony, trainer"


@pytest.fixture
def shop(log, tmp_path, monkeypatch):
    monkeypatch.setenv("ADVISOR_DATA_DIR", str(tmp_path / "data"))
    log.add_welder(TEACHER, BY, Role.TRAINER)
    log.set_pin(BY, "582047", BY)
    log.add_coupon(PASSING, "Kim", NOW)
    log.add_coupon(FAILING, "Kim", NOW)
    log.correct_coupon(2, PASSING, BY, "misread", NOW)
    return log


def test_it_holds_the_log_and_gives_nothing_back(shop):
    before = list(shop.iter_coupons())
    copy = open_log(make_practice_copy(shop, TEACHER, NOW))
    assert copy.is_copy
    assert list(copy.iter_coupons()) == before
    assert [r.why for r in copy.history(2)] == ["", "misread"]
    copy.add_coupon(PASSING, TEACHER, NOW)
    copy.void_coupon(1, TEACHER, "to show how", NOW)
    copy.save_rules(ShopRules(JudgingRules(SizeRule(k=5.0))), TEACHER)
    assert copy.verify().is_sound
    assert list(shop.iter_coupons()) == before
    assert shop.rules() == ShopRules()
    assert not shop.is_copy
    copy.close()


def test_a_trainer_only_reads_in_the_shop_itself(shop):
    for act in (
        lambda: shop.add_coupon(PASSING, TEACHER, NOW),
        lambda: shop.void_coupon(1, TEACHER, "to show how", NOW),
        lambda: shop.save_rules(ShopRules(), TEACHER),
    ):
        with pytest.raises(RoleError, match=r"not for a trainer .* open a practice copy on the pa"):
            act()


def test_nobody_has_a_pin_in_it(shop):
    copy = open_log(make_practice_copy(shop, TEACHER, NOW))
    assert not any(person.has_pin for person in copy.people())
    copy.close()


def test_a_new_one_replaces_the_old_and_is_one_s_own(shop):
    copy = open_log(make_practice_copy(shop, TEACHER, NOW))
    copy.void_coupon(1, TEACHER, "to show how", NOW)
    copy.close()
    again = open_log(make_practice_copy(shop, TEACHER, NOW))
    assert again.coupon(1).voided == ""
    again.close()
    assert practice_file(TEACHER) == practice_file(TEACHER.upper()) != practice_file(BY)


def test_it_never_comes_back_into_a_shop(shop, tmp_path):
    copy = open_log(make_practice_copy(shop, TEACHER, NOW))
    copy.add_coupon(replace(PASSING, notes="practised"), TEACHER, NOW)
    with (tmp_path / "copy.jsonl").open("w+b") as file:
        copy.export_json_lines(file)
        with pytest.raises(InputError, match="practice"):
            shop.bring_in(LogFile(file), BY, NOW)
    copy.close()
