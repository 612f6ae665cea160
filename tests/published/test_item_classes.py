"""Which class of item a clause of the FDA Food Code is, and how soon it is put right.

Sources: 2VAC5-585-3930, Virginia's adoption of 8-405.11 (classes and days); 2VAC5-585-840, of
3-501.18 (P printed behind each ground for discarding); Delaware's annotated list of 2011
(2-103.11 Pf, 3-201.11 P); a violation index of a US health department of 2017 (3-501.16(A)(2) P).
[read]
"""

import pytest

from kegsafe.rules.readiness_clauses import Weight, clause_of

AT_ONCE = "within 72 hours at the latest"
SOON = "within 10 days at the latest"


@pytest.mark.parametrize(
    ("rule", "section", "weight", "days"),
    [
        ("drinks.past_date", "3-501.18(A)(1)", Weight.STOP, AT_ONCE),
        ("drinks.without_date", "3-501.18(A)(2)", Weight.STOP, AT_ONCE),
        ("cold.excursion_open", "3-501.16(A)(2)", Weight.STOP, AT_ONCE),
        ("stock.lot_without_source", "3-201.11", Weight.STOP, AT_ONCE),
        ("cold.days_without_reading", "2-103.11", Weight.WRITE_UP, SOON),
        ("cleaning.corrective_open", "8-405.11(A)", Weight.WRITE_UP, SOON),
    ],
)
def test_a_gap_weighs_what_the_code_prints_behind_its_clause(rule, section, weight, days):
    clause = clause_of(rule, "us_fda_2022")
    assert clause.section.startswith(section)
    assert clause.weight is weight
    assert days in clause.weight_source
    assert "8-405.11 (2VAC5-585-3930)" in clause.weight_source
