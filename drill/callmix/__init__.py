"""Mixes of calls learned from the user's own contest log.

`contest_log` reads a log, `exchange_kinds` identifies the fields that were exchanged, `learn` makes
a mix, `mix` draws calls from it, `call_filter` prevents logged calls from being drawn, `storage`
saves mixes in files, and `from_log` joins all this for terminal and page.
"""
