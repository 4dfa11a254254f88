"""What the record tells: numbers, charts, and one page of both."""
