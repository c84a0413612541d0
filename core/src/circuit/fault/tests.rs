//! Faults on small wirings, with the arithmetic beside them.
