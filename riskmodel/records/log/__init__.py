"""A workshop's log: machines, parts, samples, jobs and decisions in one file, kept for years.

| module | what lives there |
| --- | --- |
| `log`, `rows` | `Log`: open, add, undo, state, history, backup; `restore`; `New` for batches |
| `entries` | the frozen dataclass of each kind of entry (`oil_entries`, `job_entries`, `payload`) |
| `state` | what a log says at present: `LogState`, `MachineState` and what they hold |
| `bridge` | `import_case`, `export_case`, what changed between two cases, cases of decisions |
| `lives` | parts that came out or are in, as life records without names |
| `many` | all machines as cases to be weighed, the records of a group put together once |
| `decided` | past decisions and what became of their parts |
| `laboratory`, `laboratory_guess`, `lab_entries` | a laboratory's table of many machines' samples |
| `place` | where a person's log lies where nothing else was said |
| `waiting` | samples and how far they have come, overdue ones first |
| `folder`, `sheets` | the whole log as a folder of text files, and back |
| `errors` | what can stand in the way |
| `fold`, `book`, `rules`, `assemble` | entries to state, and what a new entry must agree with |
| `file`, `schema`, `copies`, `faults`, `json_text` | the file itself |

Statistics know nothing of a log: they get the case that `export_case` makes.
"""
