"""Items: what a trainee hears and copies.

Read `plan` (from choices to items), then `render` (from items to audio), then `prefetch` (another
process synthesises speech in advance), then `machine_copy` (a recogniser's answer to an item).
"""
