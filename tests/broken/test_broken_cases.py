"""Broken cases, one by one, each with the exact message that it gets.

Every case is the one valid case below with something edited. A message names the file, the
line and key or column, what was found there and what was expected; the problems of all the
files of a case are told together.
"""

from __future__ import annotations

import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files, case_to_files

VALID = {
    "case.toml": """\
format = 1
[machine]
name = "Van"
unit = "km"
reading = 120000
date = "2026-05-01"
usage_per_year = 10000
[part]
fitted_at = 0
entered_at = 40000
[life]
records = "records.csv"
[use]
kinds = [{ name = "towing", harshness = [0.8, 2] }, { name = "town" }]
stretches = [
  { until = 40000, unknown = true },
  { until = 110000, shares = { towing = 0.2 } },
]
[oil]
samples = "oil.csv"
interval = 8000
next_change_in = 3000
[[oil.element]]
symbol = "Pb"
typical = [0.5, 2]
from_part = true
[[oil.element]]
symbol = "Fe"
typical = [1, 5]
from_part = false
[cost]
planned = [1800, 2600]
failure = 9000
[plan]
keep_years = 5
""",
    "records.csv": """\
age,outcome,age_from,entered_at,count,cause,why,fuel
90000,failed,,,1,wear,,petrol
150000,running,,20000,3,,,diesel
110000,removed_worn,,,,,scheduled,petrol
140000,failed,135000,,,,,diesel
""",
    "oil.csv": """\
reading,oil_age,date,lab,Pb,Fe
100000,8000,2024-05-01,north,4,20
108000,8000,2025-03-01,north,<1,22
""",
}

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

# Files that hold something else altogether: a title; the file and its bytes (None: it is not
# there); the message.
REPLACED: dict[str, tuple[dict[str, bytes | None], tuple[str, ...]]] = {
    "5000 digits": (
        {
            "case.toml": VALID["case.toml"]
            .replace("failure = 9000", "failure = " + "9" * 5000)
            .encode()
        },
        ("case.toml, line 33: found thousands of digits; expected a number of ordinary size",),
    ),
    "400 digits": (
        {
            "case.toml": VALID["case.toml"]
            .replace("failure = 9000", "failure = " + "9" * 400)
            .encode()
        },
        (
            "case.toml, line 33, cost.failure: found a whole number of about 400 digits; expected a number of 0 or more, or a range [low, high], not larger than 1000000000000",  # noqa: E501
        ),
    ),
    "thousands point in a semicolon file": (
        {"records.csv": b"age;outcome\n120.000;failed\n"},
        (
            'records.csv, line 2, column age: found "120.000"; expected a number that cannot be read in two ways: 120000 or 120.0',  # noqa: E501
        ),
    ),
    "decimal comma in a semicolon file": (
        {"records.csv": b"age;outcome\n12,5;failed\n"},
        (
            'records.csv, line 2, column age: found "12,5"; expected a number with a decimal point: 12.5',  # noqa: E501
        ),
    ),
    "empty file": (
        {"records.csv": b""},
        ("records.csv: found an empty file; expected a file with contents",),
    ),
    "blank file": (
        {"records.csv": b"\n \n"},
        ("records.csv: found an empty file; expected a file with contents",),
    ),
    "separators only": (
        {"records.csv": b",,,\n,,,\n"},
        ("records.csv: found separators only; expected a header and rows below it",),
    ),
    "header only": (
        {"records.csv": b"age,outcome\n"},
        ("records.csv: found a header and nothing below it; expected at least one row",),
    ),
    "bytes that are not UTF-8": (
        {
            "records.csv": VALID["records.csv"]
            .replace("petrol\n150000", "pétrol\n150000")
            .encode("latin-1")
        },
        ("records.csv, line 2: found the byte 0xe9, which is not UTF-8; expected text in UTF-8",),
    ),
    "UTF-16": (
        {"records.csv": VALID["records.csv"].encode("utf-16")},
        ("records.csv: found text in UTF-16; expected text in UTF-8",),
    ),
    "NUL byte": (
        {"records.csv": VALID["records.csv"].replace("140000", "14\x00000").encode()},
        ("records.csv, line 5: found a NUL byte; expected text in UTF-8",),
    ),
    "missing file": (
        {"records.csv": None},
        ("records.csv: found no such file; expected a file beside case.toml",),
    ),
    "missing tables, one nearly named": (
        {
            "case.toml": VALID["case.toml"].replace('"oil.csv"', '"oli.csv"').encode(),
            "records.csv": None,
        },
        (
            "records.csv: found no such file; expected a file beside case.toml",
            "oli.csv: found no such file; expected a file beside case.toml (did you mean oil.csv?)",
        ),
    ),
    "no case": (
        {"case.toml": None},
        ("case: found no case.toml; expected the folder of a case, with case.toml",),
    ),
    "empty case": (
        {"case.toml": b""},
        ("case.toml: found an empty file; expected a file with contents",),
    ),
}


def parsed(table: str) -> dict[str, tuple[dict[str, str], tuple[str, ...]]]:
    """Title -> the files with their edits, and the message."""
    cases: dict[str, tuple[dict[str, str], tuple[str, ...]]] = {}
    for block in table.strip().removeprefix("# ").split("\n# "):
        title, *lines = block.splitlines()
        files = dict(VALID)
        for line in lines:
            if not line.startswith("    "):
                file, edit = line.split(": ", 1)
                old, new = edit.replace("\\n", "\n").replace("\\\n", "\\n").split(" -->")
                assert old in files[file], f"{title}: {old!r} is not in {file}"
                files[file] = files[file].replace(old, new.removeprefix(" "), 1)
        assert title not in cases, title
        cases[title] = files, tuple(line[4:] for line in lines if line.startswith("    "))
    return cases


EDITED = parsed(BROKEN)


def refusal(files: dict[str, bytes]) -> tuple[str, ...]:
    with pytest.raises(InputError) as refused:
        case_from_files(files)
    return tuple(str(refused.value).split("\n"))


@pytest.mark.parametrize("title", EDITED)
def test_edited(title: str) -> None:
    files, message = EDITED[title]
    assert refusal({name: text.encode() for name, text in files.items()}) == message


@pytest.mark.parametrize("title", REPLACED)
def test_replaced(title: str) -> None:
    new, message = REPLACED[title]
    files = {name: text.encode() for name, text in VALID.items()} | new
    assert refusal({name: data for name, data in files.items() if data is not None}) == message


def test_every_message_is_complete() -> None:
    messages = [line for _, says in [*EDITED.values(), *REPLACED.values()] for line in says]
    for line in messages:
        assert ": found " in line
        assert "; expected " in line
    assert len(EDITED) + len(REPLACED) > 140


def test_the_case_they_start_from_is_valid() -> None:
    case = case_from_files({name: text.encode() for name, text in VALID.items()})
    assert case_from_files(case_to_files(case)) == case
