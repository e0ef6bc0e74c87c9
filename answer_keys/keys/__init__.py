"""The class secret, the sealed key, and what stands in it."""
