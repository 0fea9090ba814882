"""Benchmarks: speed as ratios, help time, memory. Each is run by itself; see its first lines."""
