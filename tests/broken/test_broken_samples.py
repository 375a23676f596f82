"""Broken oil samples, fault by fault, each with the exact message that it gets; last, faults in
every file of a case, told together.
"""

from __future__ import annotations

import pytest

from tests.broken.made import parsed, refusal

# A title; what is edited (in which file, what --> what instead); the message, line by line.
BROKEN = r"""
# sample column for undeclared
oil.csv: lab,Pb --> lab,Cu
    oil.csv, line 1: found the column "Cu"; expected an element that case.toml declares (Pb, Fe), or an [[oil.element]] there with symbol = "Cu"
# sample header with unit
oil.csv: Pb,Fe --> Pb (ppm),Fe
    oil.csv, line 1: found the column "Pb (ppm)"; expected an element that case.toml declares (did you mean Pb?)
# sample column slip
oil.csv: oil_age --> oilage
    oil.csv, line 1: found the column "oilage"; expected the column oil_age, if that is meant
# both reading and age
oil.csv: lab --> age
    oil.csv, line 1: found both reading and age; expected one of the two
    oil.csv, line 2, column age: found "north"; expected a number of 0 or more
    oil.csv, line 3, column age: found "north"; expected a number of 0 or more
# no oil_age
oil.csv: oil_age --> top_up
    oil.csv, line 1: found no column oil_age, but reading, top_up, date, lab, Pb, Fe; expected a column oil_age
# no reading
oil.csv: reading --> top_up
    oil.csv, line 1: found no column reading or age, but top_up, oil_age, date, lab, Pb, Fe; expected a column reading (meter) or age
# no element
oil.csv: ,Pb,Fe -->
oil.csv: ,4,20 -->
oil.csv: ,<1,22 -->
    oil.csv, line 1: found no element, but reading, oil_age, date, lab; expected a column for at least one element
# samples backwards
oil.csv: 108000,8000 --> 98000,8000
    oil.csv, line 3, column reading: found 98000 after 100000 on line 2; expected the oldest sample first
# dates backwards
oil.csv: 2025-03-01 --> 2023-03-01
    oil.csv, line 3, column date: found 2023-03-01 after 2024-05-01 on line 2; expected dates that do not run backwards
# sample date after today
oil.csv: 2025-03-01 --> 2026-06-01
    oil.csv, line 3, column date: found 2026-06-01; expected a day not after machine.date, 2026-05-01
# sample beyond meter
oil.csv: 108000,8000 --> 121000,8000
    oil.csv, line 3, column reading: found 121000; expected not more than machine.reading, 120000
# sample before part
case.toml: fitted_at = 0\nentered_at = 40000 --> fitted_at = 105000\nentered_at = 0
case.toml: until = 40000 --> until = 106000
    oil.csv, line 2, column reading: found 100000; expected a sample of this part, fitted at 105000 (part.fitted_at)
    oil.csv, line 3, column oil_age: found 8000; expected not more than the part's age at the sample, 3000
# oil older than part
case.toml: fitted_at = 0\nentered_at = 40000 --> fitted_at = 95000\nentered_at = 0
case.toml: until = 40000 --> until = 96000
    oil.csv, line 2, column oil_age: found 8000; expected not more than the part's age at the sample, 5000
# zero oil age
oil.csv: 108000,8000 --> 108000,0
    oil.csv, line 3, column oil_age: found "0"; expected a number above 0
# less than nothing
oil.csv: <1 --> <0
    oil.csv, line 3, column Pb: found "<0"; expected a number above 0
# more than a reading
oil.csv: <1 --> >1
    oil.csv, line 3, column Pb: found ">1"; expected a number of 0 or more
# negative ppm
oil.csv: <1 --> -1
    oil.csv, line 3, column Pb: found "-1"; expected a number of 0 or more
# nothing measured
oil.csv: <1,22 --> ,
    oil.csv, line 3, column Pb: found no element measured; expected at least one in each sample
# formula as laboratory
oil.csv: 8000,2025-03-01,north --> 8000,2025-03-01,@north
    oil.csv, line 3, column lab: found "@north"; expected a text that does not begin with =, +, - or @ (a spreadsheet takes it as a formula)
# bad date
oil.csv: 2025-03-01 --> March 2025
    oil.csv, line 3, column date: found "March 2025"; expected a date written year-month-day, such as 2026-05-01
# several files at once
case.toml: failure = 9000 --> failure = -1
records.csv: 90000,failed --> x,failed
records.csv: 3,,,diesel --> 0,,,diesel
oil.csv: <1 --> <-1
    case.toml, line 33, cost.failure: found -1; expected a number of 0 or more, or a range [low, high]
    records.csv, line 2, column age: found "x"; expected a number above 0
    records.csv, line 3, column count: found "0"; expected a number of 1 or more
    oil.csv, line 3, column Pb: found "<-1"; expected a number above 0
"""  # noqa: E501 (messages stand as they are printed)


EDITED = parsed(BROKEN)


@pytest.mark.parametrize("title", EDITED)
def test_edited(title: str) -> None:
    files, message = EDITED[title]
    assert refusal({name: text.encode() for name, text in files.items()}) == message
