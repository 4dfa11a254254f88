"""The API's functions, one module per address: /api/history is answered by `history`.

The exceptions: /api/speak is answered by `sending`, with `reviews` for its JSON; `states` and
`results` give the JSON of sessions.
"""
