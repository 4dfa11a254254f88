"""The record of sessions and attempts, and its export and import.

Read `database` (the SQLite file), `sessions` and `user_data` (its tables), `store` (all of them),
then `rows` (attempts as rows), `schema`, `writing` and `reading` (attempts as files).
"""
