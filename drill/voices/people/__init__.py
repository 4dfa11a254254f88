"""The operators: data about synthetic persons, and what follows from the data.

Read in this order: roster (the operators), accent_groups (which accent speaks a call), habits (how
an operator words an over), ways (how it says single words), styles (how its voice sounds: plain,
tired, shouting ...). drill.voices.operators finds operators by name and draws one for a call.
"""
