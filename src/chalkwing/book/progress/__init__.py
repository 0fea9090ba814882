"""Progress: each element over the attempts, and the chance that the next one meets all that is measured."""
