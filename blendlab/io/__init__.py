"""Files in and out: text, tables, TOML, pictures and photos."""
