"""Contacts: the trainee calls a station that hears only part of it, corrects, copies and logs.

The package simulates one frequency with a far operator, other callers and the trainee. It knows no
screen and no wall clock: time is counted in samples of the receiver's audio, and everything follows
from the seed and the trainee's acts with their sample times.

Read in this order: `values` (the parameters), `hearing` (the words that ears return), `evidence`
and `understanding` (from heard words to the characters of a call), `far_operator` (the state
machine), `stations` and `callers` (the stations on the frequency), `air` (speech and channel),
`model_ears` and `machine_ears`, `frequency` (the event loop that joins them), `live` (one contact
as a screen drives it), `comparison` and `debrief` (the end of a contact), `sessions` (record and
figures), `scripted_operator` (an operator that plays by the rules).
"""
