"""The characters and words that a trainee misses, and items to practise them.

`statistics` estimates from recorded answers how many dB each character, word and kind of word
costs. `choose` uses these costs to choose the items of a training session.
"""
