"""The report on the trainee's whole record.

Read in this order: `figures` (the numbers, from the record), `confusion` (the confusion matrix),
`comparisons` (sessions that compare alternatives), `charts` (matplotlib), `wording` and `sections`
(headings, sentences, tables and charts) and `files` (the HTML page with PNG, CSV and JSON files).
"""
