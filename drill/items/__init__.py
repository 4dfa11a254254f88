"""Items: what a trainee hears and copies.

Read `plan` (choices to items), then `render` (items to audio), then `prefetch` (speech synthesised
ahead by another process).
"""
