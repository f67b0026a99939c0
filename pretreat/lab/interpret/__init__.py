"""From printed results to one water: unit, basis, which of several results counts."""
