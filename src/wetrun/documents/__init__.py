"""The files people write: a season in TOML, a maker's rows in CSV; read whole, or refused with everything wrong."""
