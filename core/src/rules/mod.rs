//! Code checks: what is known of a job, to findings, each with its citation.
