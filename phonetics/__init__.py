"""What stations say, as text: call signs, exchanges, overs, and the words that spell them.

Read in this order: `message` (the data), `alphabets` and `numerals` (characters and numbers as
words), `series`, `callsigns` and `callsign_mixes` (fictional calls), `field_kinds` and `exchanges`
(what is exchanged), `over_style` and `phrases` (whole overs). Standard library only; no sound.
"""
