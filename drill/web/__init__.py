"""The page in the browser: a web server for this computer only, with its API, pages and scripts.

Read in this order: `server` starts the server, `app` builds the application, `security` decides
which requests are allowed, `routes` maps each API address to a function, `api/` holds those
functions (one module per address), `pages` serves templates and scripts.
"""
