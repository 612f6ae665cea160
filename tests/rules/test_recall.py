"""A recall adds up: what is on the list is found, missing, or still to look for."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from kegsafe.rules.recall import Outcome, Piece, Reach, progress, standard_tasks

BEGAN = datetime(2026, 4, 7, 9, 0, tzinfo=UTC)


def a_piece(name="K1", *, amount="18000", measure="ml", **said) -> Piece:
    return Piece(
        name=name,
        measure=measure,
        amount=Decimal(amount),
        reach=said.pop("reach", Reach.IN_KEG),
        outcome=said.pop("outcome", Outcome.WAITING),
        **said,
    )


def settled(name, minutes, *, found=None, **more) -> Piece:
    return a_piece(
        name,
        outcome=Outcome.NOT_FOUND if found is None else Outcome.FOUND,
        found=Decimal(found or 0),
        settled_at=BEGAN + timedelta(minutes=minutes),
        **more,
    )


def test_while_a_piece_waits_no_time_is_named():
    said = progress([settled("K1", 12, found="18000"), a_piece("K2")], BEGAN)
    assert (said.took, said.waiting, said.is_settled) == (None, ("K2",), False)


def test_it_took_until_the_last_piece_was_settled_found_or_not():
    said = progress([settled("K1", 12, found="18000"), settled("K2", 47)], BEGAN)
    assert said.took == timedelta(minutes=47)
    assert said.not_found == ("K2",)


def test_what_was_gone_before_is_not_looked_for():
    gone = a_piece("K3", reach=Reach.SERVED, outcome=Outcome.GONE)
    said = progress([settled("K1", 5, found="17000"), gone], BEGAN)
    assert said.is_settled
    assert said.balances["ml"].gone == 18000
    assert said.balances["ml"].looked_for == 18000
    assert said.balances["ml"].short == 1000


def test_litres_and_kilograms_are_never_added():
    said = progress([a_piece(), a_piece("sugar", amount="900", measure="g")], BEGAN)
    assert {measure: each.waiting for measure, each in said.balances.items()} == {
        "ml": 18000,
        "g": 900,
    }


def test_nothing_affected_is_settled_at_once():
    said = progress([], BEGAN)
    assert (said.took, said.is_settled, dict(said.balances)) == (timedelta(0), True, {})


AMOUNTS = st.decimals(min_value=0, max_value=10**8, places=3)


@st.composite
def pieces(draw):
    amount = draw(AMOUNTS)
    outcome = draw(st.sampled_from(Outcome))
    found = None
    if outcome is Outcome.FOUND:
        found = draw(st.decimals(min_value=0, max_value=amount, places=3))
    return Piece(
        name="piece",
        measure=draw(st.sampled_from(["ml", "g", "each"])),
        amount=amount,
        reach=Reach.IN_STOCK,
        outcome=outcome,
        found=found,
        settled_at=None if outcome in (Outcome.WAITING, Outcome.GONE) else BEGAN,
    )


@given(st.lists(pieces(), max_size=12))
def test_every_amount_on_the_list_is_accounted_for(listed):
    said = progress(listed, BEGAN)
    for measure, balance in said.balances.items():
        assert balance.looked_for == balance.found + balance.short + balance.waiting
        assert balance.looked_for + balance.gone == sum(
            piece.amount for piece in listed if piece.measure == measure
        )
        assert min(balance.found, balance.short, balance.waiting, balance.gone) >= 0


def test_a_drill_tells_nobody_outside():
    in_drill = {task.key for task in standard_tasks() if task.in_drill}
    assert in_drill == {"look_for_each", "count_off", "close_out"}


def test_telling_the_authority_stands_on_the_european_regulation():
    """Regulation (EC) No 178/2002, Art. 19: withdraw, tell the authority. [second-hand]"""
    task = next(task for task in standard_tasks() if task.key == "tell_authority")
    assert "178/2002" in task.source
    assert task.section.startswith("Art. 19")
    assert "believed unsafe and has left your hands" in task.what
