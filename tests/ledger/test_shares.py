"""The play of acts over vessels and parts, without a database: what happens at the edges of a book."""

from __future__ import annotations

from fractions import Fraction

import pytest

from inventory.core.shares import ELSEWHERE, Books, Deed, Flow, run, share_of

pytestmark = pytest.mark.core
LOT, OTHER, ROLL, TANK, PART, PIECE = range(1, 7)
KINDS = {LOT: "lot", OTHER: "lot", ROLL: "roll", TANK: "tank", PART: "part", PIECE: "part"}


def play(*deeds: Deed) -> Books:
    return run(KINDS, deeds)


def arrive(item: int, qty: int, lot: int = LOT) -> Deed:
    return Deed("receive", {item: (qty, None)}, (Flow(lot, item, qty),))


def lay(source: int, qty: int, into: int = PART) -> Deed:
    return Deed("lay", {source: (-qty, None)}, (Flow(source, into, qty),))


def total(books: Books, lot: int) -> tuple[Fraction, Fraction]:
    """Both sides of the balance."""
    term = {name: parcel[lot] for name, parcel in books.terms.items()}
    out = sum(amount for name, amount in term.items() if name not in ("received", "adjusted"))
    return term["received"] + term["adjusted"], sum(books.on_hand(lot).values(), Fraction(out))


def test_what_is_drawn_from_an_empty_tank_is_what_it_last_held() -> None:
    books = play(arrive(TANK, 10), arrive(TANK, 30, OTHER), lay(TANK, 40), lay(TANK, 4, PIECE))
    assert books.contents(PIECE) == {LOT: 1, OTHER: 3}
    assert books.on_hand(LOT) == {TANK: -1}
    assert total(books, LOT)[0] == total(books, LOT)[1] == 10


def test_a_count_of_an_overdrawn_roll_settles_it() -> None:
    books = play(arrive(ROLL, 10), lay(ROLL, 12), Deed("count", {ROLL: (0, 3)}))
    assert books.on_hand(LOT) == {ROLL: 3} and books.terms["adjusted"] == {LOT: 5}
    assert books.stock[ROLL].book == 3


def test_what_a_book_gains_from_nowhere_is_an_adjustment() -> None:
    books = play(arrive(ROLL, 10), Deed("step", {ROLL: (5, None)}))
    assert books.terms["adjusted"] == {LOT: 5} and books.on_hand(LOT) == {ROLL: 15}


def test_more_laid_than_the_book_says_was_taken_is_an_adjustment_not_less_than_no_waste() -> None:
    books = play(arrive(ROLL, 10), Deed("cut", {ROLL: (-4, None)}, (Flow(ROLL, PART, 5),)))
    assert books.terms["adjusted"] == {LOT: 1} and not any(books.terms["scrapped"].values())
    assert total(books, LOT)[0] == total(books, LOT)[1] == 11


def test_a_roll_counted_before_anything_is_known_of_it_is_its_own_source() -> None:
    books = play(Deed("count", {ROLL: (0, 7)}), lay(ROLL, 2))
    assert books.contents(PART) == {ROLL: 2} and books.terms["adjusted"] == {ROLL: 7}


def test_what_an_act_brings_from_elsewhere_is_part_of_the_whole_but_of_no_lot() -> None:
    books = play(Deed("mix", {TANK: (20, None)}, (Flow(99, TANK, 10), Flow(LOT, TANK, 10))), lay(TANK, 4))
    assert books.contents(PART) == {LOT: 2} and books.contents(TANK) == {LOT: 8}
    assert ELSEWHERE not in books.contents(TANK)


def test_an_emptied_vessel_holds_nothing() -> None:
    assert play(arrive(TANK, 10), lay(TANK, 10)).contents(TANK) == {}


def test_what_is_scrapped_of_a_run_takes_its_share_with_it() -> None:
    """Half of a run is scrapped, then resin is laid into the rest alone."""
    deeds = [Deed("start", {PART: (90, None)}), arrive(ROLL, 100), lay(ROLL, 18), Deed("scrap", {PART: (-45, None)}), lay(ROLL, 9)]
    books = play(*deeds, Deed("cut", {PART: (-1, None), PIECE: (1, None)}, (Flow(PART, PIECE, 1, 1),)))
    assert books.contents(PIECE) == {LOT: Fraction(18, 45)}
    assert books.contents(PART) == {LOT: 27 - Fraction(18, 45)}


def test_taking_a_part_off_a_boat_makes_no_second_piece_of_it() -> None:
    boat = Flow(PART, 9, 1, kind="join", until_us=5)
    deeds = [Deed("start", {PART: (1, None)}), arrive(ROLL, 10), lay(ROLL, 6), Deed("join", {PART: (-1, None)}, (boat,))]
    books = play(*deeds, Deed("unjoin", {PART: (1, None)}), Deed("cut", {PART: (-1, None)}, (Flow(PART, PIECE, 1, 1),)))
    assert books.contents(PIECE) == {LOT: 6}


def test_a_piece_of_a_part_whose_size_nobody_gave_holds_nothing_that_is_known() -> None:
    books = play(arrive(ROLL, 10), lay(ROLL, 6), Deed("cut", {}, (Flow(PART, PIECE, 1, 1),)))
    assert books.contents(PIECE) == {} and books.contents(PART) == {LOT: 6}


def test_shares_are_among_lots_of_one_material() -> None:
    parcel = {1: Fraction(3), 2: Fraction(1), 3: Fraction(50), 4: Fraction(0)}
    assert share_of(parcel, {1: 10, 2: 10, 3: 20, 4: 30}) == {1: Fraction(3, 4), 2: Fraction(1, 4), 3: 1, 4: 0}
