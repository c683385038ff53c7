"""Ground floor: published formulas, statistics and disclosure control on arrays and frames."""
