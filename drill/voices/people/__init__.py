"""The operators: synthetic persons, defined by data files.

Read in this order: roster (the operators), accent_groups (the accents for the calls of a country),
habits (how an operator words an over), ways (how it pronounces single words), styles (how its voice
sounds: plain, tired, shouting ...). drill.voices.operators finds operators by name and draws one
for a call.
"""
