"""Broken life records, fault by fault, each with the exact message that it gets."""

from __future__ import annotations

import pytest

from tests.broken.made import parsed, refusal

# A title; what is edited (in which file, what --> what instead); the message, line by line.
BROKEN = r"""
# wrong column
records.csv: age,outcome --> age,outcom
    records.csv, line 1: found the column "outcom"; expected the column outcome, if that is meant (another name otherwise)
# missing column
records.csv: age,outcome --> age,result
    records.csv, line 1: found no column outcome, but age, result, age_from, entered_at, count, cause, why, fuel; expected a column outcome
# unit in header
records.csv: age,outcome --> age_km,outcome
    records.csv, line 1: found the column "age_km"; expected the column age; its unit stands in the case
# duplicate column
records.csv: fuel --> Age
    records.csv, line 1: found the column "age" 2 times; expected each column once
# nameless column
records.csv: fuel -->
    records.csv, line 1, column 8: found a column without a name; expected a name for each
# illegal covariate name
records.csv: fuel --> fuel type
    records.csv, line 1: found the column "fuel type"; expected a name of at most 30 letters, digits and _ that begins with a letter, such as fuel_type
# text in a number
records.csv: 90000,failed --> about 90000,failed
    records.csv, line 2, column age: found "about 90000"; expected a number above 0
# negative age
records.csv: 90000,failed --> -90000,failed
    records.csv, line 2, column age: found "-90000"; expected a number above 0
# age 0
records.csv: 90000,failed --> 0,failed
    records.csv, line 2, column age: found "0"; expected a number above 0
# empty age
records.csv: 90000,failed --> ,failed
    records.csv, line 2, column age: found an empty cell; expected a number above 0
# unit in cell
records.csv: 90000,failed --> 90000 km,failed
    records.csv, line 2, column age: found "90000 km"; expected the number alone, without a unit: 90000
# NaN in a cell
records.csv: 90000,failed --> NaN,failed
    records.csv, line 2, column age: found "NaN"; expected a finite number
# 1e400 in a cell
records.csv: 90000,failed --> 1e400,failed
    records.csv, line 2, column age: found "1e400"; expected a number of ordinary size
# infinity in a cell
records.csv: 90000,failed --> inf,failed
    records.csv, line 2, column age: found "inf"; expected a finite number
# quoted decimal comma
records.csv: 90000,failed --> "90000,5",failed
    records.csv, line 2, column age: found "90000,5"; expected a number with a decimal point: 90000.5
# unquoted decimal comma
records.csv: 90000,failed --> 90000,5,failed
    records.csv, line 2: found 9 cells; expected 8 cells, as in the header (a decimal point is written 12.5, not 12,5)
# thousands
records.csv: 90000,failed --> "90,000",failed
    records.csv, line 2, column age: found "90,000"; expected a number with a decimal point and no separators: 90000 or 90.000
# thousands with blanks
records.csv: 90000,failed --> 1 090 000,failed
    records.csv, line 2, column age: found "1 090 000"; expected a number without separators between its digits, such as 1234567
# unknown outcome
records.csv: 90000,failed --> 90000,faild
    records.csv, line 2, column outcome: found "faild"; expected one of failed, running, removed, removed_worn or removed_unworn (did you mean failed?)
# outcome in capitals
records.csv: 90000,failed --> 90000,Failed
    records.csv, line 2, column outcome: found "Failed"; expected one of failed, running, removed, removed_worn or removed_unworn (did you mean failed?)
# empty outcome
records.csv: 90000,failed --> 90000,
    records.csv, line 2, column outcome: found an empty cell; expected one of failed, running, removed, removed_worn or removed_unworn
# entered after failure
records.csv: 150000,running,,20000 --> 150000,running,,160000
    records.csv, line 3, column entered_at: found 160000, with age 150000; expected less than the age
# entered after age_from
records.csv: 140000,failed,135000, --> 140000,failed,135000,136000
    records.csv, line 5, column entered_at: found 136000, with age_from 135000; expected not more than age_from
# age_from after age
records.csv: 140000,failed,135000, --> 140000,failed,145000,
    records.csv, line 5, column age_from: found 145000, with age 140000; expected less than the age
# age_from running
records.csv: 150000,running,, --> 150000,running,100000,
    records.csv, line 3, column age_from: found "100000", with outcome running; expected an empty cell: only a failure has it
# cause of running
records.csv: 20000,3,,,diesel --> 20000,3,wear,,diesel
    records.csv, line 3, column cause: found "wear", with outcome running; expected an empty cell: only a failure has it
# why of failure
records.csv: 1,wear,,petrol --> 1,wear,scheduled,petrol
    records.csv, line 2, column why: found "scheduled", with outcome failed; expected an empty cell: only a removal has it
# unknown cause
records.csv: 1,wear,,petrol --> 1,were,,petrol
    records.csv, line 2, column cause: found "were"; expected one of wear, other or unknown (did you mean wear?)
# half count
records.csv: 20000,3, --> 20000,2.5,
    records.csv, line 3, column count: found 2.5; expected a whole number from 1 to 1000000000
# zero count
records.csv: 20000,3, --> 20000,0,
    records.csv, line 3, column count: found "0"; expected a number of 1 or more
# too few cells
records.csv: 1,wear,,petrol --> 1,wear,petrol
    records.csv, line 2: found 7 cells; expected 8 cells, as in the header
# too many cells
records.csv: 1,wear,,petrol --> 1,wear,,petrol,5
    records.csv, line 2: found 9 cells; expected 8 cells, as in the header (a decimal point is written 12.5, not 12,5)
# mixed covariate
records.csv: 1,wear,,petrol --> 1,wear,,95
    records.csv, line 2, column fuel: found numbers (line 2) among words; expected only numbers or only words in a column
# missing covariate
records.csv: 1,wear,,petrol --> 1,wear,,
    records.csv, line 2, column fuel: found an empty cell; expected a number or a word (unknown is a word)
# covariate spelling
records.csv: 1,wear,,petrol --> 1,wear,,Petrol
    records.csv, line 4, column fuel: found "petrol" beside "Petrol"; expected one spelling for one word
# formula in a cell
records.csv: 1,wear,,petrol --> 1,wear,,=A1
    records.csv, line 2, column fuel: found "=A1"; expected a text that does not begin with =, +, - or @ (a spreadsheet takes it as a formula)
# records without a failure, and no belief
records.csv: failed,,,1,wear --> failed,,,1,other
records.csv: removed_worn --> removed
records.csv: 140000,failed,135000, --> 140000,running,,
    case.toml, line 11, life.b50_prior: found nothing, and records without a failure by wear or a part removed worn; expected a belief about the life by which half fail
# two separators
records.csv: age,outcome,age_from --> age,outcome;age_from
    records.csv, line 1: found commas and semicolons between the columns; expected one of commas, semicolons or tabs only
# unclosed quote
records.csv: 90000,failed --> 90000,"failed
    records.csv, line 2: found a quote that is never closed; expected a closing quote
"""  # noqa: E501 (messages stand as they are printed)


EDITED = parsed(BROKEN)


@pytest.mark.parametrize("title", EDITED)
def test_edited(title: str) -> None:
    files, message = EDITED[title]
    assert refusal({name: text.encode() for name, text in files.items()}) == message
