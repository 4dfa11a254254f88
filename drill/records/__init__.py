"""The record of sessions and attempts, with its export and import.

Read `database` (the SQLite file), `sessions`, `contacts`, `hunts`, `machine_copies` and
`user_data` (its tables), `store` (the whole record), then `rows` (attempts as rows), `schema`,
`writing` and `reading` (attempts as files).
"""
