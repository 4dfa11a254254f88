"""Word banks: recordings of single words by one speaker, who becomes an operator.

Read in this order: words (the words of a bank), signal_levels and cut (from a recording to a word),
faults (faults of a recording), background (noise of the room), storage (banks on disk),
recording_files (a folder of recordings from elsewhere), engine (speech from a bank), bank_operators
(operators of the banks on this computer, and their missing words).
"""

BANK_ENGINE = "bank"
"""Name of the speech engine that uses word banks."""
