"""Word banks: recordings of single words by one speaker, who becomes an operator.

Read in this order: words (which words a bank has), signal_levels and cut (from a recording to a
word), faults (what is wrong with a recording), background (how noisy the room is), storage (banks
on disk), recording_files (a folder of recordings from elsewhere), engine (speech from a bank),
bank_operators (operators of the banks on this computer, and which words they lack).
"""

BANK_ENGINE = "bank"
"""Name of the speech engine that speaks from word banks."""
