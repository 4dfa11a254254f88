"""Mixes of calls learned from the user's own contest log.

`contest_log` reads a log, `exchange_kinds` finds out what was exchanged, `learn` makes a mix, `mix`
draws calls from it, `call_filter` keeps the logged calls from being drawn, `storage` keeps mixes in
files.
"""
