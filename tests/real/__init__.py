"""Real recorded flights through the trunk: what comes out, beside what was measured on board."""
