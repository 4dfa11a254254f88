"""Sessions of copying: what their kinds are, how they are set up, run, recorded and described.

Read in this order:

- kinds: one class for each kind of session (start with kinds.base), and their registry
- options, changes: what the user can ask for, and the plan that follows
- session: a running session, which terminal and page drive
- recorded, blocks: sessions read back from the record, and measurements among them
- attempts, results, wording: from answers to figures to sentences
- catalogue, settings: what forms offer, and what they remember
"""
