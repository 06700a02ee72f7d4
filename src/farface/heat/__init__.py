"""Heat of pulses at the joint of glass and liquid."""
