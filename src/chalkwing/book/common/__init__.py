"""Common sets: recorded maneuvers without names that every instructor marks blind, by one scale."""
