//! The job log in SQLite: open, schema, append, read, exchange, verify.
