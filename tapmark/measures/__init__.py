"""From a marked run to numbers with their ±: catalogue, formulas, doubts, checks, change."""
