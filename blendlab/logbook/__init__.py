"""What was pressed, from what stock, and how it came out."""
