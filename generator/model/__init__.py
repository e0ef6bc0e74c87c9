"""The physics and the reasoning: pure functions on frozen records and arrays."""
