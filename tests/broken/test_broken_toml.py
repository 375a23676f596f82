"""Broken `case.toml`, fault by fault, each with the exact message that it gets."""

from __future__ import annotations

import pytest

from tests.broken.made import parsed, refusal

# A title; what is edited (in which file, what --> what instead); the message, line by line.
BROKEN = r"""
# misspelt key
case.toml: planned = --> plannd =
    case.toml, line 32, cost.plannd: found an unknown key; expected a key of [cost] (did you mean planned?)
# unknown key, several
case.toml: [cost] --> [cost]\nurgnt = 5\nkeep_usage = 3
    case.toml, line 32, cost.urgnt: found an unknown key; expected a key of [cost] (did you mean urgent?)
    case.toml, line 33, cost.keep_usage: found an unknown key; expected a key of [cost] (keep_usage belongs to plan.keep_usage)
# unknown section
case.toml: [plan] --> [plans]
    case.toml, line 34, plans: found an unknown section or key; expected a key of case.toml (did you mean plan?)
# key of nothing
case.toml: [plan] --> [plan]\nzzz = 1
    case.toml, line 35, plan.zzz: found an unknown key; expected one of the keys of [plan]: keep_years, keep_usage, new_part_life, sample, after_failure, most_risk, lay_up, other_job, other_job_in, other_job_saves, do_without, booking_weeks
# duplicate key
case.toml: failure = 9000 --> failure = 9000\nfailure = 8000
    case.toml, line 34, column 15: found failure = 8000; expected each key and each table once; it stands further up already
# duplicate section
case.toml: [plan] --> [cost]\nsample = 5\n[plan]
    case.toml, line 34, column 6: found [cost]; expected each key and each table once; it stands further up already
# TOML without an equals sign
case.toml: failure = 9000 --> failure 9000
    case.toml, line 33, column 9: found failure 9000; expected valid TOML (Expected '=' after a key in a key/value pair)
# unclosed string
case.toml: name = "Van" --> name = "Van
    case.toml, line 3, column 12: found name = "Van; expected a closing quote on the same line
# unclosed list at the end
case.toml: keep_years = 5 --> keep_years = [5
    case.toml, its end: found unclosed array; expected valid TOML
# decimal comma in toml
case.toml: keep_years = 5 --> keep_years = 5,5
    case.toml, line 35, column 15: found keep_years = 5,5; expected a number with a decimal point: 5.5
# unit after a number
case.toml: reading = 120000 --> reading = 120000 km
    case.toml, line 5, column 18: found reading = 120000 km; expected the number alone, without a unit: 120000
# thousands comma
case.toml: reading = 120000 --> reading = 120,000
    case.toml, line 5, column 14: found reading = 120,000; expected a number with a decimal point and no separators: 120000 or 120.000
# number in quotes
case.toml: reading = 120000 --> reading = "120000"
    case.toml, line 5, machine.reading: found "120000"; expected a number of 0 or more (km), without quotes: 120000
# number with its unit in quotes
case.toml: reading = 120000 --> reading = "120000 km"
    case.toml, line 5, machine.reading: found "120000 km"; expected the number alone, without a unit: 120000
# text decimal comma
case.toml: keep_years = 5 --> keep_years = "5,5"
    case.toml, line 35, plan.keep_years: found "5,5"; expected a number with a decimal point: 5.5
# NaN
case.toml: reading = 120000 --> reading = nan
    case.toml, line 5, machine.reading: found nan; expected a number of 0 or more (km)
# infinity
case.toml: failure = 9000 --> failure = inf
    case.toml, line 33, cost.failure: found infinity, or a number too large to hold; expected a number of 0 or more, or a range [low, high]
# 1e400
case.toml: failure = 9000 --> failure = 1e400
    case.toml, line 33, cost.failure: found infinity, or a number too large to hold; expected a number of 0 or more, or a range [low, high]
# boolean as number
case.toml: failure = 9000 --> failure = true
    case.toml, line 33, cost.failure: found true; expected a number of 0 or more, or a range [low, high]
# negative
case.toml: failure = 9000 --> failure = -9000
    case.toml, line 33, cost.failure: found -9000; expected a number of 0 or more, or a range [low, high]
# zero usage per year
case.toml: usage_per_year = 10000 --> usage_per_year = 0
    case.toml, line 7, machine.usage_per_year: found 0; expected a number above 0 (km per year)
# range wrong way
case.toml: planned = [1800, 2600] --> planned = [2600, 1800]
    case.toml, line 32, cost.planned: found [2600, 1800]; expected the lower number first
# range of three
case.toml: planned = [1800, 2600] --> planned = [1800, 2200, 2600]
    case.toml, line 32, cost.planned: found [1800, 2200, 2600]; expected two numbers, [low, high]
# range from 0
case.toml: planned = [1800, 2600] --> planned = [0, 2600]
    case.toml, line 32, cost.planned: found [0, 2600]; expected a range that begins above 0 (only an exact value may be 0)
# range with text
case.toml: planned = [1800, 2600] --> planned = [1800, "2.600,50"]
    case.toml, line 32, cost.planned: found "2.600,50"; expected a number without separators between its digits, such as 1234567
# share above 1
case.toml: [oil] --> [oil]\ncarry_over = 10
    case.toml, line 20, oil.carry_over: found 10; expected a number from 0 to 0.95
# share in percent
case.toml: [oil] --> [oil]\nfalse_alarm = "2 %"
    case.toml, line 20, oil.false_alarm: found "2 %"; expected a plain number: a share of 2 % is written 0.02
# share range to 1
case.toml: [use] --> [warning]\nsilent = [0.2, 1]\n[use]
    case.toml, line 14, warning.silent: found [0.2, 1]; expected a range that ends below 1 (only an exact value may be 1)
# wrong unit
case.toml: unit = "km" --> unit = "kilometres"
    case.toml, line 4, machine.unit: found "kilometres"; expected one of "km", "mi" or "h" (did you mean km?)
# unit in capitals
case.toml: unit = "km" --> unit = "KM"
    case.toml, line 4, machine.unit: found "KM"; expected one of "km", "mi" or "h" (did you mean km?)
# missing required
case.toml: planned = [1800, 2600]\n -->
case.toml: usage_per_year = 10000\n -->
case.toml: unit = "km"\n -->
    case.toml, line 2, machine.unit: found nothing; expected a value, as it is required: What the meter counts; every usage in the case is in this unit
    case.toml, line 2, machine.usage_per_year: found nothing; expected a value, as it is required: How much it will be used in a year from now on
    case.toml, line 29, cost.planned: found nothing; expected a value, as it is required: Price of replacing the part as a planned job
# no keep-until
case.toml: keep_years = 5\n -->
    case.toml, line 34, plan.keep_years: found neither keep_years nor keep_usage; expected one of them: how long you will keep the machine
# keep_years against keep_usage
case.toml: keep_years = 5 --> keep_years = 5\nkeep_usage = 40000
    case.toml, line 36, plan.keep_usage: found 40000; expected keep_years times usage_per_year, 50000 (or only one of the two)
# neither records nor belief
case.toml: records = "records.csv"\n -->
    case.toml, line 11, life.records: found neither records nor b50_prior; expected life records, or a belief about the life by which half fail
# other format
case.toml: format = 1 --> format = 2
case.toml: reading --> raeding
    case.toml, line 1, format: found 2; expected 1, the format this version reads
# format that is a flag
case.toml: format = 1 --> format = true
    case.toml, line 1, format: found true; expected 1, the format this version reads
# section that is no table
case.toml: [cost]\nplanned = [1800, 2600]\nfailure = 9000\n -->
case.toml: format = 1 --> format = 1\ncost = 5
    case.toml, line 2, cost: found 5; expected a table, [cost]
# element not in list
case.toml: [[oil.element]]\nsymbol = "Pb"\ntypical = [0.5, 2]\nfrom_part = true\n[[oil.element]] --> [oil.element]
    case.toml, line 23, oil.element: found a table; expected a list of tables, [[oil.element]]
# flag in quotes
case.toml: from_part = true --> from_part = "true"
    case.toml, line 26, oil.element[1].from_part: found "true"; expected true or false, without quotes
# symptom outside a list
case.toml: [part] --> symptoms = "knock"\n[part]
    case.toml, line 8, machine.symptoms: found "knock"; expected a list, such as ["knock"]
# symptom unknown
case.toml: [part] --> symptoms = ["knok", "knock", "knock"]\n[part]
    case.toml, line 8, machine.symptoms: found "knok"; expected one of "knock", "low oil pressure" or "metal in the filter" (did you mean knock?)
# misspelt choice
case.toml: keep_years = 5 --> keep_years = 5\nafter_failure = "repeir"
    case.toml, line 36, plan.after_failure: found "repeir"; expected one of "repair" or "stop" (did you mean repair?)
# date in another form
case.toml: date = "2026-05-01" --> date = "01.05.2026"
    case.toml, line 6, machine.date: found "01.05.2026"; expected a date written year-month-day, such as 2026-05-01
# day that does not exist
case.toml: keep_years = 5 --> keep_years = 5\nlay_up = "2026-02-30"
    case.toml, line 36, plan.lay_up: found "2026-02-30"; expected a day that is in the calendar
# lay-up before today
case.toml: keep_years = 5 --> keep_years = 5\nlay_up = "2026-02-20"
    case.toml, line 36, plan.lay_up: found 2026-02-20; expected a day not before machine.date, 2026-05-01
# blank name
case.toml: name = "Van" --> name = " "
    case.toml, line 3, machine.name: found " "; expected a text that is not blank
# two-line name
case.toml: name = "Van" --> name = "a\\nb"
    case.toml, line 3, machine.name: found "a\nb"; expected a text on one line, without control characters
# number as name
case.toml: name = "Van" --> name = 5
    case.toml, line 3, machine.name: found 5; expected a text in quotes, "like this"
# path that leads upwards
case.toml: "records.csv" --> "../records.csv"
    case.toml, line 12, life.records: found "../records.csv"; expected the plain name of a .csv file beside case.toml, without a path
# absolute path
case.toml: "records.csv" --> "/etc/records.csv"
    case.toml, line 12, life.records: found "/etc/records.csv"; expected the plain name of a .csv file beside case.toml, without a path
# table that is no CSV
case.toml: "records.csv" --> "records.xlsx"
    case.toml, line 12, life.records: found "records.xlsx"; expected the plain name of a .csv file beside case.toml, without a path
# same file twice
case.toml: samples = "oil.csv" --> samples = "records.csv"
    case.toml, line 20, oil.samples: found "records.csv", as life.records; expected a file of its own
# fitted after reading
case.toml: fitted_at = 0 --> fitted_at = 130000
    case.toml, line 9, part.fitted_at: found 130000; expected not more than machine.reading, 120000
# watch begun after today
case.toml: entered_at = 40000 --> entered_at = 130000
    case.toml, line 10, part.entered_at: found 130000; expected not more than the part's age, 120000
# scrap above value
case.toml: [part] --> value = 5000\nscrap = 6000\n[part]
    case.toml, line 9, machine.scrap: found 6000; expected not more than machine.value, 5000
# next change beyond interval
case.toml: next_change_in = 3000 --> next_change_in = 9000
    case.toml, line 22, oil.next_change_in: found 9000; expected not more than the usage between oil changes, 8000 (oil.interval)
# turnaround as long as the interval
case.toml: next_change_in = 3000 --> next_change_in = 3000\nturnaround = 8000
    case.toml, line 23, oil.turnaround: found 8000; expected less than the usage between oil changes, 8000 (oil.interval)
# too many services
case.toml: interval = 8000 --> interval = 80
case.toml: next_change_in = 3000\n -->
    case.toml, line 21, oil.interval: found 625 services before you give the machine up; expected at most 400: a longer interval or a shorter time
# element twice, whatever its case
case.toml: symbol = "Fe" --> symbol = "PB"
    case.toml, line 28, oil.element[2].symbol: found "PB" once more; expected each once
    oil.csv, line 1: found the column "Fe"; expected an element that case.toml declares (Pb, PB), or an [[oil.element]] there with symbol = "Fe"
# element symbol illegal
case.toml: symbol = "Fe" --> symbol = "age"
    case.toml, line 28, oil.element[2].symbol: found "age"; expected a chemical symbol or short word, such as Fe
    oil.csv, line 1: found the column "Fe"; expected an element that case.toml declares (Pb, age), or an [[oil.element]] there with symbol = "Fe"
# rise of one
case.toml: symbol = "Fe" --> symbol = "Fe"\nrise = 1
    case.toml, line 29, oil.element[2].rise: found 1; expected a number above 1, at most 1000, or a range [low, high]
# sample without element
case.toml: from_part = true --> from_part = false
case.toml: keep_years = 5 --> keep_years = 5\nsample = true
    case.toml, line 36, plan.sample: found true, without an element from the part; expected an [[oil.element]] with from_part = true, or false
# kind of use twice
case.toml: name = "town" --> name = "towing"
    case.toml, line 14, use.kinds[2].name: found "towing" once more; expected each once
# unknown kind
case.toml: { towing = 0.2 } --> { tow = 0.2 }
    case.toml, line 17, use.stretches[2].shares: found the unknown kind of use "tow"; expected one of towing or town (did you mean town?)
# shares above 1
case.toml: { towing = 0.2 } --> { towing = 0.7, town = 0.6 }
    case.toml, line 17, use.stretches[2].shares: found shares that add up to 1.3; expected at most 1; the rest is ordinary use
# share negative
case.toml: { towing = 0.2 } --> { towing = -0.2 }
    case.toml, line 17, use.stretches[2].shares: found towing = -0.2; expected a share from 0 to 1
# stretches that run backwards
case.toml: until = 110000 --> until = 30000
    case.toml, line 17, use.stretches[2].until: found 30000; expected more than 40000, where the stretch before ends (the oldest stretch first)
# stretch beyond the meter
case.toml: until = 110000 --> until = 130000
    case.toml, line 17, use.stretches[2].until: found 130000; expected not more than machine.reading, 120000
# stretch neither known nor unknown
case.toml: until = 110000, shares = { towing = 0.2 } --> until = 110000
    case.toml, line 17, use.stretches[2]: found neither shares nor unknown; expected shares = { ... }, or unknown = true
# unknown key in row
case.toml: { name = "town" } --> { name = "town", harshnes = 2 }
    case.toml, line 14, use.kinds[2].harshnes: found an unknown key; expected a key of [use.kinds] (did you mean harshness?)
# unknown trait
case.toml: [life] --> traits = { feul = "petrol" }\n[life]
    case.toml, line 11, part.traits.feul: found an unknown trait; expected a covariate of the records: fuel (did you mean fuel?)
# trait level
case.toml: [life] --> traits = { fuel = "petrl" }\n[life]
    case.toml, line 11, part.traits.fuel: found "petrl"; expected one of diesel or petrol, as in the records (did you mean petrol?)
# in_records without records
case.toml: [life]\nrecords = "records.csv" --> in_records = true\n[life]\nb50_prior = [1e5, 3e5]
    case.toml, line 11, part.in_records: found true without life.records; expected the records, or false
"""  # noqa: E501 (messages stand as they are printed)


EDITED = parsed(BROKEN)


@pytest.mark.parametrize("title", EDITED)
def test_edited(title: str) -> None:
    files, message = EDITED[title]
    assert refusal({name: text.encode() for name, text in files.items()}) == message
