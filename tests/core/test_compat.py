"""What goes with what (R40). The pairs are common practice, no source."""

from __future__ import annotations

from itertools import product

import pytest

from inventory.core.compat import (
    HAZARDS,
    Added,
    Fibre,
    Resin,
    families,
    family,
    fibre_and_resin,
    never_in_turn,
    never_into,
    never_meet,
    resin_over_resin,
)  # fmt: skip
from inventory.core.reasons import BadInput

pytestmark = pytest.mark.core
MAT = Fibre("CSM-300", frozenset({"polyester", "vinylester"}), "binder needs styrene")
EPOXY, VINYL, POLY = Resin("LAM-A", "epoxy"), Resin("VE-I", "vinylester"), Resin("PE-L", "polyester")


def test_a_powder_bound_mat_is_refused_in_epoxy_with_why() -> None:
    reason = fibre_and_resin(MAT, EPOXY)
    assert reason and reason.code == "compat.fibre_resin"
    assert reason.text == "CSM-300 with LAM-A: binder needs styrene: not with epoxy. It suits polyester, vinyl ester."
    assert reason.numbers == {"fibre": "CSM-300", "resin": "LAM-A", "family": "epoxy", "suits": "polyester, vinyl ester"}


def test_it_goes_with_the_resins_it_suits() -> None:
    assert fibre_and_resin(MAT, VINYL) is None and fibre_and_resin(MAT, POLY) is None


def test_where_nothing_is_stated_nothing_is_refused() -> None:
    assert fibre_and_resin(Fibre("GB", frozenset()), EPOXY) is None
    assert fibre_and_resin(MAT, Resin("?", "")) is None
    assert resin_over_resin(Resin("?", ""), POLY) is resin_over_resin(EPOXY, Resin("?", "")) is None


def test_a_sizing_without_a_why_still_says_what_it_suits() -> None:
    reason = fibre_and_resin(Fibre("CT-204", frozenset({"epoxy"})), VINYL)
    assert reason and reason.text == "CT-204 with VE-I: not made for vinyl ester. It suits epoxy."


def test_polyester_over_epoxy_is_refused_and_epoxy_over_polyester_is_not() -> None:
    reason = resin_over_resin(EPOXY, POLY)
    assert reason and reason.code == "compat.resin_over" and reason.numbers["pair"] == "polyester over epoxy"
    assert reason.text.startswith("PE-L over LAM-A: polyester bonds poorly to epoxy")
    assert resin_over_resin(POLY, EPOXY) is None and resin_over_resin(EPOXY, EPOXY) is None
    assert resin_over_resin(EPOXY, VINYL) is not None


def test_a_shop_may_add_a_pair_and_allow_one() -> None:
    own = {("polyester", "epoxy"): "our gelcoat lets go", ("epoxy", "polyester"): ""}
    reason = resin_over_resin(POLY, EPOXY, own)
    assert reason and "our gelcoat lets go" in reason.text
    assert resin_over_resin(EPOXY, POLY, own) is None
    assert resin_over_resin(EPOXY, VINYL, own) is not None


def test_families_are_read_however_they_are_spelt() -> None:
    assert families("Polyester, vinyl ester; VINYL-ESTER,") == {"polyester", "vinylester"}
    assert families("") == frozenset()
    assert family(" Epoxy ") == "epoxy"
    for wrong in ("bakelite", "polyester epoxy"):
        with pytest.raises(BadInput) as caught:
            families(wrong)
        assert caught.value.reason.code == "compat.unknown_family"


def test_an_unknown_family_is_an_error_and_not_a_silent_yes() -> None:
    for call in (lambda: fibre_and_resin(MAT, Resin("X", "bakelite")), lambda: resin_over_resin(EPOXY, Resin("X", "bakelite"))):
        with pytest.raises(BadInput):
            call()


def test_peroxide_meets_no_promoter_amine_or_acid_and_nothing_else_is_forbidden() -> None:
    forbidden = {(a, b) for a, b in product([*HAZARDS, ""], repeat=2) if never_meet(a, b)}
    assert forbidden == {pair for other in ("promoter", "amine", "acid") for pair in (("peroxide", other), (other, "peroxide"))}


def test_promoter_into_peroxide_is_refused_and_nobody_may_override_it() -> None:
    reason = never_into("CB-2", "promoter", "X4", "peroxide", "https://sds.example/mekp")
    assert reason and reason.cap and reason.code == "compat.never_together"
    assert "never meet directly" in reason.text and reason.text.endswith("Safety data sheet: https://sds.example/mekp")
    assert reason.numbers == {"what": "CB-2", "into": "X4", "sds_url": "https://sds.example/mekp"}
    assert never_into("X4", "peroxide", "PE-8", "") is None


def test_without_a_safety_sheet_none_is_mentioned() -> None:
    reason = never_into("X4", "peroxide", "CB-2", "promoter")
    assert reason and "sheet" not in reason.text and reason.numbers["sds_url"] is None


def test_a_promoter_and_a_peroxide_meet_only_in_resin() -> None:
    resin, promoter, peroxide = (
        Added("PE-8", resin=True),
        Added("CB-2", "promoter"),
        Added("X4", "peroxide", sds_url="https://sds.example/m"),
    )
    assert never_in_turn([resin, promoter, peroxide]) is None and never_in_turn([promoter, resin, peroxide]) is None
    for wrong in ([promoter, peroxide, resin], [peroxide, promoter], [Added("WAX"), peroxide, Added("PIG"), promoter, resin]):
        reason = never_in_turn(wrong)
        assert reason and reason.code == "compat.never_together" and reason.cap and reason.text.endswith("https://sds.example/m")
    assert never_in_turn([peroxide, Added("WAX")]) is None and never_in_turn([]) is None
