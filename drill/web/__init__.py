"""The page in the browser: a web server for this machine alone, its API, pages and scripts.

Read in this order: `server` starts the program, `app` builds the application, `security` decides
which requests pass, `routes` maps each API address to a function, `api/` holds those functions (one
module per address), `pages` serves templates and scripts.
"""
