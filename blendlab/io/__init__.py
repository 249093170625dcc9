"""Text, tables, pictures and files, in and out."""
