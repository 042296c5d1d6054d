"""SQLite as the embedded database: durable, and with a fair queue for writers."""
