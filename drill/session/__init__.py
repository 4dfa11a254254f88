"""Copying sessions: their kinds, and how a session is set up, run, recorded and described.

Read in this order:

- kinds: one class for each kind of session (start with kinds.base), and their registry
- options, changes: what the user can choose, and the plan that results
- session: a running session, which terminal and page drive
- recorded, blocks: sessions and measurement blocks read back from the record
- attempts, results, wording: from answers to figures to sentences
- machine, machine_wording: the same items copied by a recogniser, for comparison
- catalogue, settings: the choices that forms offer, and the values that they remember
"""
