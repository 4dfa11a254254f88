"""The report on the trainee's whole record.

Read in this order: `figures` (the numbers, from the record), `confusion` (the confusion matrix),
`comparisons` (sessions that compare alternatives), `headlines` (the first sentences), `pictures`
(what the page draws, as data), `charts` (matplotlib, for the files), `wording` and `sections`
(headings, sentences, tables, pictures and charts) and `files` (the HTML page with PNG, CSV and JSON
files). `lately` is the part of it that the start page shows.
"""
