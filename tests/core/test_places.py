"""Put-away (R35). Places and values of the demo yard and of the storekeeper's day."""

from __future__ import annotations

import pytest

from inventory.core.compat import HAZARDS
from inventory.core.places import FROZEN, PLAIN, TAKEN_OUT, PlaceRule, Storage, cautions, hazard_words, put_away

from .putaway_cases import TABLE, table

pytestmark = pytest.mark.core
KG = 10**9
SDS = "https://sds.example/mekp"
MEKP = Storage("peroxide", 5_000, 25_000, "MEKP", SDS)
PREPREG = Storage("", None, -18_000, "PP-T")
ISOCYANATE = Storage("isocyanate", 15_000, 30_000, "PU-B")
FABRIC = Storage("", None, None, "CT-204")
AMINE = Storage("amine", None, None, "LAM-B")
AC = PlaceRule("AC", 15_000, 25_000, frozenset({"promoter", "amine"}), frozenset({"peroxide", "acid"}))
F1 = PlaceRule("F1", -25_000, -18_000, frozenset({"frozen"}))
BK = PlaceRule("BK", 5_000, 30_000, frozenset({"peroxide"}), max_ug=60 * KG)
RS = PlaceRule("RS", 15_000, 25_000)
QUAR = PlaceRule("QUAR", refuses=frozenset({"peroxide"}))


def px(held_kg_tenths: int) -> PlaceRule:
    return PlaceRule("PX", 5_000, 25_000, frozenset({"peroxide"}), max_ug=25 * KG, held_ug=held_kg_tenths * KG // 10)


def codes(rule: PlaceRule, storage: Storage, adding_ug: int | None = KG, neighbours: tuple[str, ...] = ()) -> list[str]:
    return [reason.code.removeprefix("place.") for reason in put_away(rule, storage, adding_ug, neighbours)]


def test_peroxide_is_refused_among_promoters_and_amines() -> None:
    assert codes(AC, MEKP, 5 * KG, ("promoter",)) == ["never_together", "peroxide_only_in_its_own"]
    reason = put_away(AC, MEKP, 5 * KG, ["promoter"])[0]
    assert "never with promoters, amines or acids (there: amines, promoters)" in reason.text
    assert reason.text.endswith(f"Safety data sheet: {SDS}")
    assert reason.numbers == {"place": "AC", "material": "MEKP", "sds_url": SDS, "there": "amine, promoter"}
    assert type(reason.numbers["there"]) is str  # codes, for machines: no sentence that somebody could read otherwise


def test_peroxide_is_refused_in_the_freezer_below_its_minimum() -> None:
    assert codes(F1, MEKP) == ["peroxide_only_in_its_own", "too_cold"]
    reason = put_away(F1, MEKP, KG)[1]
    assert "−25 °C" in reason.text and "below its minimum 5 °C" in reason.text and SDS in reason.text
    assert (reason.numbers["low_mc"], reason.numbers["min_mc"]) == (-25_000, 5_000)


def test_the_peroxide_cabinet_takes_three_cans_and_refuses_the_fourth_which_the_bunker_takes() -> None:
    assert [codes(px(held), MEKP, 5 * KG) for held in (65, 115, 165)] == [[], [], []]  # 6.5 + 15.0 = 21.5 of 25 kg
    reason = put_away(px(215), MEKP, 5 * KG)[0]
    assert reason.code == "place.full" and "would hold 26.50 kg of 25.00 kg" in reason.text
    assert {key: reason.numbers[key] for key in ("held_ug", "adding_ug", "would_ug", "max_ug")} == {
        "held_ug": 21_500_000_000,
        "adding_ug": 5 * KG,
        "would_ug": 26_500_000_000,
        "max_ug": 25 * KG,
    }
    assert codes(BK, MEKP, 5 * KG) == []


def test_a_place_may_be_filled_to_exactly_its_limit() -> None:
    assert codes(px(200), MEKP, 5 * KG) == []
    assert codes(px(200), MEKP, 5 * KG + 1) == ["full"]


def test_an_unknown_mass_is_not_taken_for_nothing() -> None:
    assert codes(px(0), MEKP, None) == ["mass_unknown"]
    assert codes(RS, FABRIC, None) == []


def test_a_peroxide_needs_a_place_that_names_it_even_where_everything_else_goes() -> None:
    assert codes(RS, MEKP) == ["peroxide_only_in_its_own"]
    both = PlaceRule("?", accepts=frozenset({"peroxide"}), refuses=frozenset({"peroxide"}))
    assert codes(both, MEKP) == ["peroxide_only_in_its_own"]


@pytest.mark.parametrize("hazard", ["promoter", "amine", "acid"])
def test_nothing_that_reacts_with_peroxide_goes_beside_it(hazard: str) -> None:
    other = Storage(hazard, None, None, "CO-6")
    assert codes(px(0), other) == ["never_together", "takes_only"]
    assert codes(RS, other, KG, ("peroxide", "isocyanate")) == ["never_together"]
    assert codes(BK, MEKP, KG, (hazard,)) == ["never_together"]


def test_the_cabinet_for_amines_refuses_acids_by_name() -> None:
    reason = put_away(AC, Storage("acid", None, None, "PH-C"), KG)[0]
    assert reason.code == "place.refuses" and reason.text == "AC does not take acids: put PH-C elsewhere."
    assert reason.numbers["sds_url"] is None
    assert codes(AC, AMINE) == []


def test_a_freezer_takes_frozen_goods_only_and_frozen_goods_go_nowhere_warmer() -> None:
    assert codes(F1, PREPREG) == []
    assert codes(F1, FABRIC) == ["takes_only"]
    assert codes(F1, ISOCYANATE) == ["takes_only", "too_cold"]
    reason = put_away(RS, PREPREG, KG)[0]
    assert reason.code == "place.too_warm" and "25 °C" in reason.text and "−18 °C" in reason.text
    no_frozen = PlaceRule("BIN", -25_000, -18_000, refuses=frozenset({"frozen", "plain"}))
    assert "frozen goods, goods without a hazard" in put_away(no_frozen, PREPREG, KG)[0].text


def test_goods_kept_at_zero_degrees_are_cool_and_not_frozen() -> None:
    assert codes(RS, Storage("", None, 0, "PH-R")) == []
    assert codes(RS, Storage("", None, -1, "PH-R")) == ["too_warm"]


def test_a_place_of_which_nothing_is_said_is_empty() -> None:
    assert codes(PlaceRule("PX", accepts=frozenset({"peroxide"}), max_ug=KG), MEKP, KG) == []


def test_what_cold_ruins_is_refused_below_its_minimum_and_not_at_it() -> None:
    assert codes(PlaceRule("FR", 2_000, 8_000), ISOCYANATE) == ["too_cold"]
    assert codes(RS, ISOCYANATE) == []
    assert codes(PlaceRule("RS", 14_999, 25_000), ISOCYANATE) == ["too_cold"]


def test_quarantine_takes_everything_but_peroxides() -> None:
    assert [codes(QUAR, goods) for goods in (PREPREG, FABRIC, ISOCYANATE, AMINE)] == [[], [], [], []]
    assert codes(QUAR, MEKP) == ["peroxide_only_in_its_own"]


def test_a_place_that_may_get_too_warm_is_a_caution_and_no_refusal() -> None:
    assert codes(BK, MEKP) == []
    caution = cautions(BK, MEKP)[0]
    assert caution.code == "place.may_be_warm" and caution.text == "BK may reach 30 °C; MEKP keeps at up to 25 °C."
    for rule, goods in ((px(0), MEKP), (QUAR, MEKP), (RS, FABRIC), (RS, PREPREG)):
        assert cautions(rule, goods) == []


def test_an_unheard_of_hazard_is_named_as_it_is() -> None:
    rule = PlaceRule("X", refuses=frozenset({"radium"}))
    assert "does not take radium" in put_away(rule, Storage("radium", None, None, "Paint"), 1)[0].text


def test_nothing_is_too_warm_where_it_is_taken_out_to() -> None:
    assert [codes(PlaceRule("X", 15_000, 30_000, kind=kind), PREPREG) for kind in sorted(TAKEN_OUT)] == [[], [], []]
    assert codes(PlaceRule("X", 15_000, 30_000, kind="store"), PREPREG) == ["too_warm"]


def test_the_table_that_the_tablet_s_script_is_held_to_is_what_the_rule_says() -> None:
    assert TABLE.read_text() == table(), "write it anew: python -m tests.core.putaway_cases"


def test_every_class_of_hazard_has_a_word_for_places() -> None:
    known = {*HAZARDS, FROZEN, PLAIN}
    assert {code for code in known if hazard_words([code]) == code} == set()
