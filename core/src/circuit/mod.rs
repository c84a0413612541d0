//! The circuit: network, phasor solution, switch table, hazards, expected readings.
