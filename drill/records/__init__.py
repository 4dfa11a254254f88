"""What is kept of practice: one SQLite file in the user's data folder."""
